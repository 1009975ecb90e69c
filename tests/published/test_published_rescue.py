"""Every row of checks_rescue: papers' printed days and shares, astronomy, limits; and the numbers of the tables."""

from __future__ import annotations

import dataclasses
import json
from datetime import date, timedelta
from typing import Any

import pytest
from astral import Observer
from astral.sun import elevation, noon

from carecal.catalog.load import load_catalog
from carecal.horticulture import day_degrees, light_steps, water_quality
from carecal.horticulture.daylight import daily_light
from carecal.horticulture.noon_sun import high_sun, noon_altitude
from tests.catalog.test_catalog_published import RESCUE
from tests.published.published_rows import Row, answer, hold, params, table

CATALOG = load_catalog()
YEAR = 2026

LUX_PER_FOOTCANDLE = 10.764  # by definition [lx/fc]
LUX_PER_PPFD_OF_SUN = 54.0  # THIMIJAN1983, sunlight [lx per µmol/m²/s]


def cycle_apart_days(pest: str, mean_c: float) -> int:
    """Days apart by a pest's row, as a planner works them out."""
    row = CATALOG.pest_cycles[pest]
    if row.apart_days is not None:
        return row.apart_days
    if row.generation_c_d is not None and row.base_c is not None:
        days = day_degrees.days_of_day_degrees(row.generation_c_d, row.base_c, mean_c)
    elif row.points_c:
        points = list(zip(row.points_c, row.points_days, strict=True))
        days = day_degrees.days_between_points(points, mean_c)
    else:
        assert row.generation_days is not None
        days = row.generation_days
    return day_degrees.apart_days(days, row.margin_days, row.least_days, row.most_days)


def days_between_points(points: list[list[float]], mean_c: float) -> float:
    """Days of a stage between printed points."""
    return day_degrees.days_between_points([(c, days) for c, days in points], mean_c)


def light_class(light_mol: float) -> str:
    """Class of a day's light, by the table."""
    rows = sorted(CATALOG.light_classes.values(), key=lambda row: row.from_mol)
    return rows[light_steps.class_of([row.from_mol for row in rows], light_mol)].light_class


def window_light(fc: float, hours: float) -> float:
    """Daily light of foot-candles at a window."""
    return daily_light(fc * LUX_PER_FOOTCANDLE / LUX_PER_PPFD_OF_SUN, hours)


def high_sun_days(latitude: float, least_deg: float) -> tuple[date | None, date | None]:
    """First and last day of high noon sun in the year of the checks."""
    found = high_sun(latitude, YEAR, least_deg)
    return found.first, found.last


FUNCTIONS: dict[str, Any] = {
    **{name: getattr(day_degrees, name) for name in day_degrees.__all__},
    **{name: getattr(water_quality, name) for name in water_quality.__all__},
    "days_between_points": days_between_points,
    "cycle_apart_days": cycle_apart_days,
    "light_class": light_class,
    "window_light": window_light,
    "step_lights": lambda now, there, step: light_steps.steps_up(now, there)[step].light,
    "steps_days": lambda now, there: light_steps.steps_up(now, there)[-1].day,
    "high_sun_days": high_sun_days,
}


def test_all_rows_are_read() -> None:
    """The table has its eighty rows, each with a source and a reason."""
    rows = table("checks_rescue")
    assert len(rows) == 80
    assert all(row["source"] and row["reason"] for row in rows)


@params("checks_rescue")
def test_horticulture_agrees_with_the_printed_row(row: Row) -> None:
    """Each printed value is met within its tolerance; the oracle is the source named in the row."""
    got = answer(row, FUNCTIONS)
    if isinstance(got, str):
        assert got == row.expected
    elif isinstance(got, tuple):
        expected = [date.fromisoformat(f"{YEAR}-{part}") for part in row.expected.split()]
        apart = [abs((day - want).days) for day, want in zip(got, expected, strict=True)]
        assert max(apart) <= float(row.tolerance), (row.id, got)
    else:
        hold(row, got)


@pytest.mark.parametrize(
    "row", table("checks_rescue_tables"), ids=lambda r: f"{r['table']}-{r['row']}-{r['column']}"
)
def test_a_number_of_the_rescue_tables_is_the_one_printed_or_chosen(row: dict[str, str]) -> None:
    """Each number stands in its table as written down a second time; the oracle is the page of facts it came from."""
    value = getattr(getattr(CATALOG, row["table"])[row["row"]], row["column"])
    assert (list(value) if isinstance(value, tuple) else value) == json.loads(row["expected"])


def test_every_table_of_the_rescue_is_written_down_twice() -> None:
    """No table is left out of the double entry, save those of words alone."""
    checked = {row["table"] for row in table("checks_rescue_tables")}
    assert {"treatments"} == RESCUE - checked


@pytest.mark.parametrize("latitude", [-54.0, -35.0, 30.0, 40.0, 45.0, 52.0, 56.0, 60.0])
def test_days_of_high_noon_sun_are_those_of_an_astronomy_library(latitude: float) -> None:
    """First and last day differ by a day at most; the oracle is astral, without refraction (ASTRAL)."""
    start = date(YEAR, 1, 1)
    high = [_astral_noon(latitude, start + timedelta(days=day)) >= 38 for day in range(365)]
    first = next(day for day in range(365) if high[day] and not high[day - 1])
    last = next(day for day in range(365) if high[day] and not high[(day + 1) % 365])
    found = high_sun(latitude, YEAR, 38)
    assert found.first is not None
    assert found.last is not None
    assert abs((found.first - start).days - first) <= 1
    assert abs((found.last - start).days - last) <= 1


@pytest.mark.parametrize("month", range(1, 13))
@pytest.mark.parametrize("latitude", [-34.0, 0.0, 54.3])
def test_the_noon_sun_is_as_high_as_an_astronomy_library_says(latitude: float, month: int) -> None:
    """Within a fifth of a degree in every month; the oracle is astral, without refraction (ASTRAL)."""
    on = date(YEAR, month, 15)
    assert noon_altitude(latitude, on) == pytest.approx(_astral_noon(latitude, on), abs=0.2)


def _astral_noon(latitude: float, on: date) -> float:
    place = Observer(latitude=latitude, longitude=0)
    return elevation(place, noon(place, on), with_refraction=False)


def test_a_light_class_of_the_other_kinds_is_their_own() -> None:
    """A kind that is printed thrice as bright wants three times the light; worked by hand."""
    scale = light_steps.light_scale(
        CATALOG.profiles["cattleya"].ppfd_low, CATALOG.profiles["phalaenopsis"].ppfd_low
    )
    assert scale == pytest.approx(598 / 199)


def test_every_row_of_the_rescue_tables_names_a_source() -> None:
    """No number stands without words on where it is from; 'our choice' always says why."""
    for name in RESCUE:
        for row in getattr(CATALOG, name).values():
            assert row.source.strip(), (name, dataclasses.astuple(row)[0])
            if "our choice" in row.source:
                assert "because" in row.source, (name, dataclasses.astuple(row)[0])
