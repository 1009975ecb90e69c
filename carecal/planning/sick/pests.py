"""A pest at its place (pest_cycles.toml): how long a plant stays apart, how often it is looked over, what a look asks.

A watch ends when the days apart are over and the last looks were clean. The days follow the warmth of the places
where the plant stood since the find; they are laid over the fold, the same each time, and never written.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.horticulture.generations import days_to_generation, share_by_degrees, share_by_points
from carecal.planning.sick.rot import ROT, rots_of
from carecal.wording.sick import neighbours_text

if TYPE_CHECKING:
    from carecal.catalog.tables import Catalog, PestCycle
    from carecal.collection.plant_states import PestWatch
    from carecal.collection.plants import PlantHistory, PlantState
    from carecal.planning.plan_context import PlanContext

__all__ = [
    "WARM_C",
    "days_between_looks",
    "is_watched",
    "lay_watches",
    "neighbours_asked",
    "pest_look_days",
    "pest_questions",
    "root_finds",
]

WARM_C = 22.0  # pest_cycles.toml: from it on the warm days count [°C]
UNKNOWN_C = 20.0  # our choice, because a room is about so warm where nobody said [°C]


def lay_watches(line: PlantHistory, context: PlanContext) -> None:
    """Lay over the watches of a plant until when each keeps it apart."""
    known: dict[tuple[str, int], int | None] = {}
    for number, state in enumerate(line.states):
        if not state.pests:
            continue
        for watch in state.pests:
            if (watch.pest, watch.since) not in known:
                known[watch.pest, watch.since] = _apart_until(watch, line, context)
        pests = tuple(w._replace(apart_until=known[w.pest, w.since]) for w in state.pests)
        line.states[number] = state._replace(pests=pests)


def is_watched(watch: PestWatch, day: int, catalog: Catalog) -> bool:
    """Return whether a pest is still watched for on a day: not apart for long enough, or too few clean looks."""
    cycle = catalog.pest_cycles.get(watch.pest)
    if cycle is not None:
        until = watch.apart_until if watch.apart_until is not None else watch.since + int(cycle.least_days)
        return day < until or watch.clean_looks < cycle.clean_looks
    row = catalog.pests.get(watch.pest)
    return row is not None and watch.clean_looks < row.looks


def pest_look_days(watch: PestWatch, day_c: float, catalog: Catalog) -> int | None:
    """Return the days between looks for a pest at a day temperature; None for one that nobody knows. [d]."""
    return days_between_looks(watch.pest, day_c, catalog)


def days_between_looks(pest: str, day_c: float, catalog: Catalog) -> int | None:
    """Return the days between looks for a pest of that name at a day temperature; None for one nobody knows. [d]."""
    cycle = catalog.pest_cycles.get(pest)
    if cycle is not None:
        return int(cycle.look_days_warm if day_c >= WARM_C else cycle.look_days_cool)
    row = catalog.pests.get(pest)
    if row is None:
        return None
    return int(row.again_days_warm if day_c >= row.warm_c else row.again_days_cool)


def pest_questions(state: PlantState, day: int, context: PlanContext) -> list[str]:
    """Return what a look asks of each pest that is watched for, where to look, and the neighbours when they are due."""
    tables, day_c = context.catalog, context.day_temperature(state.place, day)
    found = []
    for watch in state.pests:
        if not is_watched(watch, day, tables):
            continue
        row, cycle = tables.pests.get(watch.pest), tables.pest_cycles.get(watch.pest)
        where = f"; {cycle.where}" if cycle is not None else ""
        found.append(f"{watch.pest} again? {row.look_for if row is not None else ''}{where}".rstrip())
        every = pest_look_days(watch, day_c, tables) or 0
        dark = int(cycle.dark_days or 0) if cycle is not None else 0
        if dark and (day - watch.since) % dark < every:
            found.append("look this once after dark")
    again = neighbours_asked(state, day, context)
    return [*found, again] if again else found


def neighbours_asked(state: PlantState, day: int, context: PlanContext) -> str:
    """Return that the plants around it are looked over on a day, '' for none: each is watched for two looks.

    Those of rot are looked at now and after a week (rot_courses.toml neighbour_days); those of a pest now and after
    each of its intervals, as many looks as neighbour_looks says.
    """
    facts = context.facts.places.get(state.place or "")
    if facts is None:
        return ""
    tables, day_c, near = context.catalog, context.day_temperature(state.place, day), 0.0
    for rot in rots_of(state, tables):
        if any(rot.found + after <= day <= rot.found + after + 1 for after in rot.course.neighbour_days):
            near = max(near, rot.course.neighbour_m)
    for watch in state.pests:
        cycle, every = tables.pest_cycles.get(watch.pest), pest_look_days(watch, day_c, tables)
        if watch.pest != ROT and cycle is not None and every:
            is_due = day < watch.since + every * int(cycle.neighbour_looks)
            near = max(near, cycle.neighbour_m) if watch.since <= day and is_due else near
    return neighbours_text(facts.spec_at(day).name, near) if near else ""


def root_finds(state: PlantState, day: int, catalog: Catalog) -> list[tuple[str, int]]:
    """Return the pests that live at roots too and were found so lately that a potting looks for them, with the day."""
    return [
        (w.pest, w.since)
        for w in state.pests
        if w.pest in catalog.pest_cycles and day - w.since <= (catalog.pest_cycles[w.pest].root_days or -1)
    ]


def _apart_until(watch: PestWatch, line: PlantHistory, context: PlanContext) -> int | None:
    """Return the first day on which a plant need not stand apart any more (ordinal)."""
    cycle = context.catalog.pest_cycles.get(watch.pest)
    if cycle is None:
        return None
    state = line.state_at(watch.since)
    if cycle.apart_days_other is not None and context.side("mite-watch", state, line.number) == "a":
        return watch.since + int(cycle.apart_days_other)
    if cycle.apart_days is not None:
        return watch.since + int(cycle.apart_days)
    most = int(cycle.most_days)
    shares = (_share(cycle, _mean_c(line, watch.since + n, context)) for n in range(1, most + 1))
    days = days_to_generation(shares, most) + int(cycle.margin_days)
    return watch.since + min(max(days, int(cycle.least_days)), most)


def _share(cycle: PestCycle, temp_c: float) -> float:
    if cycle.generation_c_d is not None and cycle.base_c is not None:
        return share_by_degrees(temp_c, cycle.generation_c_d, cycle.base_c)
    if cycle.points_c:
        return share_by_points(temp_c, cycle.points_c, cycle.points_days)
    return 1.0 / (cycle.generation_days or 1.0)


def _mean_c(line: PlantHistory, day: int, context: PlanContext) -> float:
    air = context.air(line.state_at(day).place, day)
    if air is None or not air.origin <= day <= air.last:
        return UNKNOWN_C
    return (air.at("day_c", day) + air.at("night_c", day)) / 2
