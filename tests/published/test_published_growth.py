"""Every row of checks_growth: published thermal times, and what scipy answers."""

from __future__ import annotations

from itertools import chain, repeat
from typing import Any

from carecal.horticulture import growth, roots
from tests.published.published_rows import Row, answer, checks, having, hold


def thermal_time_date_offset(
    theta_c_d: float, base_c: float, cap_c: float, daily_mean_c: list[dict[str, float]]
) -> int | None:
    """The offset over stretches of days with the same mean."""
    means = chain.from_iterable(repeat(part["mean_c"], int(part["days"])) for part in daily_mean_c)
    return growth.thermal_time_date_offset(theta_c_d, base_c, cap_c, means)


def inductive_days(day_mean_c: list[float], hours_above_28: list[float]) -> int:
    """How many days help, by the limits that the sources of the table print."""
    return sum(
        growth.is_inductive(mean, hours, 26, 8)
        for mean, hours in zip(day_mean_c, hours_above_28, strict=True)
    )


FUNCTIONS: dict[str, Any] = {
    **{name: getattr(growth, name) for name in growth.__all__},
    **{name: getattr(roots, name) for name in roots.__all__},
    "thermal_time_date_offset": thermal_time_date_offset,
    "inductive_days": inductive_days,
}


def test_all_rows_are_read() -> None:
    """The table has the 21 rows it was published with."""
    assert len(checks("checks_growth")) == 21


@having("checks_growth", "thermal_time_fit")
def test_growth_agrees_with_the_published_row(row: Row) -> None:
    """Each published value is met within its tolerance."""
    hold(row, answer(row, FUNCTIONS))
