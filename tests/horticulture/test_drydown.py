"""Drying and intervals: signs and orders by hypothesis, integration by scipy, boundaries worked by hand."""

from __future__ import annotations

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from carecal.errors import Refused
from carecal.horticulture import drydown
from carecal.horticulture.air import vapour_pressure_deficit_of_day
from carecal.horticulture.climate import MonthlyClimate, daily_climate

BARK = [(7.0, 4.0), (9.0, 5.0), (12.0, 6.0), (15.0, 7.0), (18.0, 8.0)]
winds = st.floats(0.05, 1)
shares = st.floats(0, 1)
lights = st.floats(0, 15)
temps = st.floats(-5, 38)
humid = st.floats(1, 100)


def days_by_scipy(start: float, critical: float, residual: float, target: float, loss: float) -> float:
    """The two stages as a differential equation, solved until the target is met."""

    def met(_: float, water: list[float]) -> float:
        return water[0] - target

    met.terminal = True  # type: ignore[attr-defined]  # scipy reads it off the function
    solved = solve_ivp(
        lambda _, water: [-loss * min(1.0, (water[0] - residual) / (critical - residual))],
        (0, 1000),
        [start],
        events=met,
        rtol=1e-9,
        atol=1e-9,
    )
    return float(solved.t_events[0][0])


@pytest.mark.parametrize("start", [450, 230, 180])
@pytest.mark.parametrize("target", [300, 150, 40])
def test_drying_agrees_with_integration(start: float, target: float) -> None:
    """Above, across and below the critical water the closed form is the integral; no time to a target behind."""
    got = drydown.two_stage_days(start, 225, 25, target, 25)
    assert got == pytest.approx(days_by_scipy(start, 225, 25, target, 25) if target < start else 0, abs=1e-3)


@pytest.mark.parametrize(
    ("critical", "target", "loss", "what"),
    [
        (225, 25, 20, "must be above the residual 25 g"),
        (20, 100, 20, "must be above the residual"),
        (225, 100, 0, "loss 0"),
    ],
)
def test_endless_drying_is_refused(critical: float, target: float, loss: float, what: str) -> None:
    """Water that is never given off, or is not lost at all, has no date."""
    with pytest.raises(Refused, match=what):
        drydown.two_stage_days(400, critical, 25, target, loss)


def test_weights_without_span_are_refused() -> None:
    """A full pot that is not heavier than a dry one tells no fraction."""
    with pytest.raises(Refused, match="full weight 180 g must be above the dry weight 180 g"):
        drydown.water_fraction(180, 180, 180)


def test_volume_of_a_12_cm_pot() -> None:
    """12 cm is 0.864 L, by hand."""
    assert drydown.pot_volume_l(12) == pytest.approx(0.864)


@given(temps, st.floats(0, 8), humid, winds, shares, lights, st.floats(0, 5))
def test_warmer_never_lengthens(
    t: float, more: float, rh: float, u: float, s: float, light: float, swing: float
) -> None:
    """A warmer day at the same humidity never dries a pot slower."""
    cool = vapour_pressure_deficit_of_day(t, t - swing, rh)
    warm = vapour_pressure_deficit_of_day(t + more, t + more - swing, rh)
    assert raw(warm, u, s, light) <= raw(cool, u, s, light) * (1 + 1e-9)


@given(temps, humid, humid, winds, winds, shares, lights, lights)
def test_drier_windier_brighter_never_lengthens(
    t: float, rh: float, other_rh: float, u: float, other_u: float, s: float, light: float, other_light: float
) -> None:
    """Drier air, more wind and more light, each alone or together, never dry a pot slower."""
    mild = vapour_pressure_deficit_of_day(t, t, max(rh, other_rh))
    harsh = vapour_pressure_deficit_of_day(t, t, min(rh, other_rh))
    slow = raw(mild, min(u, other_u), s, min(light, other_light))
    assert raw(harsh, max(u, other_u), s, max(light, other_light)) <= slow * (1 + 1e-9)


def raw(vpd: float, wind: float, sensitivity: float, light: float) -> float:
    """Days of a 12 cm bark pot; finite, since a full drought of demand is no interval."""
    return min(1e12, drydown.raw_interval(6, drydown.relative_demand(vpd, wind, sensitivity, light)))


@given(st.floats(2, 60), st.floats(0, 30))
def test_a_bigger_pot_never_shortens(size: float, more: float) -> None:
    """Beyond both ends of the list, too, days grow with the size."""
    small, big = (drydown.reference_interval(BARK, each) for each in (size, size + more))
    assert small <= big * (1 + 1e-9)


@pytest.mark.parametrize(("size", "days"), BARK)
def test_listed_sizes_have_the_listed_days(size: float, days: float) -> None:
    """The line runs through its own points."""
    assert drydown.reference_interval(BARK, size) == pytest.approx(days)


def test_a_row_of_size_0_holds_for_every_size() -> None:
    """Mounts have one interval, whatever the size and even without one."""
    assert drydown.reference_interval([(0.0, 2.0)], 30) == 2
    assert drydown.reference_interval([(0.0, 2.0)], 0) == 2


def test_one_row_holds_for_every_size_and_two_make_a_line() -> None:
    """A single row has no slope; two of 10 cm and 4 days, 20 cm and 8 days go in proportion, by hand."""
    assert drydown.reference_interval([(10.0, 4.0)], 20) == 4
    assert drydown.reference_interval([(20.0, 8.0), (10.0, 4.0)], 40) == pytest.approx(16)
    assert drydown.reference_interval([(1.0, 4.0), (2.0, 8.0)], 1.5) == pytest.approx(6)


def test_missing_rows_and_sizes_are_refused() -> None:
    """No row, or no size where rows have sizes, gives no interval."""
    with pytest.raises(Refused, match="no reference interval"):
        drydown.reference_interval([], 12)
    with pytest.raises(Refused, match="pot size 0 cm must be above 0"):
        drydown.reference_interval(BARK, 0)


@pytest.mark.parametrize(
    ("raw_days", "stretch", "days", "held", "reason"),
    [
        (0.4, 1, 1, "floor", "never below a day"),
        (1.0, 1, 1, None, "on the floor is inside"),
        (5.5, 1, 6, None, "half up"),
        (14.0, 1, 14, None, "on the ceiling is inside"),
        (14.01, 1, 14, "ceiling", "beyond it is held and said"),
        (inf, 1, 14, "ceiling", "no demand at all"),
        (17.0, 1.3, 17, None, "a rest stretches the ceiling"),
        (20.0, 1.3, 18, "ceiling", "to 18.2 days"),
    ],
)
def test_floor_and_ceiling_hold(
    raw_days: float, stretch: float, days: int, held: str | None, reason: str
) -> None:
    """Each bound from both sides, worked by hand from models I2."""
    assert drydown.held_interval(raw_days, 1, 14, stretch) == (days, held), reason


def test_an_interval_without_demand_never_ends() -> None:
    """In a closed bag there is no next wetting."""
    assert drydown.raw_interval(6, drydown.relative_demand(0.5, 0.1, 0.4, 2, closed=True)) == inf


def test_factors_multiply() -> None:
    """Stage, profile and plant each scale the days, by hand."""
    assert drydown.raw_interval(6, 1.5, 1.1, 0.5) == pytest.approx(2.2)


@pytest.mark.parametrize(
    ("segments", "due", "reason"),
    [
        ([(0, 7)], 107, "one interval all along"),
        ([(100, 7)], 107, "in force since the wetting"),
        ([(200, 3), (300, 9)], 103, "the first holds before its own day, too"),
        ([(0, 7), (104, 9)], 108, "4/7 gone, 3/7 of 9 is 3.86: four days on"),
        ([(0, 7), (107, 1)], 107, "a change on the due day leaves it"),
        ([(0, 7), (110, 1)], 107, "so does a later one"),
        ([(0, 10), (105, 5), (106, 20)], 112, "0.5, then 0.2, then 0.3 of 20"),
        ([(0, 2), (101, 1)], 102, "half of a day goes up"),
        ([(0, 10), (100, 5)], 105, "a change on the day of the wetting is in force at once"),
        ([(0, 20), (119, 2)], 119, "0.1 of a day left is the day itself"),
    ],
)
def test_elapsed_share_is_kept(segments: list[tuple[int, float]], due: int, reason: str) -> None:
    """After a wetting on day 100 the next falls as models I5 says, worked by hand."""
    assert drydown.next_due(100, segments) == due, reason


def test_a_wetting_beyond_the_horizon_is_none() -> None:
    """The last day of interest is included; past it there is no answer, nor where nothing dries."""
    assert drydown.next_due(100, [(0, 7)], 107) == 107
    assert drydown.next_due(100, [(0, 7)], 106) is None
    assert drydown.next_due(100, [(0, inf)]) is None
    assert drydown.next_due(100, [(0, inf), (150, 10)], 400) == 160
    assert drydown.next_due(100, [(0, 90), (120, 90), (150, 1)], 130) is None


@given(st.integers(1, 30), st.lists(st.integers(1, 60), max_size=5))
def test_changes_to_the_same_interval_change_nothing(days: int, breaks: list[int]) -> None:
    """However often the rhythm is read, equal days give the same date."""
    segments = [(0, days), *((day, days) for day in sorted(breaks))]
    assert drydown.next_due(0, segments) == days


@pytest.mark.parametrize("segments", [[], [(0, 0)], [(0, 7), (5, -1)]])
def test_intervals_of_no_days_are_refused(segments: list[tuple[int, float]]) -> None:
    """Without an interval there is no next wetting."""
    with pytest.raises(Refused, match="more than 0 days"):
        drydown.next_due(0, segments)


def test_series_is_the_demand_of_each_day() -> None:
    """A year's series agrees with each day taken alone, shade and lamp included."""
    months = MonthlyClimate(
        (20.0,) * 12, (16.0,) * 12, (50.0,) * 12, ("room",) * 6 + ("breezy",) * 6, (4.0,) * 12, ("lamp",) * 12
    )
    daily = daily_climate(months, 2025)
    wind = {"room": 0.1, "breezy": 0.5}
    series = drydown.demand_series(daily, wind, 0.4, 0.5)
    assert len(series) == 365
    for day in (0, 200):
        alone = drydown.relative_demand(daily.vpd_kpa[day], wind[daily.air[day]], 0.4, 2.0, "lamp")
        assert series[day] == pytest.approx(alone)
    assert series[200] > series[0]
    assert drydown.demand_series(daily, wind, 0.4) == drydown.demand_series(daily, wind, 0.4, 1.0)  # unshaded
    assert drydown.demand_series(daily, wind, 0.4, 0.5, "daylight")[0] > series[0]
    assert set(drydown.demand_series(daily, wind, 0.4, closed=True)) == {0.0}


@given(st.floats(0.06, 1), st.floats(0.1, 5))
def test_water_left_is_the_inverse_of_the_days(target: float, loss: float) -> None:
    """After the days to a target, the target is what is left (the other function is the oracle)."""
    days = drydown.two_stage_days(1.0, 0.5, 0.05, target, loss)
    assert drydown.two_stage_left(1.0, 0.5, 0.05, days, loss) == pytest.approx(target)


@pytest.mark.parametrize(
    ("days", "left"),
    [
        (0, 100.0),
        (3, 70.0),  # still even: 100 - 3 × 10
        (5, 50.0),  # the critical water
        (9.5, 5 + 45 / 2.718281828459045),  # 4.5 days at a reach of 45 g and 10 g/d: one e-fold
    ],
)
def test_water_left_falls_evenly_then_ever_slower(days: float, left: float) -> None:
    """100 g lose 10 g a day down to 50 g, then towards the 5 g that stay (worked by hand)."""
    assert drydown.two_stage_left(100, 50, 5, days, 10) == pytest.approx(left)


@pytest.mark.parametrize(("start", "critical", "loss"), [(4, 50, 10), (100, 5, 10), (100, 50, 0)])
def test_water_left_refuses_weights_under_the_residual(start: float, critical: float, loss: float) -> None:
    """Start and critical water lie above what stays, and something is lost each day."""
    with pytest.raises(Refused, match="must be above"):
        drydown.two_stage_left(start, critical, 5, 1, loss)
