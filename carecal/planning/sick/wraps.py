"""Keeping a plant without roots, closed or open (wraps.toml): looks, what each asks, gates of warmth and light."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from carecal.wording.weak import wrap_asks

if TYPE_CHECKING:
    from carecal.catalog.tables import Catalog, Wrap
    from carecal.collection.plants import PlantHistory, PlantState
    from carecal.planning.plan_context import PlanContext

__all__ = [
    "CLOSED",
    "Fault",
    "Keeping",
    "asks_on",
    "begun_on",
    "faults_of",
    "is_grown",
    "keeping_of",
    "setback_days",
    "stage_on",
    "wrap_look_days",
]

CLOSED, OPEN = "closed", "open"
AHEAD_DAYS = 14  # our choice, because warmth is judged over two weeks, as gates of feeding are [d]


class Keeping(NamedTuple):
    """How a plant without roots is kept, and since when (ordinal); None: nobody said."""

    row: Wrap
    since: int | None

    def age(self, day: int) -> int | None:
        """Return how many days it has been kept so on a day. [d]."""
        return None if self.since is None else day - self.since


class Fault(NamedTuple):
    """A gate that the place does not keep: which, what it has, what is asked for at least and at most."""

    gate: str  # day, night, dark or bright
    value: float
    low: float
    high: float
    ppfd_max: float = 0.0


def keeping_of(state: PlantState, catalog: Catalog) -> Keeping | None:
    """Return how a plant is kept until it has roots: in a closed wrap, or open on moss; None for others.

    Source: wraps.toml.
    """
    if state.mother is not None:
        return None
    if state.is_wrapped:
        return Keeping(catalog.wraps[CLOSED], begun_on(state))
    if state.stage == "rootless":
        return Keeping(catalog.wraps[OPEN], begun_on(state))
    return None


def begun_on(state: PlantState) -> int | None:
    """Return the day of the wrapping or the last potting, the later one; None: nobody said."""
    wrapped = [since for aid, since in state.aids if aid == "wrap"]
    return max([*wrapped, *([state.potted] if state.potted is not None else [])], default=None)


def wrap_look_days(
    state: PlantState, day: int, catalog: Catalog, side: str, entered: int | None = None
) -> int | None:
    """Return the days to the next look through the film; None for a plant that is not wrapped. [d].

    Args:
        state: The plant.
        day: The day (ordinal).
        catalog: The tables.
        side: The side taken of wrap-look: 'a' leaves it alone until the first look for roots.
        entered: The day on which the plant was entered, from which a wrap counts of which nobody said since when.
    """
    if not state.is_wrapped:
        return None
    row, since = catalog.wraps[CLOSED], begun_on(state)
    since = entered if since is None else since
    if side == "a":
        return int(row.first_look_days)
    if since is None:
        return int(row.look_every_days[0])
    for until, every in zip(row.look_until_days, row.look_every_days, strict=False):
        if day - since <= until:
            return int(every)
    return int(row.look_every_days[-1])


def is_grown(state: PlantState, row: Wrap) -> bool:
    """Return whether a new root opens the wrap: so long, grown since it was wrapped, and with a growing tip.

    A root that was there before never counts.
    """
    return (state.newest_mm or 0) >= row.open_newest_mm and (state.tips or 0) >= row.open_tips


def setback_days(line: PlantHistory, opened: int, day: int, row: Wrap) -> int:
    """Return by how much leaves that softened since the opening set the hardening back, a stage each time. [d]."""
    softer = sum(opened < on <= day and word != "firm" for on, word in line.firmness)
    each = row.hardening_days[1] - row.hardening_days[0] if len(row.hardening_days) > 1 else 0
    return int(softer * each)


def stage_on(line: PlantHistory, opened: int, day: int, row: Wrap) -> int:
    """Return which stage of the hardening a day lies in, 0 the first; leaves that soften set it back by one.

    Args:
        line: The plant.
        opened: First day of the hardening (ordinal).
        day: The day.
        row: How it is kept.
    """
    age = day - opened - setback_days(line, opened, day, row)
    return max((n for n, since in enumerate(row.hardening_days) if since <= age), default=0)


def asks_on(line: PlantHistory, day: int, catalog: Catalog) -> str:
    """Return what a look at a plant without roots does and asks on a day; '' for other plants.

    Airing and damping are a wrap's alone: in the open the surface has its own days.
    """
    state = line.state_at(day)
    keeping = keeping_of(state, catalog)
    if keeping is None:
        return ""
    row, age = keeping.row, keeping.age(day)
    is_closed, seen = row.wrap == CLOSED, (state.newest_mm or 0) > 0
    damped = max([e.day for e in line.events if e.care == "moistening" and e.day <= day], default=0)
    since = max(damped, keeping.since or 0)
    remark, tries = "", catalog.tries
    is_tried = any(what in tries and day - on < tries[what].days for what, on in state.tried)
    if not seen and not is_tried and age is not None and age >= row.remark_days:
        asked = age >= row.question_days
        other = "in the open" if is_closed else "in a closed bag"
        remark = f"{age} days without a new root: " + (
            f"go on so, or {other}?" if asked else f"still usual, but it may be tried {other}"
        )
    is_opened = is_closed and is_grown(state, row)  # its steps say for how long
    damp = "may" if day - since < row.redamp_days_high else "must"
    return wrap_asks(
        row.air_minutes,
        row.stop_signs,
        damp=damp if is_closed and day - since >= row.redamp_days_low else "",
        root=not is_opened and (age is None or age >= row.first_look_days),
        remark=remark,
        is_opened=is_opened,
    )


def faults_of(state: PlantState, day: int, context: PlanContext) -> list[Fault]:
    """Return where the coming two weeks at its place are too cool, hot, dark or bright for roots to come.

    Source: wraps.toml day_low_c, day_high_c, night_min_c, light_mol_low, light_mol_high.
    """
    keeping, air = keeping_of(state, context.catalog), context.air(state.place, day)
    if keeping is None or air is None:
        return []
    days = range(day, min(day + AHEAD_DAYS, air.last + 1))
    means = {
        name: sum(air.at(name, on) for on in days) / len(days) for name in ("day_c", "night_c", "light_mol")
    }
    light = means["light_mol"]
    for aid in state.aid_names:
        light *= context.catalog.aids[aid].light_factor
    row, found = keeping.row, []
    if not row.day_low_c <= means["day_c"] <= row.day_high_c:
        found.append(Fault("day", means["day_c"], row.day_low_c, row.day_high_c))
    if means["night_c"] < row.night_min_c:
        found.append(Fault("night", means["night_c"], row.night_min_c, row.day_high_c))
    if light < row.light_mol_low:
        found.append(Fault("dark", light, row.light_mol_low, row.light_mol_high))
    elif light > row.light_mol_high:
        found.append(Fault("bright", light, row.light_mol_low, row.light_mol_high, row.ppfd_max))
    return found
