"""Every row of checks_air: published examples of FAO56 and what psychrolib answers."""

from __future__ import annotations

from math import atan, sqrt
from typing import Any

from carecal.horticulture import air
from tests.published.published_rows import Row, answer, checks, having, hold, one


def wet_bulb_stull(temp_c: float, rh_pct: float) -> float:
    """The explicit formula of Stull 2011, for the tests alone: it is off by up to 0.8 °C."""
    return (
        temp_c * atan(0.151977 * sqrt(rh_pct + 8.313659))
        + atan(temp_c + rh_pct)
        - atan(rh_pct - 1.676331)
        + 0.00391838 * rh_pct * sqrt(rh_pct) * atan(0.023101 * rh_pct)
        - 4.686035
    )


def wet_bulb(temp_c: float, rh_pct: float, pressure_kpa: float = 0, elevation_m: float = 0) -> float:
    """The wet bulb at a pressure or at the height that has it."""
    return air.wet_bulb(temp_c, rh_pct, pressure_kpa or air.pressure(elevation_m))


def medium_temperature(
    temp_c: float, rh_pct: float, container: str, pressure_kpa: float, **rest: str
) -> float:
    """The medium by the published table of containers."""
    cooling = float(one("containers", container=container)[f"cooling_{rest['air']}"])
    return air.medium_temperature(temp_c, air.wet_bulb(temp_c, rh_pct, pressure_kpa), cooling)


FUNCTIONS: dict[str, Any] = {
    **{name: getattr(air, name) for name in air.__all__},
    "psychrometric_constant": lambda elevation_m: 0.000665 * air.pressure(elevation_m),  # FAO56 eq. 8
    "wet_bulb_stull": wet_bulb_stull,
    "wet_bulb": wet_bulb,
    "medium_temperature": medium_temperature,
}


def test_all_rows_are_read() -> None:
    """The table has the fifty rows it was published with."""
    assert len(checks("checks_air")) == 50


@having("checks_air", "vapour_pressure_from_extremes", "vapour_pressure_from_wet_bulb")
def test_air_agrees_with_the_published_row(row: Row) -> None:
    """Each published value is met within its tolerance."""
    hold(row, answer(row, FUNCTIONS))
