"""The days on which one plant would be wetted under other preferred weekdays (models R2); it changes no plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.planning.pace.questions import felt_last
from carecal.planning.plan_context import NO_DATES
from carecal.planning.wettings.early import bar, first_early_day
from carecal.planning.wettings.way import Way, Window, window_after

if TYPE_CHECKING:
    from carecal.collection.fact_types import CareDates
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["due_days", "early_days", "wetting_days"]


def due_days(plant_planner: PlantPlanner) -> list[int]:
    """Return the due days of a plant's wettings from the one that stands next to the last day planned.

    Each window is counted from the due day before it, as in the grouping 'each'. Nothing is wetted as long as an
    overdue wetting is not answered.
    """
    return _walk(plant_planner, None)


def wetting_days(
    plant_planner: PlantPlanner,
    weekdays: frozenset[int],
    dates: CareDates = NO_DATES,
    early: int | None = None,
) -> list[int]:
    """Return the days on which a plant would be wetted if these weekdays were preferred (Monday 0).

    Each window is counted from the care day before it, as in the grouping 'rounds'.

    Args:
        plant_planner: The plant.
        weekdays: Preferred weekdays.
        dates: Care days taken, which come before weekdays wherever a window holds one.
        early: Day of its next wetting, where that is brought forward.
    """
    return _walk(plant_planner, weekdays, dates, early)


def early_days(plant_planner: PlantPlanner) -> list[int]:
    """Return the days on which a plant's next wetting may be early, before its window opens; none where it must not."""
    slot, last = plant_planner.chain.pending, plant_planner.chain.last
    if slot is None or last is None or slot.status != "planned" or plant_planner.line.retired is not None:
        return []
    if felt_last(plant_planner.line) == "damp":
        return []
    first = max(first_early_day(last, slot), plant_planner.context.as_of + 1)
    days = range(first, slot.latest)
    return [
        day
        for day in days
        if day < slot.day and not bar(plant_planner.stretches, plant_planner.context, slot, day)
    ]


def _walk(
    plant_planner: PlantPlanner,
    weekdays: frozenset[int] | None,
    dates: CareDates = NO_DATES,
    early: int | None = None,
) -> list[int]:
    slot, context, beats = plant_planner.chain.pending, plant_planner.context, plant_planner.chain.beats
    if slot is None or slot.status == "overdue" or plant_planner.line.retired is not None:
        return []
    if slot.beat.terms.care == "moistening":
        return []
    found: list[int] = []
    window: Window | None = Window(
        slot.earliest, slot.due, slot.latest, slot.beat.terms.tie, slot.beat.terms.care
    )
    floor, way = slot.earliest, Way(beats, context, dates, weekdays)
    while window is not None and (not found or window.due <= context.last_day):
        day = window.due if weekdays is None else way.day(window, floor_day=floor)
        if early is not None:
            day, early = early, None
        if window.care != "moistening":
            found.append(max(day, context.as_of))
        window, floor = window_after(beats, day), day + 1
    return found
