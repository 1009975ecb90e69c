"""What would end a plant's own days of care: a slower medium or pot, a larger one, another place (models R6).

The candidates are those of the comparison of pots. None is moister than roots bear, none is for a plant in trouble,
and each names the day from which it may be potted.
"""

from __future__ import annotations

from math import floor
from typing import TYPE_CHECKING, NamedTuple

from carecal.planning.comparison.compare import compare
from carecal.planning.places.climates import monthly_of
from carecal.planning.places.suits import cool_months, unsuitable
from carecal.planning.rhythm.terms import window_scale
from carecal.planning.rounds.needed import days_needed, pot_of
from carecal.planning.states import states_of
from carecal.planning.steps.case import Case
from carecal.planning.steps.potting import held_back, no_repotting, potting_season, ready_day
from carecal.wording.comparison import seasons_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from carecal.collection.plants import PlantState
    from carecal.plan.pair_row import PairRow
    from carecal.planning.planner import Planner
    from carecal.planning.plant_planner import PlantPlanner
    from carecal.planning.rounds.needed import Pot, Windows

__all__ = ["MOST_PLANTS", "WORTH_DAYS", "Burden", "Relief", "burdens"]

YEAR_DAYS = 365
WORTH_DAYS = 8  # our choice, because nobody repots for fewer than two days in a quarter [d a year]
MOST_PLANTS = 5  # our choice, because more is a list and no proposal
ALIKE = 0.9  # our choice, because a tenth of the days is within what a reckoning can tell
SLOWEST = {  # our choice: healthy roots bear two weeks (bark's ceiling), young ones follow what dries in one (R5) [d]
    "established": 14,
    "rooting-in": 9,
}
ROOTS = 4  # stages.toml established: fewer are few, and the plant stays as dry as it stands
NEXT_CM = 2.0  # our choice, because pots of the trade come in steps of two to three centimetres [cm]
FILLS_MM, FILLS_CM = 400.0, 12.0  # stages.toml: four roots of 10 cm fill a pot of 12 cm [mm, cm]
RISK_STEP_C = 0.5  # as in the comparison [K]
TROUBLE = frozenset({"quarantine", "pest-watch", "rot", "wrapped", "keiki", "crownless"})


class Relief(NamedTuple):
    """One change that would end a plant's own days."""

    kind: str  # 'pot': medium or container; 'size': a larger one; 'place'
    medium: str
    container: str
    size_cm: float | None
    place: str
    saved: int  # about so many days with a wetting fewer [d a year]
    opens: int | None = None  # first safe day of the potting (ordinal); None: it may be done now
    last: int | None = None  # last one; None: all year, or nothing is potted


class Burden(NamedTuple):
    """A plant and what its own days cost a house whose care days fit together."""

    plant: int
    days: int  # about so many days with a wetting are there for it alone [d a year]
    ends: tuple[Relief, ...]


class _Slower:
    """A pot that dries by the season, from the first window of the one that it would take the place of."""

    def __init__(
        self, first: Windows, row: PairRow, widths: tuple[float, float], plant: PlantPlanner
    ) -> None:
        context = plant.context
        self.first, self._widths, self._last = first, widths, context.last_day
        seasons = seasons_of(context.facts.latitude, context.as_of)
        every = dict(row.days)
        self._seasons = [(start, until, every[name]) for name, start, until in seasons if name in every]

    def after(self, day: int) -> Windows | None:
        days = next((n for a, b, n in self._seasons if a <= day <= b or a <= day - YEAR_DAYS <= b), None)
        days = self._seasons[-1][2] if days is None else days
        due, (before, after) = day + days, self._widths
        if due > self._last:
            return None
        return max(day + 1, due - floor(before * days)), due, due + floor(after * days)


def burdens(planner: Planner) -> list[Burden]:
    """Return the plants whose own days cost most, the heaviest first, each with what would end them.

    Args:
        planner: The plan's day.

    Source: our choice, because a day is worth what the house needs with a plant and without it (models R6).
    """
    pots = {number: pot_of(plant) for number, plant in planner.plant_planners.items()}
    there = {number: pot for number, pot in pots.items() if pot is not None}
    base = days_needed(list(there.values()))
    a_year = YEAR_DAYS / (planner.context.last_day - planner.context.as_of + 1)

    def saved(number: int, pot: Pot | None) -> int:
        others = [each for n, each in there.items() if n != number]
        return round((base - days_needed([*others, pot] if pot is not None else others)) * a_year)

    costs = sorted(((saved(number, None), number) for number in there), key=lambda each: (-each[0], each[1]))
    return [
        Burden(number, cost, tuple(_ends(planner, number, there[number], saved)))
        for cost, number in costs[:MOST_PLANTS]
        if cost >= WORTH_DAYS
    ]


def _ends(planner: Planner, number: int, pot: Pot, saved: Callable[[int, Pot], int]) -> list[Relief]:
    """Return the best change of each kind that is worth it, the one that spares most first."""
    plant = planner.plant_planners[number]
    case = Case(plant, planner.timeline.plants)
    known: dict[tuple[object, ...], int] = {}
    found: dict[str, list[tuple[Relief, PairRow]]] = {}
    for relief, row in _candidates(case):
        medium = plant.context.catalog.media[row.medium]
        scale = window_scale(case.state, plant.context.catalog)
        widths = medium.window_before * scale, medium.window_after * scale
        key = row.days, widths
        if key not in known:
            known[key] = saved(number, _Slower(pot.first, row, widths, plant))
        if known[key] >= WORTH_DAYS:
            found.setdefault(relief.kind, []).append((relief._replace(saved=known[key]), row))
    best = [_best(each, case.state) for each in found.values()]
    return sorted(best, key=lambda relief: -relief.saved)


def _best(found: list[tuple[Relief, PairRow]], state: PlantState) -> Relief:
    """Return the change that alters least among those that spare nearly as much as the most sparing one."""
    most = max(relief.saved for relief, _ in found)
    able = [each for each in found if each[0].saved >= ALIKE * most]

    def altered(each: tuple[Relief, PairRow]) -> tuple[int, int]:
        relief, row = each
        changes = (relief.medium != state.medium) + (relief.container != state.container)
        return changes, max(
            days for _, days in row.days
        )  # of two the drier one, because roots forgive it sooner

    return min(able, key=altered)[0]


def _candidates(case: Case) -> Iterator[tuple[Relief, PairRow]]:
    """Yield every change that the plant's stage, roots, kind and season allow, with its days."""
    state, context = case.state, case.context
    in_trouble = TROUBLE & set(states_of(state, case.day, context.catalog, resting=False)) or state.is_soft
    if state.stage not in SLOWEST or state.place is None or in_trouble:
        return
    present = _present(case, None)
    if present is None:
        return
    yield from _pots(case, present)
    for place in sorted(context.facts.places):
        row = _present(case, place) if place != state.place and _suits(case, place) else None
        if row is not None and _is_as_warm(row, present):
            yield Relief("place", row.medium, row.container, state.size_cm, place, 0), row


def _pots(case: Case, present: PairRow) -> Iterator[tuple[Relief, PairRow]]:
    """Yield other pots and the next larger one, none that is moister than the roots bear."""
    state, context = case.state, case.context
    few = state.stage != "established" and (state.roots is None or state.roots < ROOTS)
    few = few or (state.roots is not None and state.roots < ROOTS) or state.tips == 0
    if few or state.reservoir is not None or case.profile.depth != "deep":
        return  # one over a reservoir is not taken off it because that stands empty for the winter
    if no_repotting(state) or held_back(case):
        return
    containers = {name for name, row in context.catalog.containers.items() if not row.has_reservoir}
    rows = compare(case.plant_planner, containers=containers - {"bag", "mount", "net"})
    for kind, size, given in (("pot", state.size_cm, rows), ("size", _next_size(case), ())):
        if kind == "size" and size is not None:
            given = compare(case.plant_planner, [present.medium], [present.container], size_cm=size)
        for row in given:
            safe = _safe_from(case, row)
            slow = max((days for _, days in row.days), default=0)
            if row.is_present or safe is None or slow > SLOWEST[state.stage or ""]:
                continue
            if _is_as_warm(row, present):
                opens, last = safe
                yield Relief(kind, row.medium, row.container, size, state.place or "", 0, opens, last), row


def _present(case: Case, place: str | None) -> PairRow | None:
    """Return the plant's own pot at its place or another one; None where it cannot be reckoned."""
    state = case.state
    if (
        state.medium is None
        or state.container is None
        or (state.medium, state.container) not in case.context.catalog.pairs
    ):
        return None
    (row,) = compare(case.plant_planner, [state.medium], [state.container], place)
    return row if row.days else None


def _is_as_warm(row: PairRow, present: PairRow) -> bool:
    """Return whether a change leaves the medium as warm as its kind asks for, or no colder than it stands."""
    return round(row.under_c / RISK_STEP_C) <= round(present.under_c / RISK_STEP_C)


def _next_size(case: Case) -> float | None:
    """Return the next larger size; None where the roots would not fill it. [cm]."""
    state = case.state
    if state.stage != "established" or not (state.size_cm and state.roots and state.longest_mm):
        return None
    size = state.size_cm + NEXT_CM
    return size if state.roots * state.longest_mm >= FILLS_MM * (size / FILLS_CM) ** 3 else None


def _safe_from(case: Case, row: PairRow) -> tuple[int | None, int | None] | None:
    """Return the first and last safe day of a potting, None for today and for always; None: there is none."""
    window = case.window("potting-on", row.container, within=potting_season(case, "potting-on"))
    ready = max(case.day, ready_day([], case) or case.day)
    if window is None:
        return None
    run = window.starts.run_of(ready) or window.starts.next_run(ready)
    if run is None:
        return None
    opens = max(run[0], ready)
    return opens if opens > case.day else None, run[1] if run[1] < window.starts.last else None


def _suits(case: Case, place: str) -> bool:
    """Return whether a place of the house is lit and warm as the plant's kind asks for all year (models W5)."""
    context, facts = case.context, case.context.facts
    if context.is_outdoors(place, case.day) or context.is_elsewhere(place, case.day):
        return False
    normals = monthly_of(facts.places[place].specs[-1], facts, context.catalog)
    if normals is None or not context.has_climate(place, case.day):
        return False
    cool = cool_months(case.profile, facts.latitude, context.catalog)
    return not unsuitable(case.profile, normals, cool, case.side("light-yardstick"))
