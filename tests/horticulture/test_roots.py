"""A plant's own rate: scipy's theilslopes as the second engine, dates worked by hand."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import theilslopes

from carecal.errors import Refused
from carecal.horticulture.roots import prior_root_date, root_date, root_rate

lengths = st.lists(st.integers(0, 80), min_size=3, max_size=12)


def is_defined(day: list[int], length: list[int]) -> bool:
    """Whether ties leave the interval a variance; scipy takes the root of a negative one where they do not."""

    def pairs(n: int) -> int:
        return n * (n - 1) * (2 * n + 5)

    ties = sum(pairs(values.count(each)) for values in (day, length) for each in set(values))
    return pairs(len(day)) >= ties


@given(st.data(), lengths, st.sampled_from([0.8, 0.5, 0.95]))
def test_rate_agrees_with_scipy(data: st.DataObject, length: list[int], confidence: float) -> None:
    """Slope, intercept and both ends agree with scipy's theilslopes by method joint, ties included."""
    day = data.draw(st.lists(st.integers(0, 60), min_size=len(length), max_size=len(length)))
    assume(len(set(day)) > 1 and is_defined(day, length))
    theirs = theilslopes(length, day, confidence, method="joint")
    ours = root_rate(day, length, confidence)
    assert (ours.slope, ours.intercept) == pytest.approx((theirs.slope, theirs.intercept))
    assert (ours.low, ours.high) == pytest.approx((theirs.low_slope, theirs.high_slope))


def test_one_slip_of_the_ruler_moves_the_rate_little() -> None:
    """A length read 40 mm too long leaves the median of slopes near 1 mm a day."""
    day = [0, 7, 14, 21, 28, 35]
    assert root_rate(day, [10, 17, 64, 31, 38, 45]).slope == pytest.approx(1, abs=0.15)


def test_a_length_that_is_reached_is_answered_by_the_last_look() -> None:
    """A target behind the line is met on the last day observed."""
    assert root_date([0, 10, 20], [10, 20, 30], 25) == (20, 20, 20)


def test_shrinking_roots_reach_nothing() -> None:
    """Where the rate is nothing or less there is no date, only 'unknown'."""
    assert root_date([0, 10, 20], [30, 20, 10], 50) == (None, None, None)


def test_prior_is_1_to_3_mm_a_day() -> None:
    """30 mm to go take 10 to 30 days, 15 in the middle; a length that is there takes none."""
    assert prior_root_date(20, 50, 1, 3) == (10, 15, 30)
    assert prior_root_date(60, 50, 1, 3) == (0, 0, 0)


@pytest.mark.parametrize(("day", "length"), [([0, 5], [1, 2]), ([3, 3, 3], [1, 2, 3]), ([0, 1, 2], [1, 2])])
def test_too_few_observations_are_refused(day: list[float], length: list[float]) -> None:
    """A rate needs three observations on different days, as many days as lengths."""
    with pytest.raises(Refused, match="three on different days are needed"):
        root_rate(day, length)


def test_ties_everywhere_still_have_an_interval() -> None:
    """Two looks on one day and lengths all equal leave no variance: the rate is 0, and so are its ends."""
    assert root_rate([0, 0, 1], [5, 5, 5]) == (0, 0, 0, 5)
