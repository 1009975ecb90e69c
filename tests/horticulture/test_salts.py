"""Salts: the loop of single wettings as oracle of the closed forms, limits and refusals by hand."""

from __future__ import annotations

from math import ceil

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carecal.errors import Refused
from carecal.horticulture import salts

starts = st.floats(0, 3)
leaches = st.floats(0, 0.9)
feeds = st.floats(0, 2)
uptakes = st.floats(0, 0.9)


def after(start: float, held: float, lost: float, leach: float, feed: float, uptake: float, n: int) -> float:
    """Strength after n like wettings, one by one. [mS/cm]"""
    for _ in range(n):
        start = salts.salt_after_wetting(start, held, lost, leach, feed, uptake)
    return start


@given(starts, st.floats(0.1, 1), st.floats(0.05, 0.5), st.floats(0.05, 0.5), feeds, uptakes)
def test_the_whole_watering_is_the_first_at_the_limit(
    start: float, held: float, lost: float, leach: float, feed: float, uptake: float
) -> None:
    """Before it the strength is below the limit, with it the limit is reached."""
    inputs = (start, held, lost, leach, feed, uptake)
    whole = salts.whole_waterings_to_limit(*inputs, 1.5)
    if whole is None:
        assert after(*inputs, 500) <= 1.5 + 1e-9
        return
    assert after(*inputs, whole) >= 1.5 - 1e-6
    assert whole == 0 or after(*inputs, whole - 1) < 1.5 + 1e-6


def test_without_drainage_salts_gather_without_end() -> None:
    """LF = 0: no steady state; each wetting of 0.2 L at 0.8 on 0.4 L adds 0.4, by hand."""
    assert salts.salt_steady_state(0, 0.8, 0) is None
    assert after(0.3, 0.4, 0.2, 0, 0.8, 0, 3) == pytest.approx(1.5)
    assert salts.waterings_to_limit(0.3, 0.4, 0.2, 0, 0.8, 0, 1.5) == pytest.approx(3)
    assert salts.whole_waterings_to_limit(0.3, 0.4, 0.2, 0, 0.8, 0, 1.5) == 3


def test_a_limit_passed_needs_no_watering_and_one_out_of_reach_none() -> None:
    """At the limit the answer is 0; where the steady state stays below it, or nothing is fed, there is none."""
    assert salts.waterings_to_limit(1.5, 0.4, 0.2, 0.15, 0.8, 0.3, 1.5) == 0
    assert salts.waterings_to_limit(0.3, 0.4, 0.2, 0.25, 0.3, 0.3, 1.5) is None
    assert salts.waterings_to_limit(0.3, 0.4, 0.2, 0, 0, 0, 1.5) is None
    assert salts.whole_waterings_to_limit(0.3, 0.4, 0, 0.15, 0.8, 0.3, 1.5) is None


@given(st.floats(0.7, 5), st.floats(0, 0.5), st.floats(0.3, 1))
def test_a_flush_of_the_reckoned_volume_meets_its_target(
    start: float, water: float, efficiency: float
) -> None:
    """The volume for a target and the result of a volume are each other's inverse."""
    ratio = salts.flush_volume_ratio(start, water, salts.FLUSH_TARGET_MS_CM, efficiency)
    assert salts.flush_result(start, water, ratio, efficiency) == pytest.approx(salts.FLUSH_TARGET_MS_CM)


def test_a_flush_of_2_2_times_leaves_a_quarter() -> None:
    """exp(−0.6·2.2) is 0.267, the reason of models D6."""
    assert salts.flush_result(1, 0, 2.2, 0.6) == pytest.approx(0.267, abs=1e-3)


def test_a_clean_pot_needs_no_flush() -> None:
    """At or below the target nothing is to be poured."""
    assert salts.flush_volume_ratio(0.6, 0.7, 0.6, 0.6) == 0


@pytest.mark.parametrize(
    ("lost", "leach", "applied"), [(0.27, 0.0, 0.27), (0.3, 0.25, 0.4), (0.0, 0.15, 0.0)]
)
def test_amounts_of_a_wetting(lost: float, leach: float, applied: float) -> None:
    """What drains is the leaching share of what is applied, and the rest makes up for what was lost."""
    amounts = salts.wetting_amounts(lost, leach)
    assert amounts.applied_l == pytest.approx(applied)
    assert amounts.applied_l - amounts.drained_l == pytest.approx(lost)


def test_uptake_is_by_stage() -> None:
    """The numbers of models S1; stages that are not named take up nothing."""
    assert salts.UPTAKE_BY_STAGE == {"established": 0.3, "rooting-in": 0.2}
    assert ceil(salts.CAUTION_MS_CM * 10) == 11


def test_impossible_balances_are_refused() -> None:
    """Each input without meaning is refused with its value and what is allowed."""
    with pytest.raises(Refused, match="leaching fraction 1 must be from 0 to below 1"):
        salts.wetting_amounts(0.2, 1)
    with pytest.raises(Refused, match="water held, 0 L, must be above 0"):
        salts.salt_after_wetting(0.3, 0, 0.2, 0.15, 0.8, 0.3)
    with pytest.raises(Refused, match=r"water of 0\.6 mS/cm cannot flush to 0\.6"):
        salts.flush_volume_ratio(2, 0.6, 0.6, 1)
    with pytest.raises(Refused, match="flush efficiency 0 must be above 0"):
        salts.flush_volume_ratio(2, 0.1, 0.6, 0)
