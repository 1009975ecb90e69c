"""What a year of answers teaches through the planner: simulated growers, early answers, parched over and over."""

from __future__ import annotations

from datetime import date, timedelta
from math import cos, exp, log, pi
from random import Random
from statistics import median
from typing import TYPE_CHECKING

import pytest

from carecal.collection.entries import Done, Left, PlaceAdded, PlantAdded
from carecal.planning.rhythm.beats import is_changed, reading_days
from carecal.wording.pace import FEEL_AGAIN, words_of_factor
from tests.bench import Bench
from tests.planning.test_teaching import START, days_of_plan, known, room

if TYPE_CHECKING:
    from carecal.catalog.tables import Catalog

BEGUN = date(2025, 3, 20)
DARKEST_DAY = date(2025, 1, 4).toordinal()
SEASONS = ((12, 1, 2), (3, 4, 5), (6, 7, 8), (9, 10, 11))


class Grower:
    """A plant in a south window at 52° whose true days swing by a cosine of the year, and who looks after it.

    Looks come about the due day; a finger errs by an eighth; one answer in ten is any of the three.
    """

    def __init__(self, catalog: Catalog, ratio: float, seed: int) -> None:
        self.random, self.ratio = Random(seed), ratio  # noqa: S311 - a simulated plant, no secret
        self.bench = Bench(catalog, BEGUN, latitude=52)
        self.bench.write(
            PlaceAdded(on=BEGUN, place="sill", place_kind="warm-sill", aspect="S"),
            PlantAdded(
                on=BEGUN,
                plant="tide",
                medium="bark",
                container="plastic",
                size_cm=15,
                place="sill",
                stage="established",
                watered=BEGUN,
            ),
        )

    def true_days(self, day: int) -> float:
        """Days between wettings as this plant truly wants them: 7 in the middle of the year's swing."""
        return 7 * exp(log(self.ratio) / 2 * cos(2 * pi * (day - DARKEST_DAY) / 365.25))

    def live(self) -> date:
        """Tend it for a year by the plan of each day; return the last one."""
        last = day = BEGUN.toordinal()
        end = last + 365
        while day < end:
            planner = self.bench.planner(date.fromordinal(day)).plant_planners[1]
            due = planner.beats.next_due(last)
            assert due is not None
            day = max(day + 1, due + self.random.choice((-1, 0, 0, 1)))
            while day < end and not self._is_wetted(last, day):
                day += max(1, round((day - last) / 4))
            last = day
        return date.fromordinal(end)

    def _is_wetted(self, last: int, day: int) -> bool:
        share = sum(1 / self.true_days(d) for d in range(last, day))
        feels = log(share) + self.random.gauss(0, 0.12)
        felt = "damp" if feels < log(0.85) else "right" if feels < log(1.2) else "parched"
        if self.random.random() < 0.1:
            felt = self.random.choice(("damp", "right", "parched"))
        told = {"on": date.fromordinal(day), "plant": "tide", "care": "watering", "felt": felt}
        kind = Left if felt == "damp" else Done
        self.bench.write(kind.model_validate(told))
        return felt != "damp"


def season_errors(grower: Grower) -> list[float]:
    """Logarithm of the days asked over the true ones, for each season of the year after a year of answers."""
    end = grower.live()
    planner = grower.bench.planner(end).plant_planners[1]
    context, terms = planner.context, planner.stretches[-1].terms
    assert terms is not None
    next_year = range(end.toordinal(), end.toordinal() + 360, 5)
    found = []
    for months in SEASONS:
        days = [day for day in next_year if date.fromordinal(day).month in months]
        asked = [
            terms.product
            / context.mean_demand(terms, *reading_days(day))
            * planner.estimates[-1].factor_at(context.light_swing("sill", *reading_days(day)))
            for day in days
        ]
        found.append(log(sum(asked) / sum(map(grower.true_days, days))))
    return found


@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.5])
def test_a_year_of_answers_finds_each_season(bench: Bench, ratio: float) -> None:
    """The middle one of three growers hits each season of the next year within 12 %, and none misses by a fifth."""
    errors = [season_errors(Grower(bench.catalog, ratio, seed)) for seed in (1, 2, 3)]
    for of_season in zip(*errors, strict=True):
        assert abs(median(of_season)) < log(1.12)
    assert max(abs(error) for each in errors for error in each) < log(1.2)


def test_slow_in_january_is_not_slow_in_july(bench: Bench) -> None:
    """Six winter answers half again later than planned leave July nearer the table than January, and that is said."""
    grower = Grower(bench.catalog, 1.0, 0)
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
