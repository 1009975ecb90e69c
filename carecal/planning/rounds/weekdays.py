"""The days on which one plant would be wetted under other preferred weekdays (models R2); it changes no plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.planning.wettings.care_day import care_day
from carecal.planning.wettings.slips import window_of

if TYPE_CHECKING:
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["due_days", "wetting_days"]


def due_days(plant_planner: PlantPlanner) -> list[int]:
    """Return the due days of a plant's wettings from the one that stands next to the last day planned.

    Each window is counted from the due day before it, as in the grouping 'each'. Nothing is wetted as long as an
    overdue wetting is not answered.
    """
    return _walk(plant_planner, None)


def wetting_days(plant_planner: PlantPlanner, weekdays: frozenset[int]) -> list[int]:
    """Return the days on which a plant would be wetted if these weekdays were preferred (Monday 0).

    Each window is counted from the care day before it, as in the grouping 'rounds'.
    """
    return _walk(plant_planner, weekdays)


def _walk(plant_planner: PlantPlanner, weekdays: frozenset[int] | None) -> list[int]:
    slot, context, beats = plant_planner.chain.pending, plant_planner.context, plant_planner.chain.beats
    if slot is None or slot.status == "overdue" or plant_planner.line.retired is not None:
        return []
    if slot.beat.terms.care == "moistening":
        return []
    found: list[int] = []
    due, earliest, latest, floor = slot.due, slot.earliest, slot.latest, slot.earliest
    beat = slot.beat
    while True:
        day = due
        if weekdays is not None:
            day = care_day(earliest, due, latest, beat.terms.tie, context, floor_day=floor, wanted=weekdays)
        if beat.terms.care != "moistening":
            found.append(max(day, context.as_of))
        following = beats.next_due(day)
        after = beats.first_from(following) if following is not None else None
        if following is None or after is None:
            return found
        due, beat, floor = max(following, after.start), after, day + 1
        if due > context.last_day:
            return found
        earliest, latest = window_of(beats, beat, due, floor, of_pot=True)
