"""Day-degrees at their ends: bases, cold, warmth beyond the points, and bounds of the days apart; by hand."""

from __future__ import annotations

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carecal.errors import Refused
from carecal.horticulture.day_degrees import apart_days, days_between_points, days_of_day_degrees, mean_over

POINTS = [(15.0, 40.0), (22.0, 21.0), (30.0, 10.0)]


@pytest.mark.parametrize("mean_c", [8.5, 8.0, -5.0])
def test_at_and_below_the_base_a_stage_never_ends(mean_c: float) -> None:
    """No day-degree is added; by definition."""
    assert days_of_day_degrees(667, 8.5, mean_c) == inf


def test_below_the_coldest_point_the_line_goes_on_to_a_standstill() -> None:
    """Rates 1/40 and 1/21 over 7 degrees reach 0 at 15 - 7 * 21/19, which is 7.26; by hand."""
    assert days_between_points(POINTS, 10) == pytest.approx(113.08, abs=0.01)
    assert days_between_points(POINTS, 7.2) == inf


@pytest.mark.parametrize("mean_c", [30.0, 34.0])
def test_above_the_warmest_point_the_days_stay(mean_c: float) -> None:
    """Nothing is printed above, so nothing faster is claimed."""
    assert days_between_points(POINTS, mean_c) == 10


@pytest.mark.parametrize(
    "points", [[], [(20.0, 20.0)], [(20.0, 20.0), (20.0, 10.0)], [(20.0, 20.0), (25.0, 30.0)]]
)
def test_points_that_make_no_line_are_refused(points: list[tuple[float, float]]) -> None:
    """One point, two at one temperature, or slower when warmer are no curve of growth."""
    with pytest.raises(Refused, match="two or more temperatures"):
        days_between_points(points, 20)


@given(st.floats(5, 35), st.floats(0, 5))
def test_warmer_is_never_slower(mean_c: float, warmer: float) -> None:
    """The curve falls all the way; a property of the printed days."""
    assert days_between_points(POINTS, mean_c + warmer) <= days_between_points(POINTS, mean_c) + 1e-9


@pytest.mark.parametrize(
    ("generation", "expected", "reason"),
    [
        (21.0, 28, "exactly the least"),
        (20.0, 28, "below the least"),
        (21.1, 29, "a day begun counts"),
        (173.0, 180, "exactly the most"),
        (inf, 180, "too cold to grow"),
    ],
)
def test_days_apart_stay_within_their_bounds(generation: float, expected: int, reason: str) -> None:
    """A generation and a week, at least 28 days, at most 180; by hand."""
    assert apart_days(generation, 7, 28, 180) == expected, reason


def test_a_least_above_the_most_is_refused() -> None:
    """Such bounds cannot both hold."""
    with pytest.raises(Refused, match="least 90 days lie above the most, 60"):
        apart_days(50, 7, 90, 60)


def test_a_mean_needs_a_day() -> None:
    """The mean of two days is their middle; none has no mean."""
    assert mean_over([18, 21]) == 19.5
    with pytest.raises(Refused, match="at least one"):
        mean_over([])
