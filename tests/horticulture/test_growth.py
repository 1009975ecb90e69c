"""Growth and flowering: printed ends of the band, boundaries by hand."""

from __future__ import annotations

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carecal.horticulture import growth
from carecal.horticulture.growth import BloomLimits, ThermalTime

PHALAENOPSIS = BloomLimits(
    ThermalTime(10.8, 769), ThermalTime(6.5, 1365), cap_c=26, abort_c=29
)  # ROBINSON2003
WEEKS = (28, 56, 140)  # 4 to 8 weeks, BLANCHARD2006: within 20


def test_no_growth_at_the_base() -> None:
    """At and below the base a thermal time is never reached."""
    assert growth.thermal_time_days(769, 10.8, 10.8) == inf
    assert growth.days_per_leaf(5, 830, 12.8) == inf
    assert growth.thermal_time_days(769, 10.8, 11.3) == pytest.approx(1538)
    assert growth.thermal_time_days(769, 10.8, 40, 26) == growth.thermal_time_days(769, 10.8, 26)
    assert growth.thermal_time_date_offset(769, 10.8, 26, [10.8] * 5000) is None


@pytest.mark.parametrize(("mean", "earliest", "latest"), [(14, 182, 241), (20, 84, 102), (26, 51, 70)])
def test_bloom_band_has_the_printed_ends(mean: float, earliest: int, latest: int) -> None:
    """At constant temperature the band runs between the two printed thermal times (whole days reached)."""
    forecast = growth.bloom_forecast(PHALAENOPSIS, [mean] * 400)
    assert forecast[:3] == (earliest, -(-(earliest + latest) // 2), latest)


def test_rate_is_held_above_26_degrees_and_said() -> None:
    """Hotter days bring no earlier flower; those of 29 °C and more are counted as dangerous."""
    mild, hot = (
        growth.bloom_forecast(PHALAENOPSIS, [26.0] * 200),
        growth.bloom_forecast(PHALAENOPSIS, [29.5] * 200),
    )
    assert hot[:3] == mild[:3]
    assert (mild.held_days, mild.abort_days) == (0, 0)
    assert (hot.held_days, hot.abort_days) == (70, 70)


def test_bloom_takes_a_function_of_the_day() -> None:
    """Days may come from a function; day 1 is the day after the spike."""
    asked: list[int] = []

    def mean(day: int) -> float:
        asked.append(day)
        return 20.0

    assert growth.bloom_forecast(PHALAENOPSIS, mean) == growth.bloom_forecast(PHALAENOPSIS, [20.0] * 730)
    assert asked[0] == 1


def test_bloom_beyond_the_days_given_is_unknown() -> None:
    """Where the days run out the end is unknown, not invented."""
    assert growth.bloom_forecast(PHALAENOPSIS, [20.0] * 90)[:3] == (84, None, None)
    assert growth.bloom_forecast(PHALAENOPSIS, [20.0] * 10)[:3] == (None, None, None)


def test_bloom_follows_the_plant_s_own_pace() -> None:
    """A plant whose spikes took a tenth longer than forecast is forecast a tenth longer, by hand."""
    assert growth.bloom_forecast(PHALAENOPSIS, [20.0] * 400, 1.1)[:3] == (92, 102, 112)


@given(st.floats(11, 28), st.floats(0, 10))
def test_warmer_never_blooms_later(mean: float, more: float) -> None:
    """More warmth, up to the cap, never delays the flower."""
    cool = growth.thermal_time_date_offset(769, 10.8, 26, [mean] * 6000)
    warm = growth.thermal_time_date_offset(769, 10.8, 26, [mean + more] * 6000)
    assert warm is not None
    assert cool is None or warm <= cool


@pytest.mark.parametrize(
    ("mean", "hours", "helps"),
    [(26, 0, True), (26.1, 0, False), (20, 7.9, True), (20, 8, False)],
)
def test_inductive_days_have_two_limits(mean: float, hours: float, helps: bool) -> None:
    """26 °C is still inductive, 8 hours above 28 °C are not (models G3)."""
    assert growth.is_inductive(mean, hours, 26, 8) is helps


def test_spike_is_expected_after_weeks_of_inductive_days() -> None:
    """Only inductive days count: every second one doubles the time; without enough the end is unknown."""
    assert growth.spike_forecast(WEEKS, [True] * 200) == (28, 56, 140)
    assert growth.spike_forecast(WEEKS, [False, True] * 100) == (56, 112, None)
    assert growth.spike_forecast(WEEKS, [False] * 300) == (None, None, None)
