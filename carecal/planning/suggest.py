"""Which weekdays would make a year of care shorter: a suggestion only (models R2); it changes no plan."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

from carecal.horticulture.rounding import significant
from carecal.planning.careday import WEEKDAYS
from carecal.planning.planner import WETTING_CARES, Planner

if TYPE_CHECKING:
    from collections.abc import Callable

    from carecal.catalog.tables import Catalog
    from carecal.collection.timeline import Timeline

__all__ = ["MOST_EXTRA_PERCENT", "SETS", "WeekdaySet", "best_of", "weekday_sets"]

MOST_EXTRA_PERCENT = 3.0  # models R2: our choice, because over-watering kills more orchids than thirst
MOST_WEEKDAYS = 3
SETS = tuple(days for size in range(1, MOST_WEEKDAYS + 1) for days in combinations(WEEKDAYS, size))


class WeekdaySet(NamedTuple):
    """What a set of preferred weekdays makes of the coming year."""

    weekdays: tuple[str, ...]
    care_days: int  # up to the plan's last day
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
    found = []
    for done, days in enumerate(SETS, 1):
        found.append(_tried(timeline, catalog, collection_id, days))
        if progress is not None:
            progress(done)
    return found


def _tried(timeline: Timeline, catalog: Catalog, collection_id: str, days: tuple[str, ...]) -> WeekdaySet:
    facts = timeline.facts
    wished = [*facts.settings.get("weekdays", ()), (timeline.as_of.toordinal(), ",".join(days))]
    with_days = replace(facts, settings={**facts.settings, "weekdays": wished})
    planner = Planner(replace(timeline, facts=with_days), catalog, collection_id)
    rounds, each = (planner.plan(grouping, with_steps=False) for grouping in ("rounds", "each"))
    wettings = [sum(t.care in WETTING_CARES for t in plan.tasks) for plan in (rounds, each)]
    extra = 100 * (wettings[0] / wettings[1] - 1) if wettings[1] else 0.0
    return WeekdaySet(days, len(rounds.rounds), significant(extra, 3))


def best_of(sets: list[WeekdaySet]) -> WeekdaySet | None:
    """Return the set with the fewest days of care whose extra wettings stay small; None where none does."""
    mild = [found for found in sets if found.extra_wettings_percent < MOST_EXTRA_PERCENT]
    return min(
        mild, key=lambda s: (s.care_days, s.extra_wettings_percent, len(s.weekdays), s.weekdays), default=None
    )
