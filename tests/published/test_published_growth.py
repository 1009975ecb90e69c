"""Every row of checks_growth: published thermal times, and what scipy answers."""

from __future__ import annotations

from itertools import chain, repeat
from typing import Any

from carecal.horticulture import growth, roots
from tests.published.published_rows import Row, answer, checks, hold, params


def thermal_time_date_offset(
    theta_c_d: float, base_c: float, cap_c: float, daily_mean_c: list[dict[str, float]]
) -> int | None:
    """The offset over stretches of days with the same mean."""
    means = chain.from_iterable(repeat(part["mean_c"], int(part["days"])) for part in daily_mean_c)
    return growth.thermal_time_date_offset(theta_c_d, base_c, cap_c, means)


def thermal_time_fit(mean_c: list[float], days: list[float]) -> dict[str, float]:
    """Base and thermal time under the labels of the table."""
    fit = growth.thermal_time_fit(mean_c, days)
    return {"base": fit.base_c, "theta": fit.theta_c_d}


FUNCTIONS: dict[str, Any] = {
    **{name: getattr(growth, name) for name in growth.__all__},
    **{name: getattr(roots, name) for name in roots.__all__},
    "thermal_time_date_offset": thermal_time_date_offset,
    "thermal_time_fit": thermal_time_fit,
}


def test_all_rows_are_read() -> None:
    """The table has the 21 rows it was published with."""
    assert len(checks("checks_growth")) == 21


@params("checks_growth")
def test_growth_agrees_with_the_published_row(row: Row) -> None:
    """Each published value is met within its tolerance."""
    hold(row, answer(row, FUNCTIONS))
