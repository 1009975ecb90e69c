"""Which weekdays would make a year of care shorter: a suggestion only (models R2); it changes no plan."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

from carecal.horticulture.rounding import significant
from carecal.planning.planner import Planner
from carecal.planning.rounds.weekdays import due_days, wetting_days
from carecal.planning.spans import WEEKDAYS

if TYPE_CHECKING:
    from collections.abc import Callable

    from carecal.catalog.tables import Catalog
    from carecal.collection.timeline import Timeline
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["MOST_EXTRA_PERCENT", "SETS", "WeekdaySet", "best_of", "weekday_sets"]

MOST_EXTRA_PERCENT = 3.0  # models R2: our choice, because over-watering kills more orchids than thirst
MOST_WEEKDAYS = 3
SETS = tuple(days for size in range(1, MOST_WEEKDAYS + 1) for days in combinations(WEEKDAYS, size))


class WeekdaySet(NamedTuple):
    """What a set of preferred weekdays makes of the coming year."""

    weekdays: tuple[str, ...]
    care_days: int  # with a wetting, up to the plan's last day
    extra_wettings_percent: float


def weekday_sets(
    timeline: Timeline, catalog: Catalog, collection_id: str, *, progress: Callable[[int], None] | None = None
) -> list[WeekdaySet]:
    """Return every set of one to three weekdays with its days of care and extra wettings.

    Args:
        timeline: The collection as it stands.
        catalog: Profiles and tables.
        collection_id: Id of the collection.
        progress: Called after each set with how many are done.
    """
    planner = Planner(timeline, catalog, collection_id)
    plant_planners = [planner.plant_planners[line.number] for line in timeline.living()]
    each = sum(len(due_days(plant_planner)) for plant_planner in plant_planners)
    found = []
    for done, days in enumerate(SETS, 1):
        found.append(_tried(plant_planners, days, each))
        if progress is not None:
            progress(done)
    return found


def _tried(plant_planners: list[PlantPlanner], days: tuple[str, ...], each: int) -> WeekdaySet:
    wanted = frozenset(WEEKDAYS.index(day) for day in days)
    wetted = [wetting_days(plant_planner, wanted) for plant_planner in plant_planners]
    extra = 100 * (sum(map(len, wetted)) / each - 1) if each else 0.0
    return WeekdaySet(days, len({day for of_plant in wetted for day in of_plant}), significant(extra, 3))


def best_of(sets: list[WeekdaySet]) -> WeekdaySet | None:
    """Return the set with the fewest days of care whose extra wettings stay small; None where none does."""
    mild = [found for found in sets if found.extra_wettings_percent < MOST_EXTRA_PERCENT]
    return min(
        mild, key=lambda s: (s.care_days, s.extra_wettings_percent, len(s.weekdays), s.weekdays), default=None
    )
