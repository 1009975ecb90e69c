"""Air and the wet medium: psychrolib as the second engine, ends of ranges by hand, order by hypothesis."""

from __future__ import annotations

import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from carecal.errors import Refused
from carecal.horticulture import air

temps = st.floats(-5, 45)
humidities = st.floats(0, 100)
pressures = st.floats(70, 105)


@pytest.fixture(autouse=True)
def _metric() -> None:
    """Psychrolib keeps its units in the module; all here are metric."""
    psychrolib.SetUnitSystem(psychrolib.SI)


@pytest.mark.parametrize("temp_c", range(0, 41, 5))
def test_saturation_agrees_with_psychrolib(temp_c: int) -> None:
    """Saturation pressure lies within 0.4 % of psychrolib from 0 to 40 °C, as FAO56 claims."""
    assert air.saturation_vapour_pressure(temp_c) == pytest.approx(
        psychrolib.GetSatVapPres(temp_c) / 1000, rel=4e-3
    )


@pytest.mark.parametrize("temp_c", range(10, 41, 6))
@pytest.mark.parametrize("rh_pct", [20, 50, 80, 99])
@pytest.mark.parametrize("pressure_kpa", [80.0, 101.325])
def test_wet_bulb_agrees_with_psychrolib(temp_c: int, rh_pct: int, pressure_kpa: float) -> None:
    """The wet bulb lies within 0.2 °C of psychrolib at any height, 0.14 °C where air is not extremely dry."""
    theirs = psychrolib.GetTWetBulbFromRelHum(temp_c, rh_pct / 100, pressure_kpa * 1000)
    assert air.wet_bulb(temp_c, rh_pct, pressure_kpa) == pytest.approx(
        theirs, abs=0.14 if rh_pct >= 50 else 0.2
    )


@pytest.mark.parametrize("temp_c", [5, 20, 35])
@pytest.mark.parametrize("rh_pct", [20, 50, 90])
def test_dew_point_agrees_with_psychrolib(temp_c: int, rh_pct: int) -> None:
    """The dew point lies within 0.1 °C of psychrolib where it is above freezing."""
    theirs = psychrolib.GetTDewPointFromRelHum(temp_c, rh_pct / 100)
    if theirs > 0:
        assert air.dew_point(temp_c, rh_pct) == pytest.approx(theirs, abs=0.1)


@given(temps, humidities, pressures)
def test_wet_bulb_solves_its_balance(temp_c: float, rh_pct: float, pressure_kpa: float) -> None:
    """Put back into the psychrometer's equation, the wet bulb gives the vapour pressure it came from."""
    ea = air.saturation_vapour_pressure(temp_c) * rh_pct / 100
    wet = air.wet_bulb(temp_c, rh_pct, pressure_kpa)
    back = air.saturation_vapour_pressure(wet) - 0.000662 * pressure_kpa * (temp_c - wet)  # FAO56 eq. 15, 16
    assert back == pytest.approx(ea, abs=1e-9)


@given(temps, humidities, pressures, st.floats(0, 1))
def test_medium_lies_between_wet_bulb_and_air(
    temp_c: float, rh_pct: float, pressure_kpa: float, cooling: float
) -> None:
    """T_w ≤ T_medium ≤ T for every pot in every air."""
    wet = air.wet_bulb(temp_c, rh_pct, pressure_kpa)
    medium = air.medium_temperature(temp_c, wet, cooling)
    assert wet - 1e-9 <= medium <= temp_c + 1e-9


@given(temps, st.floats(1, 100), pressures)
def test_dew_point_is_below_wet_bulb(temp_c: float, rh_pct: float, pressure_kpa: float) -> None:
    """Dew point ≤ wet bulb ≤ air, equal only in saturated air."""
    wet = air.wet_bulb(temp_c, rh_pct, pressure_kpa)
    assert air.dew_point(temp_c, rh_pct) <= wet + 1e-9 <= temp_c + 2e-9


def test_saturated_air_cools_nothing() -> None:
    """At 100 % the wet bulb is the air's own temperature, by definition."""
    assert air.wet_bulb(22, 100, 101.3) == pytest.approx(22, abs=1e-9)


def test_air_above_saturation_is_taken_as_saturated() -> None:
    """More vapour than the air can hold never warms the wet bulb above the air."""
    assert air.wet_bulb_from_vapour_pressure(10, 3.0, 101.3) == 10


def test_mean_saturation_is_above_that_of_the_mean() -> None:
    """The curve is convex, so two temperatures hold more than their middle (FAO56 eq. 12)."""
    assert air.mean_saturation_vapour_pressure(30, 10) > air.saturation_vapour_pressure(20)


@pytest.mark.parametrize("rh_pct", [-0.1, 100.1, float("nan")])
def test_impossible_humidity_is_refused(rh_pct: float) -> None:
    """Humidity outside 0 to 100 is refused with its value, by every function that takes one."""
    with pytest.raises(Refused, match=r"relative humidity .* is outside 0 to 100"):
        air.vapour_pressure_deficit(20, rh_pct)
    with pytest.raises(Refused, match="outside 0 to 100"):
        air.wet_bulb(20, rh_pct, 101.3)


def test_bone_dry_air_has_no_dew_point() -> None:
    """Without vapour there is nothing to condense."""
    with pytest.raises(Refused, match="must be above 0"):
        air.dew_point(20, 0)


@pytest.mark.parametrize("elevation_m", [-501, 9001])
def test_impossible_height_is_refused(elevation_m: float) -> None:
    """Heights beyond the deepest shore and the highest peak are refused."""
    with pytest.raises(Refused, match="outside -500 to 9000"):
        air.pressure(elevation_m)
