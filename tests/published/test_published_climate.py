"""Every row of checks_climate: months that keep their means, and days that scipy's spline answers."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from carecal.horticulture.splines import daily_from_monthly, edges
from tests.published.published_rows import Row, answer, checks, hold, params


def value_of_day(monthly: list[float], year: int, day_of_year: int) -> float:
    """One day of the series."""
    return daily_from_monthly(monthly, year)[day_of_year - 1]


def month_mean_error(monthly: list[float], year: int) -> float:
    """The largest distance of a month's mean from the one given."""
    daily = daily_from_monthly(monthly, year)
    spans = pairwise(edges(year))
    return max(abs(sum(daily[a:b]) / (b - a) - mean) for mean, (a, b) in zip(monthly, spans, strict=True))


FUNCTIONS: dict[str, Any] = {
    "daily_from_monthly": value_of_day,
    "daily_from_monthly_month_mean_error": month_mean_error,
}


def test_all_rows_are_read() -> None:
    """The table has the fourteen rows it was published with."""
    assert len(checks("checks_climate")) == 14


@params("checks_climate")
def test_days_agree_with_the_published_row(row: Row) -> None:
    """Each published value is met within its tolerance."""
    hold(row, answer(row, FUNCTIONS))
