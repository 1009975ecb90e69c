"""Daily values from monthly means: scipy's periodic spline as the second engine, identities by hypothesis."""

from __future__ import annotations

from itertools import accumulate, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline

from carecal.errors import Refused
from carecal.horticulture.splines import daily_from_monthly, edges, month_lengths

months = st.lists(st.floats(-40, 60), min_size=12, max_size=12)


def by_scipy(monthly: list[float], year: int) -> list[float]:
    """The same definition, with scipy's spline in place of ours."""
    lengths = month_lengths(year)
    mean = sum(v * n for v, n in zip(monthly, lengths, strict=True)) / sum(lengths)
    sums = list(accumulate(((v - mean) * n for v, n in zip(monthly, lengths, strict=True)), initial=0.0))
    sums[-1] = sums[0]
    spline = CubicSpline(edges(year), sums, bc_type="periodic")
    values = [float(spline(day)) for day in range(edges(year)[-1] + 1)]
    return [after - before + mean for before, after in pairwise(values)]


@given(months, st.sampled_from([2025, 2028]))
def test_days_agree_with_scipy(monthly: list[float], year: int) -> None:
    """Every day of any twelve means agrees with scipy's CubicSpline with periodic ends."""
    assert daily_from_monthly(monthly, year) == pytest.approx(by_scipy(monthly, year), abs=1e-8)


@given(months, st.sampled_from([2025, 2028]))
def test_each_month_keeps_its_mean(monthly: list[float], year: int) -> None:
    """For any twelve values each month's mean is the one given."""
    daily = daily_from_monthly(monthly, year)
    means = [sum(daily[first:after]) / (after - first) for first, after in pairwise(edges(year))]
    assert means == pytest.approx(monthly, abs=1e-9)


@pytest.mark.parametrize(("year", "days"), [(2025, 365), (2028, 366), (2100, 365), (2000, 366)])
def test_leap_years_have_their_own_series(year: int, days: int) -> None:
    """A year has as many values as days, century rules included."""
    assert len(daily_from_monthly([5.0] * 12, year)) == days


def test_equal_months_give_equal_days() -> None:
    """Where nothing changes no spline overshoots."""
    assert daily_from_monthly([21.0] * 12, 2025) == pytest.approx([21.0] * 365, abs=1e-12)


@pytest.mark.parametrize("count", [0, 11, 13])
def test_other_than_twelve_values_are_refused(count: int) -> None:
    """A year has twelve months."""
    with pytest.raises(Refused, match=f"{count} monthly values; exactly 12 are needed"):
        daily_from_monthly([1.0] * count, 2025)
