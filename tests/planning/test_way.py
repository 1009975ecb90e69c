"""The way of one plant along care days that were taken: worked by hand, and in step again after a slip."""

from __future__ import annotations

import inspect
import sys
from datetime import date
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

import pytest

from carecal.collection.entries import Done, PlantAdded, RoundMoved, RoundsTaken, SettingChanged
from carecal.collection.fact_types import CareDates
from carecal.planning.wettings import way
from tests.planning.households import DAY, SLOW, START, WETTINGS, house, taken

if TYPE_CHECKING:
    from carecal.collection.entries import MonthRow
    from tests.bench import Bench

Climate = dict[str, "tuple[MonthRow, ...]"]
JUNE = date(2025, 6, 2)


def june(bench: Bench, climate: Climate, dates: list[int], *, ahead: bool) -> list[int]:
    """Return the first wettings of a plant watered on 1 June, as days of June; its days are 5, give or take one."""
    bench.place("bedroom-sill", climate["bedroom-sill"], date(2025, 1, 1))
    on = JUNE - DAY
    values = {"on": on, "plant": "p0", "medium": "bark", "container": "plastic", "stage": "established",
              "size_cm": 9, "place": "bedroom-sill", "watered": on}  # fmt: skip
    bench.write(PlantAdded.model_validate(values), Done(on=on, plant="p0", care="watering"))
    bench.write(SettingChanged(on=on, key="weekdays", value="none"))
    bench.write(RoundsTaken(on=JUNE, dates=tuple(date(2025, 6, day) for day in dates), ahead=ahead))
    return days_of_june(bench)


def days_of_june(bench: Bench) -> list[int]:
    """Return the days of June with a wetting, up to the 14th."""
    tasks = bench.planner(JUNE).plan("rounds").tasks
    return [task.on.day for task in tasks if task.care in WETTINGS and task.on < date(2025, 6, 15)]


@pytest.mark.parametrize(
    ("dates", "ahead", "days", "why"),
    [
        (
            [5, 6, 9, 13],
            True,
            [5, 9, 13],
            "after the 6th, its due day, the window from 10 to 12 holds no care day",
        ),
        ([5, 6, 9, 13], False, [6, 11], "an older entry: the one nearest due, and 11 is a day of its own"),
        ([5, 6, 11], True, [6, 11], "both lead on; nearest due"),
    ],
)
def test_a_way_is_looked_for_along_the_days(
    bench: Bench, demo_climate: Climate, dates: list[int], ahead: bool, days: list[int], why: str
) -> None:
    """Worked by hand: the window lies from 4 to 6 days after the last wetting."""
    assert june(bench, demo_climate, dates, ahead=ahead) == days, why


def test_where_no_care_day_is_in_reach_the_way_back_is_taken(bench: Bench, demo_climate: Climate) -> None:
    """From 5 to 7 June there is none: after the 5th comes the 9th; after the 6th or the 7th none again; by hand."""
    assert june(bench, demo_climate, [9, 14], ahead=True) == [5, 9, 14]


def test_of_ways_as_good_a_medium_that_stays_wet_takes_the_rarer(bench: Bench, demo_climate: Climate) -> None:
    """The 7th and the 13th have one day of its own, as 5, 9 and 13 have; bark stays wet in its table; by hand."""
    assert june(bench, demo_climate, [9, 13], ahead=True) == [7, 13]


def test_a_care_day_that_is_moved_leads_on_from_where_it_is_done(bench: Bench, demo_climate: Climate) -> None:
    """The round of the 5th is done on the 7th: its next window, 11 to 13, holds the 13th alone; by hand."""
    june(bench, demo_climate, [5, 9, 13], ahead=True)
    bench.write(RoundMoved(on=JUNE, start=date(2025, 6, 5), to=date(2025, 6, 7)))
    assert days_of_june(bench) == [7, 13]


def test_who_slipped_falls_in_step_again(bench: Bench, demo_climate: Climate) -> None:
    """A day late once, a slow pot is on the days that were taken again within six weeks."""
    taken(bench, house(bench, demo_climate, 4, 12, SLOW).planner(START))
    first = next(t for t in bench.planner(START).plan("rounds").tasks if t.plant == 1 and t.care in WETTINGS)
    late = first.on + DAY
    after = bench.write(Done(on=late, plant="p0", care="watering")).planner(late)
    dates = {date.fromordinal(day) for day in after.context.care_dates(late.toordinal())}
    tasks = [t for t in after.plan("rounds").tasks if t.plant == 1 and t.care in WETTINGS]
    later = [t.on for t in tasks if late + 42 * DAY < t.on < max(dates)]
    assert later
    assert set(later) <= dates


def test_what_comes_daily_for_two_years_is_looked_along(monkeypatch: pytest.MonkeyPatch) -> None:
    """It goes no deeper for more days: 800 in a row within a tenth of the calls that the interpreter allows."""
    daily = SimpleNamespace(terms=SimpleNamespace(tie="later", care="moistening"), start=1)
    beats: Any = SimpleNamespace(next_due=lambda day: day + 1, first_from=lambda _: daily)
    context: Any = SimpleNamespace(
        has_absences=False, facts=SimpleNamespace(care_dates=True, moved_rounds={})
    )
    monkeypatch.setattr(way, "window_of", lambda _, __, due, *___, **____: (due, due))
    taken_days = CareDates(0, frozenset(range(1, 801)), is_ahead=True)
    depth = len(inspect.stack())
    former = sys.getrecursionlimit()
    sys.setrecursionlimit(depth + 200)
    try:
        found = way.Way(beats, context, taken_days).day(
            way.Window(1, 1, 1, "later", "moistening"), floor_day=1
        )
    finally:
        sys.setrecursionlimit(former)
    assert found == 1
