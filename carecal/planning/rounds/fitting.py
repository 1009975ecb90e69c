"""Care days that fit together: their dates, and who is brought over by one early wetting; it changes no plan."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

from carecal.horticulture.rounding import significant
from carecal.planning.rounds.weekdays import due_days, early_days, wetting_days, windows_after

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from carecal.planning.planner import Planner
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["BEGUN", "MOST_EXTRA", "Fit", "best_fit", "lone_days"]

MOST_EXTRA = 5.0  # our choice, because one wetting in twenty too early is within what a window forgives [%]
BEGUN = (
    1  # our choice of how many beginnings are followed, because three spared no day and took thrice the time
)
PASSES = 4  # our choice, because a fifth pass spared no day in the check households
WAITS = (
    0,
    1,
    2,
    99,
)  # our choice of beginnings: who is due within so many days comes along on a care day [d]


class Fit(NamedTuple):
    """What a proposal makes of the year planned, beside what stands."""

    dates: frozenset[int]
    early: dict[int, int]  # plant number: day (ordinal)
    care_days: int  # with a wetting
    care_days_now: int
    wettings: int
    wettings_now: int
    extra_percent: float  # wettings beyond those of each plant by itself [%]


class _Year:
    """The walks of all plants over a set of dates, changed one step at a time where that makes it better."""

    def __init__(
        self, plants: list[PlantPlanner], weekdays: frozenset[int], each: int, dates: Iterable[int]
    ) -> None:
        self.plants, self.weekdays, self.each = plants, weekdays, each
        self.dates, self.early = frozenset(dates), {}  # type: frozenset[int], dict[int, int]
        self.walks = [wetting_days(plant, weekdays, self.dates) for plant in plants]
        self.dates = frozenset(day for walk in self.walks for day in walk)
        self.cost = self.cost_of(self.walks)

    def cost_of(self, walks: list[list[int]]) -> tuple[bool, int, int]:
        """Return a rank, lower is better: extra wettings beyond the bound, days, wettings."""
        wettings = sum(map(len, walks))
        days = len({day for walk in walks for day in walk})
        if wettings > self.each * (1 + MOST_EXTRA / 100):
            return True, wettings, days
        return False, days, wettings

    def spare(self, day: int) -> bool:
        """Take a day away, or put it a day off, where that makes the year better."""
        for dates in self._tries(day):
            walks = [
                wetting_days(plant, self.weekdays, dates, self.early.get(plant.line.number))
                if dates - self.dates or day in walk
                else walk
                for plant, walk in zip(self.plants, self.walks, strict=True)
            ]
            cost = self.cost_of(walks)
            if cost < self.cost:
                self.walks, self.cost = walks, cost
                self.dates = frozenset(each for walk in walks for each in walk)
                return True
        return False

    def _tries(self, day: int) -> list[frozenset[int]]:
        less = self.dates - {day}
        return [less, less | {day + 1}, less | {day - 1}]

    def bring(self, at: int, day: int) -> bool:
        """Bring a plant over by an early wetting where that makes the year better."""
        plant = self.plants[at]
        walk = wetting_days(plant, self.weekdays, self.dates, day)
        walks = [*self.walks[:at], walk, *self.walks[at + 1 :]]
        cost = self.cost_of(walks)
        if cost >= self.cost or (cost[0], cost[1]) == (self.cost[0], self.cost[1]):
            return False
        self.walks, self.cost, self.early[plant.line.number] = walks, cost, day
        return True


def best_fit(planner: Planner, *, progress: Callable[[int], None] | None = None) -> Fit:
    """Return the dates and early wettings that make the year planned short with few extra wettings.

    Args:
        planner: The plan's day.
        progress: Called after each beginning with how many are done.

    Source: our choice, because the exact answer needs a solver; the tests hold it against one (models R3).
    """
    plants = [planner.plant_planners[line.number] for line in planner.timeline.living()]
    context = planner.context
    weekdays = context.weekdays(context.as_of)
    now = [wetting_days(plant, weekdays, context.care_dates(context.as_of)) for plant in plants]
    each = sum(len(due_days(plant)) for plant in plants)
    starts = [_begun(plants, wait) for wait in WAITS] + [set().union(*now) if now else set()]
    years = sorted((_Year(plants, weekdays, each, dates) for dates in starts), key=lambda one: one.cost)[
        :BEGUN
    ]
    able = [early_days(plant) for plant in plants]
    for at, each_year in enumerate(years):
        _settle(each_year, able)
        if progress is not None:
            progress(at + 1)
    year = min(years, key=lambda one: one.cost)
    wettings, days_now = sum(map(len, year.walks)), len({day for walk in now for day in walk})
    extra = significant(100 * (wettings / each - 1), 3) if each else 0.0
    return Fit(year.dates, year.early, len(year.dates), days_now, wettings, sum(map(len, now)), extra)


def _settle(year: _Year, able: list[list[int]]) -> None:
    """Change a year step by step until no step makes it better; `able` are the early days of each plant."""
    for done in range(1, PASSES + 1):
        former = year.cost
        for day in sorted(year.dates):
            if day in year.dates:
                year.spare(day)
        for at, days in enumerate(able):
            for day in sorted(year.dates & set(days), reverse=True):
                year.bring(at, day)
        year.dates = frozenset(day for walk in year.walks for day in walk)
        if done > 1 and year.cost[:2] == former[:2]:
            return


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


def _begun(plants: list[PlantPlanner], wait: int) -> set[int]:
    """Return days to begin with: the last that the first window allows, with all who are due within `wait` days."""
    ahead: dict[int, tuple[int, int, int]] = {}
    for at, plant in enumerate(plants):
        slot = plant.chain.pending
        if slot is not None and slot.status != "overdue" and wetting_days(plant, frozenset()):
            ahead[at] = slot.earliest, slot.due, max(slot.latest, plant.context.as_of)
    found = set()
    while ahead:
        day = min(latest for _, _, latest in ahead.values())
        found.add(day)
        for at, (earliest, due, latest) in list(ahead.items()):
            if latest == day or (earliest <= day and due <= day + wait):
                following = windows_after(plants[at], day)
                if following is None:
                    del ahead[at]
                else:
                    ahead[at] = following
    return found
