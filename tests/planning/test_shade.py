"""From when to when a window is shaded: days of high noon sun by an astronomy library, kinds, answers, both halves."""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache
from typing import Any, cast

import pytest
from astral import Observer
from astral.sun import elevation, noon

from carecal.catalog.tables import Catalog
from carecal.collection.entries import Moved, PlaceAdded, PlaceChanged, PlaceShaded, PlantAdded
from carecal.plan.model import Step
from tests.bench import Bench
from tests.planning.step_situations import step_of

WINTER = date(2026, 1, 10)
UP, DOWN = "putting-up-shade", "taking-down-shade"


@cache
def high_days(latitude: float, year: int) -> list[date]:
    """Return the days on which the noon sun stands 38 degrees high, by astral (ASTRAL), without refraction."""
    place, start = Observer(latitude=latitude, longitude=0), date(year, 1, 1)
    days = [start + timedelta(days=n) for n in range(365)]
    return [day for day in days if elevation(place, noon(place, day), with_refraction=False) >= 38]


def _house(catalog: Catalog, latitude: float, aspect: str = "S", **place: object) -> Bench:
    bench = Bench(catalog, WINTER, latitude=latitude)
    told = {"on": WINTER, "place": "window", "place_kind": "warm-sill", "aspect": aspect, **place}
    return bench.write(PlaceAdded.model_validate(told))


def _add(bench: Bench, name: str = "tide", **more: object) -> Bench:
    values = {
        "medium": "bark",
        "container": "plastic",
        "size_cm": 12,
        "stage": "established",
        "place": "window",
    }
    return bench.write(PlantAdded.model_validate({"on": WINTER, "plant": name, **values, **more}))


def _step(bench: Bench, on: date, step: str) -> Step | None:
    return step_of(bench.planner(on), step)


def _opens(bench: Bench, on: date, step: str) -> date:
    found = _step(bench, on, step)
    assert found is not None
    assert found.opens is not None
    return found.opens


def _apart(one: date, other: date) -> int:
    return abs((one - other).days)


@pytest.mark.parametrize("latitude", [40.0, 52.0, 60.0])
def test_a_south_window_wants_shade_while_the_sun_is_high(catalog: Catalog, latitude: float) -> None:
    """From the first day of 38 degrees to the last, within a day; oracle: astral. ROTTERDAM: late March at 52 N."""
    bench, high = _add(_house(catalog, latitude)), high_days(latitude, 2026)
    assert _apart(_opens(bench, WINTER, UP), high[0]) <= 1
    assert _apart(_opens(bench, WINTER, DOWN), high[-1] + timedelta(days=1)) <= 1
    if latitude == 52:
        assert date(2026, 3, 15) <= _opens(bench, WINTER, UP) <= date(2026, 3, 31)


def test_south_of_the_equator_it_is_the_north_window_over_new_year(catalog: Catalog) -> None:
    """At 40 S the high sun of a summer runs over the turn of the year; oracle: astral at the same latitude."""
    bench, high = _add(_house(catalog, -40, "N")), high_days(-40, 2026)
    spring = next(day for day in high if day - timedelta(days=1) not in high and day.month > 6)
    autumn = next(day for day in high if day + timedelta(days=1) not in high and day.month < 7)
    found = _step(bench, WINTER, UP)
    assert found is not None
    assert found.status == "now"
    assert _apart(_opens(bench, WINTER, DOWN), autumn + timedelta(days=1)) <= 1
    assert _apart(_opens(bench, date(2026, 6, 1), UP), spring) <= 1
    assert _step(_add(_house(catalog, -40, "S")), WINTER, UP) is None


def test_silence_is_asked_for_a_fortnight_and_what_is_up_until_it_is_down(catalog: Catalog) -> None:
    """Nobody tells: the next season comes. Told up and never down: it is asked for until the next one."""
    bench, high = _add(_house(catalog, 45)), high_days(45, 2026)
    assert _opens(bench, high[-1] + timedelta(days=10), DOWN).year == 2026
    assert _opens(bench, high[-1] + timedelta(days=17), DOWN).year == 2027
    bench.write(PlaceShaded(on=date(2026, 2, 20), place="window", to="up"))
    assert _opens(bench, date(2026, 4, 1), UP).year == 2027
    assert _opens(bench, date(2026, 12, 20), DOWN).year == 2026
    bench.write(PlaceShaded(on=date(2026, 10, 1), place="window", to="down"))
    assert _opens(bench, date(2026, 10, 2), DOWN).year == 2027
    tasks = [t for t in bench.planner(date(2026, 10, 20)).plan("rounds").step_tasks if t.step in {UP, DOWN}]
    assert [(t.step, t.on.year) for t in tasks] == [(UP, 2027), (DOWN, 2027)]


def test_what_is_taken_down_before_a_season_is_not_said_of_it(catalog: Catalog) -> None:
    """Last year's shade comes down in February: this year's is still asked for; up in February is this year's."""
    bench, first = _add(_house(catalog, 45)), high_days(45, 2026)[0]
    bench.write(PlaceShaded(on=first - timedelta(days=20), place="window", to="down"))
    assert _apart(_opens(bench, first, UP), first) <= 1
    bench.write(PlaceShaded(on=first - timedelta(days=5), place="window", to="up"))
    assert _opens(bench, first, UP).year == 2027
    bench.write(
        PlaceShaded(on=first + timedelta(days=30), place="window", to="down")
    )  # who wants none this summer
    assert _opens(bench, first + timedelta(days=31), UP).year == 2027
    assert (
        cast("Step", _step(bench, first + timedelta(days=31), DOWN)).opens is None
    )  # in October of next year


def test_who_comes_to_the_window_after_the_summer_takes_no_shade_down(catalog: Catalog) -> None:
    """A plant that moved there in late October never stood under this year's shade: only next year's is told."""
    bench, late = _house(catalog, 45), high_days(45, 2026)[-1] + timedelta(days=5)
    bench.write(
        PlaceAdded.model_validate({"on": WINTER, "place": "back", "place_kind": "stair", "aspect": "N"})
    )
    _add(bench, place="back").write(Moved(on=late, plant="tide", place="window"))
    assert _opens(bench, late, DOWN).year == 2027


def test_an_east_window_only_later_and_in_warm_days(catalog: Catalog) -> None:
    """At 45 N not before 60 days after 4 March (3 May), and only where days reach 24 degrees (our choice)."""
    cool = _add(
        _house(catalog, 45, "E", summer_day_c=22, summer_night_c=18, winter_day_c=18, winter_night_c=15)
    )
    assert _step(cool, WINTER, UP) is None
    warm = {"summer_day_c": 30, "summer_night_c": 22, "winter_day_c": 26, "winter_night_c": 20}
    cool.write(PlaceChanged.model_validate({"on": WINTER, "place": "window", **warm}))
    assert _apart(_opens(cool, WINTER, UP), date(2026, 5, 3)) <= 1
    mild = {"summer_day_c": 26, "summer_night_c": 20, "winter_day_c": 18, "winter_night_c": 15}
    cool.write(PlaceChanged.model_validate({"on": WINTER, "place": "window", **mild}))
    # 18 in January and 26 in July by a cosine: 24 is 60 degrees before the top, some 61 days before 20 July
    assert _apart(_opens(cool, WINTER, UP), date(2026, 5, 20)) <= 7


@pytest.mark.parametrize(
    ("aspect", "place", "plant", "is_shaded"),
    [
        ("S", {}, {}, True),
        ("W", {}, {}, True),
        ("N", {}, {}, False),
        ("none", {}, {}, False),
        ("S", {"place_kind": "cabinet", "lamp_ppfd": 100, "lamp_hours": 12}, {}, False),
        ("S", {}, {"profile": "paphiopedilum"}, True),
        ("S", {}, {"profile": "cattleya"}, False),
        ("S", {}, {"profile": "vanda"}, False),
        ("S", {}, {"profile": "cattleya", "stage": "rootless"}, True),
    ],
)
def test_who_is_shaded(
    catalog: Catalog, aspect: str, place: dict[str, Any], plant: dict[str, Any], is_shaded: bool
) -> None:
    """Windows with sun, kinds of the shade, and every kind without roots; oracle: sun_shades.toml, common practice."""
    bench = _add(_house(catalog, 52, aspect, **place), **plant)
    assert (_step(bench, WINTER, UP) is not None) == is_shaded


def test_under_a_tropical_sun_shade_stays_all_year(catalog: Catalog) -> None:
    """At 5 N the noon sun never falls under 38 degrees (90 - 5 - 23.4 = 61.6): one asking, and no taking down."""
    bench = _add(_house(catalog, 5))
    found = cast("Step", _step(bench, WINTER, UP))
    assert (found.title, found.opens) == ("Put up shade at window: leaf cool to the hand", WINTER)
    assert _step(bench, WINTER, DOWN) is None
    bench.write(PlaceShaded(on=WINTER, place="window", to="up"))
    assert _step(bench, date(2026, 8, 1), UP) is None
