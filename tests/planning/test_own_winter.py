"""What a year of answers teaches through the planner: simulated growers, early answers, parched over and over."""

from __future__ import annotations

from datetime import date, timedelta
from math import log
from typing import TYPE_CHECKING

import pytest

from carecal.collection.entries import Done
from carecal.planning.rhythm.beats import is_changed
from carecal.wording.pace import FEEL_AGAIN, words_of_factor
from tests.growers import MEDIA, Grower, misses
from tests.planning.test_teaching import START, days_of_plan, known, room

if TYPE_CHECKING:
    from carecal.catalog.tables import Catalog
    from tests.bench import Bench

LIMIT = log(1.12)


@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.5])
def test_a_year_of_answers_finds_each_season(catalog: Catalog, ratio: float) -> None:
    """Each season of the next year is believed within 12 % in three media; whole days add half a day at most."""
    for medium in MEDIA:
        for miss in misses(Grower(catalog, ratio, 1, medium)):
            assert abs(miss.believed) < LIMIT, medium
            assert abs(miss.rounded_days) <= 0.5, medium


def test_slow_in_january_is_not_slow_in_july(catalog: Catalog) -> None:
    """Six winter answers half again later than planned leave July nearer the table than January, and that is said."""
    grower = Grower(catalog, 1.0, 0)
    day = date(2025, 11, 20)
    grower.bench.write(Done(on=day, plant="tide", care="watering"))
    for _ in range(8):
        day += timedelta(days=12)
        grower.bench.write(Done(on=day, plant="tide", care="watering", felt="right"))
    planner = grower.bench.planner(day).plant_planners[1]
    winter, summer = (planner.taught_on(date(2026, month, 10).toordinal()) for month in (1, 7))
    assert winter.factor > 1.25
    assert log(summer.factor) < 0.6 * log(winter.factor)
    told = winter._replace(pace=winter.pace._replace(winter=0.3, winter_sd=0.1))
    assert words_of_factor(told).endswith("drinks slower in winter than most")
    evenly = winter._replace(pace=winter.pace._replace(winter=-0.3, winter_sd=0.1))
    assert words_of_factor(evenly).endswith("drinks more evenly through the year than most")


def test_parched_over_and_over_goes_on_down(bench: Bench) -> None:
    """Six days by the table, parched each time: 5, then on down to 3 and fewer, never up."""
    room(bench, "tide")
    day, found = START, [days_of_plan(bench, START)]
    for _ in range(5):
        day += timedelta(days=found[-1])
        bench.write(Done(on=day, plant="tide", care="watering", felt="parched"))
        found.append(days_of_plan(bench, day))
    assert found[:2] == [6, 5]
    assert found[-1] <= 3
    assert sorted(found, reverse=True) == found


def test_a_whole_day_of_a_short_interval_passes_when_it_was_taught() -> None:
    """2.25 days are not 3 once an answer said so; the half-month alone changes nothing yet; 2.4 trembles, by hand."""
    assert is_changed(2.25, 3, is_taught=True)
    assert not is_changed(2.25, 3)
    assert not is_changed(2.4, 3, is_taught=True)


def test_a_half_month_of_a_known_plant_goes_to_the_nearest_day() -> None:
    """10.4 days are 10, not 11, to whoever was measured; 10.5 trembles still; the table waits for 9.3, by hand."""
    assert is_changed(10.4, 11, is_known=True)
    assert not is_changed(10.5, 11, is_known=True)
    assert not is_changed(10.4, 11, is_taught=True)
    assert not is_changed(9.4, 11)
    assert is_changed(9.3, 11)


def test_a_right_far_too_early_is_felt_again(bench: Bench) -> None:
    """Right after 3 of 6 days: a day less for now, and the next wetting is a look that asks once more."""
    room(bench, "tide")
    day = START + timedelta(days=3)
    bench.write(Done(on=day, plant="tide", care="watering", felt="right"))
    planner = bench.planner(day).plant_planners[1]
    slot = planner.chain.pending
    assert days_of_plan(bench, day) == 5
    assert slot is not None
    assert planner.answer_wanted(slot) == FEEL_AGAIN
    assert not slot.is_certain
    again = day + timedelta(days=3)
    bench.write(Done(on=again, plant="tide", care="watering", felt="right"))
    assert not known(bench, again).is_doubted
    assert days_of_plan(bench, again) <= 4
