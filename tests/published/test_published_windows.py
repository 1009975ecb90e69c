"""Every row of checks_windows: the places of the demonstration in a common year at sea level."""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache
from itertools import groupby
from typing import Any, NamedTuple

from carecal.horticulture.air import medium_temperature, vapour_pressure, wet_bulb_from_vapour_pressure
from carecal.horticulture.climate import DailyClimate, daily_climate, medium_temperatures
from carecal.horticulture.normals import MonthlyClimate
from carecal.horticulture.windows import run_starts
from tests.published.published_rows import Row, answer, checks, hold, labelled, near, one, params, table

YEAR, PRESSURE_KPA = 2025, 101.3


class Window(NamedTuple):
    """The safe starts of a year: 'all year', 'never' or 'runs', and each run's first and last index."""

    status: str
    runs: list[tuple[int, int]]


@cache
def days_at(place: str) -> DailyClimate:
    """The days of a place of the demonstration."""
    rows = [row for row in table("climate_demo") if row["place"] == place]
    assert [int(row["month"]) for row in rows] == list(range(1, 13))
    day, night, rh, light = (
        tuple(float(row[key]) for row in rows) for key in ("day_c", "night_c", "rh_pct", "light_mol_m2_d")
    )
    air, source = (tuple(row[key] for row in rows) for key in ("air", "light_source"))
    return daily_climate(MonthlyClimate(day, night, rh, air, light, source), YEAR)


def cooling_of(container: str) -> dict[str, float]:
    """The published cooling of a container by class of air."""
    row = one("containers", container=container)
    names = [each["class"] for each in table("air_classes")]
    return {name: float(row[f"cooling_{name}"]) for name in names}


def window(
    place: str, container: str, step: str, medium_mean_c: float, medium_night_c: float | None, weeks: float
) -> Window:
    """The safe window of a step by the published tables."""
    assert one("steps", step=step)["weeks_after"] == str(weeks)
    means, nights = medium_temperatures(days_at(place), cooling_of(container), PRESSURE_KPA)
    warm = [
        mean >= medium_mean_c and (medium_night_c is None or night >= medium_night_c)
        for mean, night in zip(means, nights, strict=True)
    ]
    starts = run_starts(warm * 3, round(7 * weeks))[365:730]  # a year between two like it
    if len(set(starts)) == 1:
        return Window("all year" if starts[0] else "never", [])
    indexes = [
        [index for index, _ in group] for safe, group in groupby(enumerate(starts), lambda s: s[1]) if safe
    ]
    return Window("runs", [(run[0], run[-1]) for run in indexes])


def medium_temperature_of_month(place: str, container: str, month: int) -> dict[str, float]:
    """Mean and night of the medium from a month's own normals."""
    row = one("climate_demo", place=place, month=str(month))
    day, night, rh = (float(row[key]) for key in ("day_c", "night_c", "rh_pct"))
    ea, cooling = vapour_pressure(day, night, rh), cooling_of(container)[row["air"]]
    both = [
        medium_temperature(temp, wet_bulb_from_vapour_pressure(temp, ea, PRESSURE_KPA), cooling)
        for temp in (day, night)
    ]
    return {"mean": sum(both) / 2, "night": both[1]}


FUNCTIONS: dict[str, Any] = {
    "safe_window": window,
    "medium_temperature_of_month": medium_temperature_of_month,
}


def days_off(text: str, index: int) -> int:
    """How many days a month-day of the table lies from an index of the year."""
    month, day = map(int, text.split("-"))
    return abs((date(YEAR, month, day) - date(YEAR, 1, 1) - timedelta(days=index)).days)


def test_all_rows_are_read() -> None:
    """The table has the sixteen rows it was published with."""
    assert len(checks("checks_windows")) == 16


@params("checks_windows")
def test_windows_agree_with_the_published_row(row: Row) -> None:
    """Each date is met within a day, each temperature within its tolerance."""
    got = answer(row, FUNCTIONS)
    if row.function != "safe_window":
        hold(row, got)
    elif row.expected in {"all year", "never"}:
        assert got.status == row.expected
    else:
        assert row.tolerance == "1 day"
        ((first, last),) = got.runs
        opens, last_safe = (part.split()[-1] for part in row.expected.split(", "))
        assert days_off(opens, first) <= 1
        assert days_off(last_safe, last) <= 1


def test_the_comparison_of_rows_can_fail() -> None:
    """The helper that all published tests share tells a value just outside its tolerance from one inside."""
    assert labelled("at risk 21, late unknown") == {"at_risk": 21.0, "late": None}
    assert near(1.005, 1.0, 0.005)
    assert not near(1.0051, 1.0, 0.005)
