"""Rounding at hand-over: boundary rows worked by hand."""

from __future__ import annotations

from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carecal.horticulture.rounding import half_up, significant


@pytest.mark.parametrize(
    ("x", "whole", "reason"),
    [
        (2.5, 3, "a half goes up, not to the even number"),
        (3.5, 4, "so does the next"),
        (-2.5, -2, "up is towards the larger, below zero as well"),
        (2.4999999999, 3, "last bits of a half forgiven"),
        (2.4999, 2, "but no more than these"),
        (7.5 * (1 / 3) * 1.0, 3, "a half reached by way of thirds"),
        (0.0, 0, "nothing"),
    ],
)
def test_halves_go_up(x: float, whole: int, reason: str) -> None:
    """The nearest whole number, halves upwards, however the half came about."""
    assert half_up(x) == whole, reason


@pytest.mark.parametrize(("x", "error"), [(inf, OverflowError), (nan, ValueError)])
def test_what_is_no_number_is_not_rounded(x: float, error: type[Exception]) -> None:
    """An endless interval has no whole days; it is the caller's to notice."""
    with pytest.raises(error, match="cannot convert"):
        half_up(x)


@pytest.mark.parametrize(
    ("x", "digits", "rounded"),
    [
        (1234567.0, 6, 1234570.0),
        (0.00012345678, 6, 0.000123457),
        (-9.9999996, 6, -10.0),
        (0.0, 6, 0.0),
        (5.55, 1, 6.0),
    ],
)
def test_significant_digits_are_kept(x: float, digits: int, rounded: float) -> None:
    """Digits count from the first that is not zero, worked by hand."""
    assert significant(x, digits) == rounded


@given(st.floats(allow_nan=False))
def test_rounding_twice_changes_nothing(x: float) -> None:
    """A rounded number stays as it is, and so do infinities."""
    assert significant(significant(x)) == significant(x)
