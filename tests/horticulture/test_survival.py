"""The balance: scipy's survival function as the second engine, few plants and ends by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import CensoredData, binomtest, ecdf

from carecal.errors import Refused
from carecal.horticulture import survival

looks = st.lists(st.tuples(st.integers(1, 30), st.booleans()), min_size=1, max_size=30)


@given(looks)
def test_survival_agrees_with_scipy(pairs: list[tuple[int, bool]]) -> None:
    """Survival at every time agrees with scipy's Kaplan-Meier estimate."""
    times, happened = [time for time, _ in pairs], [event for _, event in pairs]
    steps = survival.kaplan_meier(times, happened)
    data = CensoredData.right_censored(np.array(times, dtype=float), ~np.array(happened))
    theirs = ecdf(data).sf
    for step in steps:
        assert step.survival == pytest.approx(float(theirs.evaluate(step.time)), abs=1e-12)
    assert [step.time for step in steps] == sorted({time for time, event in pairs if event})


@given(looks, st.integers(0, 31))
def test_interval_holds_its_estimate(pairs: list[tuple[int, bool]], at: int) -> None:
    """Low ≤ survival ≤ high, within 0 to 1, however few the plants."""
    times, happened = [time for time, _ in pairs], [event for _, event in pairs]
    step = survival.survival_at(survival.kaplan_meier(times, happened), at)
    low, high = survival.kaplan_meier_interval(times, happened, at)
    assert 0 <= low <= (1.0 if step is None else step.survival) + 1e-12
    assert (1.0 if step is None else step.survival) - 1e-12 <= high <= 1


@pytest.mark.parametrize(("successes", "n"), [(0, 1), (1, 1), (3, 7), (22, 24), (24, 24)])
@pytest.mark.parametrize("confidence", [0.8, 0.95])
def test_wilson_agrees_with_scipy(successes: int, n: int, confidence: float) -> None:
    """The interval of a share agrees with scipy's Wilson interval."""
    theirs = binomtest(successes, n).proportion_ci(confidence, method="wilson")
    assert survival.wilson_interval(successes, n, confidence) == pytest.approx(
        (theirs.low, theirs.high), abs=1e-9
    )


@given(st.lists(st.tuples(st.integers(1, 30), st.integers(0, 2)), max_size=30), st.integers(0, 31))
def test_outcomes_share_all_plants(pairs: list[tuple[int, int]], at: int) -> None:
    """Recovered, lost and open add up to 1, and with one outcome alone the rest is Kaplan-Meier's survival."""
    days, kind = [day for day, _ in pairs], [outcome for _, outcome in pairs]
    shares = survival.cumulative_incidence(days, kind, at)
    assert sum(shares) == pytest.approx(1)
    assert all(-1e-12 <= share <= 1 + 1e-12 for share in shares)
    step = survival.survival_at(survival.kaplan_meier(days, [outcome != 0 for outcome in kind]), at)
    assert shares.open == pytest.approx(1 if step is None else step.survival)


def test_nobody_lost_is_no_certainty() -> None:
    """With five plants and no loss the interval is that of 5 of 5, not 1 to 1."""
    low, high = survival.kaplan_meier_interval([10, 20, 30, 40, 50], [False] * 5, 5)
    assert (low, high) == pytest.approx((0.566, 1), abs=1e-3)


def test_a_plant_last_seen_on_the_day_still_counts_as_at_risk() -> None:
    """Of three plants without a loss two were looked at on day 20 or later: 2 of 2."""
    got = survival.kaplan_meier_interval([10, 20, 30], [False] * 3, 20)
    assert got == survival.wilson_interval(2, 2)


def test_all_lost_is_no_certainty() -> None:
    """After the last loss the interval is that of 0 of those at risk then."""
    low, high = survival.kaplan_meier_interval([10, 20], [True, True], 20)
    assert (low, high) == survival.wilson_interval(0, 1)
    assert (low, high) == pytest.approx((0, 0.793), abs=1e-3)


def test_median_may_be_unknown() -> None:
    """Where more than half are left there is no median; at exactly half there is."""
    assert survival.kaplan_meier_median([10, 20, 30], [True, False, False]) is None
    assert survival.kaplan_meier_median([10, 20], [True, False]) == 10
    assert survival.kaplan_meier([], []) == []


def test_impossible_balances_are_refused() -> None:
    """Lists that do not match, unknown outcomes and shares of nobody are refused."""
    with pytest.raises(Refused, match="2 times and 1 outcomes"):
        survival.kaplan_meier([1, 2], [True])
    with pytest.raises(Refused, match="outcome 3 is unknown"):
        survival.cumulative_incidence([1], [3], 5)
    with pytest.raises(Refused, match="0 of 0 plants is no share"):
        survival.wilson_interval(0, 0)
    with pytest.raises(Refused, match="3 of 2 plants is no share"):
        survival.wilson_interval(3, 2)
