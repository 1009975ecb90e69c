"""Which medium, which pot? The allowed pairs for one plant at a place, side by side, best for its stage first."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from carecal.catalog.names import near
from carecal.errors import Refused, UnknownName, option
from carecal.horticulture.drydown import held_interval
from carecal.plan.pair_row import PairRow
from carecal.planning.pace.estimates import estimate_on, share_kept
from carecal.planning.pours import litres_of
from carecal.planning.rhythm.terms import lacks
from carecal.planning.steps.announced import has_reservoir
from carecal.planning.steps.case import Case, Window
from carecal.planning.steps.potting import never_convert, no_repotting
from carecal.wording.comparison import pair_name, reason_of, seasons_of

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

    from carecal.collection.plants import PlantState
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["compare"]

YEAR_DAYS = 365
SURFACE = "moistening"
RISK_STEP_C = 0.5  # our choice, because half a degree is what a thermometer at the pot tells [K]


def compare(
    plant_planner: PlantPlanner,
    media: Collection[str] = (),
    containers: Collection[str] = (),
    place: str | None = None,
    size_cm: float | None = None,
) -> list[PairRow]:
    """Return the allowed pairs of medium and container for a plant, the best for its stage first.

    Args:
        plant_planner: The plant.
        media: Only these media; none: all.
        containers: Only these containers; none: all.
        place: Where it would stand; None: where it stands.
        size_cm: Top diameter of the pot; None: as it is. [cm]

    Raises:
        UnknownName: a medium, container or place does not exist.
        Refused: no allowed pair is left, or the plant's stage, size or place is not known.

    Source: models I1, A6, W1, D6; the order: our choice, because cold kills sooner than work does.
    """
    context, state = plant_planner.context, plant_planner.line.state_at(plant_planner.context.as_of)
    _known("medium", media, context.catalog.media)
    _known("container", containers, context.catalog.containers)
    _known("place", [place] if place else [], context.facts.places)
    where = place or state.place
    if where is None or not context.has_climate(where, context.as_of):
        raise Refused(
            f"{plant_planner.line.id} stands at no place with a climate; name one with {option('place')}"
        )
    pairs = [
        (medium, container)
        for medium, container in sorted(context.catalog.pairs)
        if (not media or medium in media) and (not containers or container in containers)
    ]
    if not pairs:
        asked = " ".join([*media, "in", *containers])
        raise Refused(
            f"no allowed pair in '{asked}'; the table of pairs names those there are", command="calc interval"
        )
    case = Case(plant_planner, {})
    there = state._replace(place=where, mother=None, size_cm=size_cm or state.size_cm)
    rows = [_row(case, there, *pair) for pair in pairs]
    rows.sort(key=lambda row: _order(case, row))
    return [replace(row, reason=reason_of(row, rows, state.stage)) for row in rows]


def _known(what: str, names: Iterable[str], known: Collection[str]) -> None:
    for name in names:
        if name not in known:
            raise UnknownName(what, name, near(name, known))


def _row(case: Case, state: PlantState, medium: str, container: str) -> PairRow:
    context, day, place = case.context, case.day, state.place or ""
    over_reservoir = has_reservoir(case, container)
    grown = state.stage in {"rooting-in", "established"}
    reservoir = ("filled" if grown else "empty") if over_reservoir else None
    present = (medium, container, state.size_cm) == (
        case.state.medium,
        case.state.container,
        case.state.size_cm,
    )
    aids = tuple((name, given) for name, given in state.aids if name != "wrap")
    there = state._replace(medium=medium, container=container, reservoir=reservoir, aids=aids)
    if lacks(there, context.catalog):
        missing = ", ".join(lacks(there, context.catalog))
        raise Refused(f"{case.line.id} lacks its {missing}; say it first, then pairs can be compared")
    air = context.air(place, day)
    if air is None:
        raise Refused(f"{place} has no climate")
    start = day - air.origin
    nights = air.medium(container)[1][start : start + YEAR_DAYS]
    coldest = min(nights)
    days, technique = _days(case, there)
    row = context.catalog.media[medium]
    life = (row.life_months_low, row.life_months_high) if row.rots else None
    safe, opens, last, why_not = _change(
        case, container, place, present=present, over_reservoir=over_reservoir
    )
    under = max(0.0, case.profile.night_min_c - coldest)
    return PairRow(
        medium,
        container,
        present,
        days,
        technique,
        coldest,
        date.fromordinal(day + nights.index(coldest)),
        under,
        safe,
        opens,
        last,
        litres_of(technique, there, context),
        life,
        why_not,
    )


def _days(case: Case, state: PlantState) -> tuple[tuple[tuple[str, int], ...], str]:
    """Return the days between wettings in each season of the coming year, and the technique."""
    if state.is_wrapped:
        return (), "look"
    context = case.context
    terms = context.terms(state, case.line.number, settling=False, rest="", water=None, day=case.day)
    own = estimate_on(case.plant_planner.estimates, case.day)
    same = (state.medium, state.container) == (case.state.medium, case.state.container)
    share = 1.0 if same else share_kept(case.state, case.day, context)  # models K4
    found = []
    for name, first, last in seasons_of(context.facts.latitude, case.day):
        raw = (
            terms.product
            / context.mean_demand(terms, first, last)
            * (
                1.0
                if terms.care == SURFACE
                else own.factor_at(context.light_swing(state.place, first, last)) ** share
            )
        )
        found.append((name, held_interval(raw, terms.min_days, terms.max_days)[0]))
    return tuple(found), terms.technique


def _change(
    case: Case, container: str, place: str, *, present: bool, over_reservoir: bool
) -> tuple[str, date | None, date | None, str]:
    """Return whether a change is safe, from when, until when, and what forbids it whatever the season."""
    if present:
        return "as it is", None, None, ""
    converts = over_reservoir and not has_reservoir(case, case.state.container or "")
    if converts:
        why_not = never_convert(case.state, as_rescue=case.side("convert-as-rescue") == "a")
    else:
        why_not = no_repotting(case.state)
    into = "plastic" if container == "bag" else container
    window = case.window("converting-to-a-reservoir" if converts else "potting-on", into, place=place)
    if container == "bag":
        fits = case.state.stage == "rootless"
        return (
            ("now", None, None, "")
            if fits
            else ("no", None, None, "a closed bag is for a plant without roots")
        )
    return (*_when(window, case.day, why_not), why_not)


def _when(window: Window | None, day: int, why_not: str) -> tuple[str, date | None, date | None]:
    """Return whether a change may begin on a day, else when, and until when."""
    run = (window.starts.run_of(day) or window.starts.next_run(day)) if window is not None else None
    if window is None or run is None:
        return "never", None, None
    opens = date.fromordinal(run[0]) if run[0] > day else None
    last = date.fromordinal(run[1]) if run[1] < window.starts.last else None
    if why_not:
        return "no", opens, last
    if opens is not None:
        return "wait", opens, last
    return ("all year" if window.starts.is_always else "now"), None, last


def _order(case: Case, row: PairRow) -> tuple[object, ...]:
    """Return where a pair stands: what never fits last, then the least cold, then what the stage asks for."""
    fits = row.safe not in {"never", "no"} or row.is_present
    cold = round(row.under_c / RISK_STEP_C)
    return not fits, cold, _wish(case, row), pair_name(row)


def _wish(case: Case, row: PairRow) -> float:
    """Return how far a pair is from what the stage asks for, the smaller the better.

    Source: trade-facts R3, R5, R6; our choice of one number for each stage.
    """
    medium, days = case.context.catalog.media[row.medium], [each for _, each in row.days]
    water, air = (
        (medium.water_pct_low + medium.water_pct_high) / 2,
        (medium.air_pct_low + medium.air_pct_high) / 2,
    )
    if case.state.stage == "rootless":
        return (0.0 if row.container == "bag" else 100.0) - water
    if not days:
        return 1000.0
    if case.state.stage == "new-tips":
        return -float(min(days)) - water / 100
    if case.state.stage == "rooting-in":
        return abs(min(days) - 7) - air / 100
    return -float(min(days))
