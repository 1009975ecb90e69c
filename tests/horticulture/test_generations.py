"""A pest's generation by temperature, against days that papers print or that follow from their constants."""

from __future__ import annotations

from itertools import repeat

import pytest

from carecal.catalog.load import load_catalog
from carecal.horticulture.generations import days_to_generation, share_by_degrees, share_by_points


@pytest.mark.parametrize(
    ("pest", "temp_c", "days"),
    [("mealybug", 20, 58), ("mealybug", 25, 40.4), ("mite", 19.5, 20.9), ("mite", 25, 11.7)],
)
def test_day_degrees_give_the_days_of_the_papers(pest: str, temp_c: float, days: float) -> None:
    """KARACA2017: 667 above 8.5 °C, 58 and 40 days; MITE-EG: 146.5 above 12.5 °C, 11.7 days at 25 °C."""
    row = load_catalog().pest_cycles[pest]
    assert row.generation_c_d is not None
    assert row.base_c is not None
    share = share_by_degrees(temp_c, row.generation_c_d, row.base_c)
    assert abs(1 / share - days) < 0.5
    assert abs(days_to_generation(repeat(share), 365) - days) <= 1


@pytest.mark.parametrize(
    ("temp_c", "days"), [(10, 40), (15, 40), (20, 24.6), (22, 21), (25, 15), (30, 10), (35, 10)]
)
def test_printed_days_are_met_and_between_them_the_rate_is_straight(temp_c: float, days: float) -> None:
    """Thrips: 40 days at 15, 21 at 22, 9-11 at 30 °C printed; 24.6 at 20 and 15 at 25 by hand from straight rates."""
    row = load_catalog().pest_cycles["thrips"]
    assert abs(1 / share_by_points(temp_c, row.points_c, row.points_days) - days) < 0.6


def test_nothing_grows_below_the_base_and_the_most_days_hold() -> None:
    """At 8 °C no mealybug grows (base 8.5); the wait ends at its most days all the same."""
    assert share_by_degrees(8, 667, 8.5) == 0
    assert days_to_generation(repeat(0.0), 180) == 180
    assert days_to_generation([0.5], 180) == 180
    assert days_to_generation([0.2, 0.4, 0.4, 1.0], 180) == 3
