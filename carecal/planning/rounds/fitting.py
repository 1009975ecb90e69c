"""Care days that fit together: their dates, and who is brought over by one early wetting; it changes no plan."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

from carecal.collection.fact_types import CareDates
from carecal.horticulture.rounding import significant
from carecal.planning.rounds.fewest import BEAM, Care, fewest_for
from carecal.planning.rounds.weekdays import due_days, early_days, wetting_days
from carecal.planning.wettings.way import Window, window_after

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from carecal.planning.plan_context import PlanContext
    from carecal.planning.planner import Planner
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["MOST_EXTRA", "SEARCHES", "Fit", "best_fit", "lone_days"]

MOST_EXTRA = 5.0  # our choice, because one wetting in twenty too early is within what a window forgives [%]
SEARCHES = 2  # without and with an early wetting of whoever may have one
MOST_STEPS = 6_000  # our choice, because it keeps the search of 200 plants within half a minute


class Fit(NamedTuple):
    """What a proposal makes of the year planned, beside what stands."""

    dates: frozenset[int]
    early: dict[int, int]  # plant number: day (ordinal)
    care_days: int  # with a wetting
    care_days_now: int
    wettings: int
    wettings_now: int
    extra_percent: float  # wettings beyond those of each plant by itself [%]


def best_fit(planner: Planner, *, progress: Callable[[int], None] | None = None) -> Fit:
    """Return the dates and early wettings that make the year planned short with few extra wettings.

    Args:
        planner: The plan's day.
        progress: Called after each search with how many are done.

    Source: our choice, because the exact answer needs a solver; the tests hold it against one (models R3).
    """
    context = planner.context
    weekdays, taken = context.weekdays(context.as_of), context.care_dates(context.as_of)
    plants = [planner.plant_planners[line.number] for line in planner.timeline.living()]
    now = [wetting_days(plant, weekdays, taken) for plant in plants]
    each = sum(len(due_days(plant)) for plant in plants)
    found = []
    may_be_early = any(early_days(plant) for plant in plants)
    for done, is_early in enumerate((False, True) if may_be_early else (False,), 1):
        found.append(_Year(plants, weekdays, _dates(plants, is_early=is_early), is_early=is_early))
        if progress is not None:
            progress(done)
    year = min(found, key=lambda one: one.cost(each))
    days_now = len({day for walk in now for day in walk})
    extra = significant(100 * (year.wettings / each - 1), 3) if each else 0.0
    return Fit(year.dates, year.early, len(year.days), days_now, year.wettings, sum(map(len, now)), extra)


class _Year:
    """The ways of all plants along dates."""

    def __init__(
        self,
        plants: Sequence[PlantPlanner],
        weekdays: frozenset[int],
        dates: frozenset[int],
        *,
        is_early: bool,
    ) -> None:
        taken, self.early = CareDates(0, dates, is_ahead=True), {}  # type: CareDates, dict[int, int]
        walks = []
        for plant in plants:
            walk = wetting_days(plant, weekdays, taken)
            for day in early_days(plant) if is_early else ():
                if day in dates:
                    other = wetting_days(plant, weekdays, taken, day)
                    if len(set(other) - dates) < len(set(walk) - dates):
                        walk, self.early[plant.line.number] = other, day
            walks.append(walk)
        self.days = frozenset(day for walk in walks for day in walk)
        self.dates, self.wettings = self.days & dates, sum(map(len, walks))

    def cost(self, each: int) -> tuple[bool, int, int, int]:
        """Return a rank, lower is better: extra wettings beyond the bound, days, who is brought over, wettings."""
        is_much = self.wettings > each * (1 + MOST_EXTRA / 100)
        return is_much, len(self.days), len(self.early), self.wettings


def _dates(plants: Sequence[PlantPlanner], *, is_early: bool) -> frozenset[int]:
    """Return few dates of the year planned that lead every plant from window to window."""
    cares = [care for care in (_care(plant, is_early=is_early) for plant in plants) if care is not None]
    days = fewest_for(cares, max(1, min(BEAM, MOST_STEPS // max(len(cares), 1))))
    return frozenset(day for day in days if day <= plants[0].context.last_day)


def _care(plant: PlantPlanner, *, is_early: bool) -> Care | None:
    """Return when a plant may be wetted first, and next after a day; None: it is not wetted like the others."""
    slot, context, beats = plant.chain.pending, plant.context, plant.chain.beats
    if slot is None or not wetting_days(plant, frozenset()):
        return None

    def after(day: int) -> list[int]:
        window = window_after(beats, day)
        return _present(window, context) if window is not None and window.due <= context.last_day else []

    first = Window(
        max(slot.earliest, context.as_of), slot.due, max(slot.latest, context.as_of), slot.beat.terms.tie, ""
    )
    return Care([*(early_days(plant) if is_early else ()), *_present(first, context)], after)


def _present(window: Window, context: PlanContext) -> list[int]:
    """Return the days of a window on which somebody is there; there is none: the due day."""
    days = range(window.earliest, window.latest + 1)
    return [day for day in days if not context.is_away(day)] or [window.due]


def lone_days(planner: Planner) -> dict[int, int]:
    """Return how many days with a wetting each living plant alone costs in the year planned, by number."""
    context = planner.context
    weekdays, dates = context.weekdays(context.as_of), context.care_dates(context.as_of)
    walks = {
        line.number: wetting_days(planner.plant_planners[line.number], weekdays, dates)
        for line in planner.timeline.living()
    }
    count = Counter(day for days in walks.values() for day in days)
    return {number: sum(count[day] == 1 for day in days) for number, days in walks.items()}
