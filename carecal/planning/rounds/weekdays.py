"""The days on which one plant would be wetted under other preferred weekdays (models R2); it changes no plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.planning.pace.questions import felt_last
from carecal.planning.wettings.care_day import care_day
from carecal.planning.wettings.early import first_early_day
from carecal.planning.wettings.slips import window_of

if TYPE_CHECKING:
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["due_days", "early_days", "wetting_days", "windows_after"]


def due_days(plant_planner: PlantPlanner) -> list[int]:
    """Return the due days of a plant's wettings from the one that stands next to the last day planned.

    Each window is counted from the due day before it, as in the grouping 'each'. Nothing is wetted as long as an
    overdue wetting is not answered.
    """
    return _walk(plant_planner, None)


def wetting_days(
    plant_planner: PlantPlanner,
    weekdays: frozenset[int],
    dates: frozenset[int] = frozenset(),
    early: int | None = None,
) -> list[int]:
    """Return the days on which a plant would be wetted if these weekdays were preferred (Monday 0).

    Each window is counted from the care day before it, as in the grouping 'rounds'.

    Args:
        plant_planner: The plant.
        weekdays: Preferred weekdays.
        dates: Care days taken (ordinals), which come before weekdays wherever a window holds one.
        early: Day of its next wetting, where that is brought forward.
    """
    return _walk(plant_planner, weekdays, dates, early)


def windows_after(plant_planner: PlantPlanner, day: int) -> tuple[int, int, int] | None:
    """Return earliest, due and latest day of the wetting after one on a day; None beyond the days planned."""
    beats = plant_planner.chain.beats
    following = beats.next_due(day)
    beat = beats.first_from(following) if following is not None else None
    if following is None or beat is None:
        return None
    due = max(following, beat.start)
    if due > plant_planner.context.last_day:
        return None
    earliest, latest = window_of(beats, beat, due, day + 1, of_pot=True)
    return max(earliest, day + 1), due, latest


def early_days(plant_planner: PlantPlanner) -> list[int]:
    """Return the days on which a plant's next wetting may be early, before its window opens; none where it must not."""
    slot, last = plant_planner.chain.pending, plant_planner.chain.last
    if slot is None or last is None or slot.status != "planned" or plant_planner.line.retired is not None:
        return []
    if felt_last(plant_planner.line) == "damp":
        return []
    first = max(first_early_day(last, slot), plant_planner.context.as_of + 1)
    days = range(first, slot.latest)
    return [day for day in days if day < slot.day and not plant_planner.early_bar(slot, day)]


def _walk(
    plant_planner: PlantPlanner,
    weekdays: frozenset[int] | None,
    dates: frozenset[int] = frozenset(),
    early: int | None = None,
) -> list[int]:
    slot, context, beats = plant_planner.chain.pending, plant_planner.context, plant_planner.chain.beats
    if slot is None or slot.status == "overdue" or plant_planner.line.retired is not None:
        return []
    if slot.beat.terms.care == "moistening":
        return []
    found: list[int] = []
    due, earliest, latest, floor = slot.due, slot.earliest, slot.latest, slot.earliest
    beat = slot.beat
    brought = early
    while True:
        day = due
        if weekdays is not None:
            day = care_day(
                earliest, due, latest, beat.terms.tie, context, floor_day=floor, dates=dates, wanted=weekdays
            )
        if brought is not None:
            day, brought = brought, None
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
