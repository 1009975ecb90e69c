"""Plants that stood beside a find: each has its own looks, on the day and after the pest's interval (pest_cycles.toml).

The command that tells a find writes who stood beside it, so that a plan moves with entries of its own plant alone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from carecal.planning.sick.pests import days_between_looks
from carecal.planning.sick.rot import ROT
from carecal.planning.spans import day_of
from carecal.wording.dates import day_text
from carecal.wording.sick import beside_text

if TYPE_CHECKING:
    from carecal.collection.plant_states import Beside
    from carecal.collection.plants import PlantHistory
    from carecal.planning.plan_context import PlanContext

__all__ = ["beside_days", "beside_questions"]


class _Watch(NamedTuple):
    beside: Beside
    days: tuple[int, ...]  # on which it is looked over (ordinals)
    until: int  # last day on which a look still asks for it


def beside_days(line: PlantHistory, context: PlanContext) -> dict[int, int]:
    """Return the days on which a plant is looked over because something was found beside it, and how far each may slip.

    The first look is on the day of the find; a plant written down on that day is looked over on the next one.

    Source: pest_cycles.toml neighbour_looks, a pest's own days apart; rot_courses.toml neighbour_days.
    """
    found: dict[int, int] = {}
    for watch in _watches(line, context):
        for day in watch.days:
            is_first = day == watch.beside.since
            on, slip = max(day, line.entered + 1), 0 if is_first else (day - watch.beside.since) // 4
            found[on] = min(found.get(on, slip), slip)
    return dict(sorted(found.items()))


def beside_questions(line: PlantHistory, day: int, context: PlanContext) -> list[str]:
    """Return what a look on a day asks of a plant that stood beside a find, a line each trouble."""
    tables, found = context.catalog, []
    for watch in _watches(line, context):
        if not watch.beside.since <= day <= watch.until:
            continue
        row = tables.pests.get(watch.beside.pest)
        minded = row.look_for if row is not None else ""
        found.append(beside_text(watch.beside.pest, day_text(day_of(watch.beside.since)), minded))
    return found


def _watches(line: PlantHistory, context: PlanContext) -> list[_Watch]:
    """Return the looks for each trouble that was found beside the plant; its newest find begins them anew."""
    newest = {beside.pest: beside for beside in sorted(line.besides, key=lambda told: told.since)}
    return [watch for beside in newest.values() if (watch := _watch(beside, line, context)) is not None]


def _watch(beside: Beside, line: PlantHistory, context: PlanContext) -> _Watch | None:
    """Return the looks that a find beside asks for; None where the plant has it itself, or nobody knows the trouble."""
    state = line.state_at(beside.since)
    if any(own.pest == beside.pest and own.since >= beside.since for own in line.latest.pests):
        return None
    if beside.pest == ROT:
        course = context.catalog.rot_courses.get(beside.where or "")
        after = course.neighbour_days if course is not None else ()
        days = tuple(beside.since + int(each) for each in after)
        every = int(after[-1]) if after else 0
    else:
        cycle = context.catalog.pest_cycles.get(beside.pest)
        every = (
            days_between_looks(
                beside.pest, context.day_temperature(state.place, beside.since), context.catalog
            )
            or 0
        )
        looks = int(cycle.neighbour_looks) if cycle is not None else 0
        days = tuple(beside.since + number * every for number in range(looks))
    return _Watch(beside, days, days[-1] + every // 2) if days else None
