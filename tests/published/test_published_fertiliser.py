"""Every row of checks_fertiliser: printed worksheets of universities and definitions."""

from __future__ import annotations

from typing import Any

from carecal.horticulture import nutrition
from tests.published.published_rows import Row, answer, checks, having, hold


def ppm_from_grams_mixed(parts: list[tuple[list[float], float]]) -> dict[str, float]:
    """Two fertilisers in one can are the sum of each."""
    each = [nutrition.ppm_from_grams(analysis, grams) for analysis, grams in parts]
    return {name: sum(getattr(one, name) for one in each) for name in ("n", "p", "k")}


def ppm_from_ounces(n_pct: float, ounces: float, us_gallons: float) -> float:
    """The strength for which so many ounces are weighed."""
    return ounces / nutrition.ounces_for_ppm(n_pct, 1.0, us_gallons)


def ppm_n_from_ec(water_ec: float, feed_ec: float, ec_per_100_ppm: float) -> float:
    """The strength whose feed has the conductivity measured."""
    return (feed_ec - water_ec) / (nutrition.feed_ec(water_ec, 1.0, ec_per_100_ppm) - water_ec)


FUNCTIONS: dict[str, Any] = {
    **{name: getattr(nutrition, name) for name in nutrition.__all__},
    "ppm_from_grams_mixed": ppm_from_grams_mixed,
    "ppm_from_ounces": ppm_from_ounces,
    "ppm_n_from_ec": ppm_n_from_ec,
}


def test_all_rows_are_read() -> None:
    """The table has the 24 rows it was published with."""
    assert len(checks("checks_fertiliser")) == 24


@having("checks_fertiliser", "solids_from_ec", "stock_ounces_per_gallon")
def test_arithmetic_agrees_with_the_published_row(row: Row) -> None:
    """Each published value is met within its tolerance."""
    hold(row, answer(row, FUNCTIONS))
