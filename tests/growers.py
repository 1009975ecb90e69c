"""Simulated growers whose plants have a true pace and a true winter of their own; the code never sees either."""

from __future__ import annotations

from datetime import date
from math import cos, exp, log, pi
from random import Random
from typing import TYPE_CHECKING, NamedTuple

from carecal.collection.entries import Done, Left, PlaceAdded, PlantAdded
from carecal.planning.rhythm.beats import reading_days
from tests.bench import Bench

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.catalog.tables import Catalog

__all__ = ["MEDIA", "SEASONS", "Grower", "Miss", "Pot", "misses"]

BEGUN = date(2025, 3, 20)
DARKEST_DAY = date(2025, 1, 4).toordinal()
SEASONS = {"winter": (12, 1, 2), "spring": (3, 4, 5), "summer": (6, 7, 8), "autumn": (9, 10, 11)}
FINGER_SD = 0.12
DAMP_BELOW, PARCHED_FROM = log(0.85), log(1.2)
EVERY = 5  # days between the wettings that are compared


class Pot(NamedTuple):
    """A medium in its pot, and the days it truly takes in the middle of the year's swing."""

    size_cm: int
    days: float


MEDIA = {"bark": Pot(15, 7.0), "moss": Pot(12, 9.0), "bark-mix": Pot(12, 8.0)}


class Miss(NamedTuple):
    """How far one season of the next year is missed: what is believed, and the whole days that are planned."""

    believed: float  # ln of believed over true days [-]
    planned: float  # ln of planned over true days [-]
    rounded_days: float  # planned less believed days [d]


class Grower:
    """A plant in a south window at 52° whose true days swing by a cosine of the year, and who looks after it.

    Looks come about the due day; a finger errs by an eighth; one answer in ten is any of the three.
    """

    def __init__(
        self, catalog: Catalog, ratio: float, seed: int, medium: str = "bark", wrong: float = 0.1
    ) -> None:
        self.random, self.ratio, self.wrong = Random(seed), ratio, wrong  # noqa: S311 - a simulated plant, no secret
        self.pot = MEDIA[medium]
        self.bench = Bench(catalog, BEGUN, latitude=52)
        self.bench.write(
            PlaceAdded(on=BEGUN, place="sill", place_kind="warm-sill", aspect="S"),
            PlantAdded(
                on=BEGUN, plant="tide", medium=medium, container="plastic", size_cm=self.pot.size_cm,
                place="sill", stage="established", watered=BEGUN,
            ),
        )  # fmt: skip

    def true_days(self, day: int) -> float:
        """Days between wettings if every day were as this one."""
        return self.pot.days * exp(log(self.ratio) / 2 * cos(2 * pi * (day - DARKEST_DAY) / 365.25))

    def true_interval(self, day: int) -> float:
        """Days that a wetting on a day truly lasts: until the shares of its days are one."""
        dried, days = 0.0, 0
        while dried + 1 / self.true_days(day + days) < 1:
            dried += 1 / self.true_days(day + days)
            days += 1
        return days + (1 - dried) * self.true_days(day + days)

    def live(self) -> date:
        """Tend it for a year by the plan of each day; return the last one."""
        last = day = BEGUN.toordinal()
        end = last + 365
        while day < end:
            due = self.bench.planner(date.fromordinal(day)).plant_planners[1].beats.next_due(last)
            assert due is not None
            day = max(day + 1, due + self.random.choice((-1, 0, 0, 1)))
            while day < end and not self._is_wetted(last, day):
                day += max(1, round((day - last) / 4))
            last = day
        return date.fromordinal(end)

    def _is_wetted(self, last: int, day: int) -> bool:
        share = sum(1 / self.true_days(d) for d in range(last, day))
        feels = log(share) + self.random.gauss(0, FINGER_SD)
        felt = "damp" if feels < DAMP_BELOW else "right" if feels < PARCHED_FROM else "parched"
        if self.random.random() < self.wrong:
            felt = self.random.choice(("damp", "right", "parched"))
        told = {"on": date.fromordinal(day), "plant": "tide", "care": "watering", "felt": felt}
        self.bench.write((Left if felt == "damp" else Done).model_validate(told))
        return felt != "damp"


def misses(grower: Grower) -> Iterator[Miss]:
    """Live a year and give what each season of the next year is missed by, in the order of `SEASONS`."""
    end = grower.live()
    planner = grower.bench.planner(end).plant_planners[1]
    context, terms = planner.context, planner.stretches[-1].terms
    assert terms is not None
    for months in SEASONS.values():
        days = [end.toordinal() + n for n in range(0, 360, EVERY)]
        days = [day for day in days if date.fromordinal(day).month in months]
        true = sum(map(grower.true_interval, days))
        believed = sum(
            terms.product
            / context.mean_demand(terms, *reading_days(day))
            * planner.estimates[-1].factor_at(context.light_swing("sill", *reading_days(day)))
            for day in days
        )
        planned = sum((planner.beats.next_due(day) or 0) - day for day in days)
        yield Miss(log(believed / true), log(planned / true), (planned - believed) / len(days))
