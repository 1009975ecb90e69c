"""Water vapour, pressure and the temperature of a wet medium; it holds no value of any place or pot."""

from __future__ import annotations

from math import exp, log

from carecal.errors import Refused

__all__ = [
    "dew_point",
    "dew_point_from_vapour_pressure",
    "mean_saturation_vapour_pressure",
    "medium_temperature",
    "pressure",
    "saturation_vapour_pressure",
    "vapour_pressure",
    "vapour_pressure_deficit",
    "vapour_pressure_deficit_of_day",
    "wet_bulb",
    "wet_bulb_from_vapour_pressure",
]

TETENS_A = 17.27  # FAO56 eq. 11
TETENS_B = 237.3  # FAO56 eq. 11 [°C]
TETENS_E = 0.6108  # FAO56 eq. 11 [kPa]
VENTILATED = 0.000662  # FAO56 eq. 16, ventilated psychrometer [1/K]
COLDEST_WET_BULB_C = -90.0  # below any air the formula is used for
PRECISION_K = 1e-10
MOST_STEPS = 60


def saturation_vapour_pressure(temp_c: float) -> float:
    """Return the saturation vapour pressure over water [kPa].

    Valid from 0 to 50 °C; within 0.4 % of PSYCHROLIB and METPY from 0 to 40 °C.

    Args:
        temp_c: Air temperature. [°C]

    Source: FAO56 eq. 11.
    """
    return TETENS_E * exp(TETENS_A * temp_c / (temp_c + TETENS_B))


def mean_saturation_vapour_pressure(max_c: float, min_c: float) -> float:
    """Return the mean saturation vapour pressure of a day; that of the mean would underestimate it [kPa].

    Args:
        max_c: Day temperature. [°C]
        min_c: Night temperature. [°C]

    Source: FAO56 eq. 12.
    """
    return (saturation_vapour_pressure(max_c) + saturation_vapour_pressure(min_c)) / 2


def vapour_pressure(day_c: float, night_c: float, rh_pct: float) -> float:
    """Return the actual vapour pressure of a day from its mean humidity [kPa].

    Args:
        day_c: Day temperature. [°C]
        night_c: Night temperature. [°C]
        rh_pct: Mean relative humidity, 0 to 100. [%]

    Raises:
        Refused: rh_pct lies outside 0 to 100.

    Source: FAO56 eq. 19.
    """
    return mean_saturation_vapour_pressure(day_c, night_c) * _share(rh_pct)


def pressure(elevation_m: float) -> float:
    """Return the mean atmospheric pressure at a height [kPa].

    Args:
        elevation_m: Height above sea level, -500 to 9000. [m]

    Raises:
        Refused: elevation_m lies outside -500 to 9000.

    Source: FAO56 eq. 7.
    """
    if not -500 <= elevation_m <= 9000:
        raise Refused(f"elevation {elevation_m:g} m is outside -500 to 9000")
    return float(101.3 * ((293 - 0.0065 * elevation_m) / 293) ** 5.26)


def vapour_pressure_deficit(temp_c: float, rh_pct: float) -> float:
    """Return how far air of one temperature is from saturation [kPa].

    Args:
        temp_c: Air temperature. [°C]
        rh_pct: Relative humidity, 0 to 100. [%]

    Raises:
        Refused: rh_pct lies outside 0 to 100.

    Source: FAO56 eq. 11.
    """
    return saturation_vapour_pressure(temp_c) * (1 - _share(rh_pct))


def vapour_pressure_deficit_of_day(day_c: float, night_c: float, rh_pct: float) -> float:
    """Return a day's mean vapour pressure deficit [kPa].

    Args:
        day_c: Day temperature. [°C]
        night_c: Night temperature. [°C]
        rh_pct: Mean relative humidity, 0 to 100. [%]

    Raises:
        Refused: rh_pct lies outside 0 to 100.

    Source: FAO56 eq. 12, 19.
    """
    return mean_saturation_vapour_pressure(day_c, night_c) * (1 - _share(rh_pct))


def dew_point(temp_c: float, rh_pct: float) -> float:
    """Return the temperature at which air of this humidity is saturated [°C].

    Args:
        temp_c: Air temperature. [°C]
        rh_pct: Relative humidity, above 0 and up to 100. [%]

    Raises:
        Refused: rh_pct is 0 or lies outside 0 to 100.

    Source: FAO56 eq. 11 inverted; within 0.1 °C of PSYCHROLIB.
    """
    return dew_point_from_vapour_pressure(saturation_vapour_pressure(temp_c) * _share(rh_pct))


def dew_point_from_vapour_pressure(ea_kpa: float) -> float:
    """Return the temperature at which a vapour pressure is that of saturation [°C].

    Args:
        ea_kpa: Actual vapour pressure, above 0. [kPa]

    Raises:
        Refused: ea_kpa is not above 0.

    Source: FAO56 eq. 11 inverted.
    """
    if not ea_kpa > 0:
        raise Refused(f"vapour pressure {ea_kpa:g} kPa has no dew point; it must be above 0")
    ratio = log(ea_kpa / TETENS_E)
    return TETENS_B * ratio / (TETENS_A - ratio)


def wet_bulb(temp_c: float, rh_pct: float, pressure_kpa: float) -> float:
    """Return the temperature to which evaporation cools a wet surface in moving air [°C].

    Within 0.14 °C of PSYCHROLIB from 10 to 40 °C.

    Args:
        temp_c: Air temperature. [°C]
        rh_pct: Relative humidity, 0 to 100. [%]
        pressure_kpa: Atmospheric pressure. [kPa]

    Raises:
        Refused: rh_pct lies outside 0 to 100.

    Source: FAO56 eq. 15, solved for the wet bulb.
    """
    ea_kpa = saturation_vapour_pressure(temp_c) * _share(rh_pct)
    return wet_bulb_from_vapour_pressure(temp_c, ea_kpa, pressure_kpa)


def wet_bulb_from_vapour_pressure(temp_c: float, ea_kpa: float, pressure_kpa: float) -> float:
    """Return the wet bulb temperature, at most that of the air, to 1e-9 K [°C].

    Newton's steps start at the air's temperature; the balance is convex and rising, so they come down on the
    root from above. A bracket around it guards the last bits.

    Args:
        temp_c: Air temperature. [°C]
        ea_kpa: Actual vapour pressure; above saturation the air's own temperature is the answer. [kPa]
        pressure_kpa: Atmospheric pressure. [kPa]

    Source: FAO56 eq. 15, solved for the wet bulb.
    """
    gamma = VENTILATED * pressure_kpa
    low, high, guess = COLDEST_WET_BULB_C, temp_c, temp_c
    for _ in range(MOST_STEPS):
        svp = TETENS_E * exp(TETENS_A * guess / (guess + TETENS_B))
        balance = svp - gamma * (temp_c - guess) - ea_kpa  # FAO56 eq. 15
        if balance > 0:
            high = guess
        else:
            low = guess
        step = balance / (svp * TETENS_A * TETENS_B / (guess + TETENS_B) ** 2 + gamma)
        following = guess - step
        if not low <= following <= high:
            following = (low + high) / 2
        if abs(following - guess) < PRECISION_K:
            return min(following, temp_c)
        guess = following
    return guess


def medium_temperature(temp_c: float, wet_bulb_c: float, cooling: float) -> float:
    """Return the temperature of a wet medium, between the wet bulb and the air [°C].

    Args:
        temp_c: Air temperature. [°C]
        wet_bulb_c: Wet bulb temperature of that air. [°C]
        cooling: Share of the wet bulb depression that the pot reaches, 0 to 1. [-]

    Source: our choice, because the share follows from an energy balance of the pot (models A5).
    """
    return temp_c - cooling * (temp_c - wet_bulb_c)


def _share(rh_pct: float) -> float:
    if not 0 <= rh_pct <= 100:
        raise Refused(f"relative humidity {rh_pct:g} % is outside 0 to 100")
    return rh_pct / 100
