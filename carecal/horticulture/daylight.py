"""Length of day, radiation and light units at a latitude; it knows nothing of windows and lamps in a home."""

from __future__ import annotations

from datetime import date
from math import acos, asin, atan, cos, pi, radians, sin, tan

from carecal.errors import Refused

__all__ = [
    "daily_light",
    "day_length",
    "day_length_cbm",
    "daylight_fao",
    "declination",
    "extraterrestrial_radiation",
    "outdoor_light",
    "ppfd_of_lux",
    "sunset_hour_angle",
]

SUNRISE_DEG = 0.8333  # FORSYTHE1995: upper edge of the sun on the horizon, with refraction [°]
SOLAR_MJ = 37.6  # FAO56 eq. 21: 24·60/π times the solar constant of 0.0820 MJ m⁻² min⁻¹
AVERAGE_SKY = 0.475  # FAO56 eq. 35 with half of the possible sunshine, minus a little: our choice
MOL_PER_MJ = 2.06  # from memory: 45 % of radiation is PAR, at 4.57 mol/MJ
LUX_PER_PPFD = 54.0  # of sunlight: THIMIJAN1983 [lux per µmol m⁻² s⁻¹]
MOL_PER_PPFD_HOUR = 0.0036  # definition: 3600 s/h, 1e-6 mol/µmol


def declination(day_of_year: float) -> float:
    """Return the sun's declination [rad].

    Args:
        day_of_year: 1 on 1 January. [d]

    Source: FAO56 eq. 24.
    """
    return 0.409 * sin(2 * pi * day_of_year / 365 - 1.39)


def sunset_hour_angle(latitude: float, day_of_year: float) -> float:
    """Return the hour angle of sunset, 0 in polar night and π in polar day [rad].

    Args:
        latitude: North positive, -90 to 90. [°]
        day_of_year: 1 on 1 January. [d]

    Raises:
        Refused: latitude lies outside -90 to 90.

    Source: FAO56 eq. 25.
    """
    return _clamped_acos(-tan(_phi(latitude)) * tan(declination(day_of_year)))


def daylight_fao(latitude: float, day_of_year: float) -> float:
    """Return the geometric hours of daylight [h].

    Args:
        latitude: North positive, -90 to 90. [°]
        day_of_year: 1 on 1 January. [d]

    Raises:
        Refused: latitude lies outside -90 to 90.

    Source: FAO56 eq. 34.
    """
    return 24 / pi * sunset_hour_angle(latitude, day_of_year)


def day_length(latitude: float, on: date) -> float:
    """Return the hours from sunrise to sunset on a date [h].

    Within 0.15 h of ASTRAL, PVLIB and EPHEM up to 60°.

    Args:
        latitude: North positive, -90 to 90. [°]
        on: The date.

    Raises:
        Refused: latitude lies outside -90 to 90.

    Source: FORSYTHE1995 with p = 0.8333°.
    """
    return day_length_cbm(latitude, on.timetuple().tm_yday, SUNRISE_DEG)


def day_length_cbm(latitude: float, day_of_year: float, p_deg: float = SUNRISE_DEG) -> float:
    """Return the hours of a day whose ends are set by the sun's depth under the horizon, 0 to 24 [h].

    Args:
        latitude: North positive, -90 to 90. [°]
        day_of_year: 1 on 1 January. [d]
        p_deg: Depth of the sun's centre under the horizon at the ends of the day. [°]

    Raises:
        Refused: latitude lies outside -90 to 90.

    Source: FORSYTHE1995, the CBM model.
    """
    phi = _phi(latitude)
    theta = 0.2163108 + 2 * atan(0.9671396 * tan(0.00860 * (day_of_year - 186)))
    delta = asin(0.39795 * cos(theta))
    reach = (sin(radians(p_deg)) + sin(phi) * sin(delta)) / (cos(phi) * cos(delta))
    return 24 - 24 / pi * _clamped_acos(reach)


def extraterrestrial_radiation(latitude: float, day_of_year: float) -> float:
    """Return the sun's daily radiation above the air on a level surface [MJ m⁻² d⁻¹].

    Args:
        latitude: North positive, -90 to 90. [°]
        day_of_year: 1 on 1 January. [d]

    Raises:
        Refused: latitude lies outside -90 to 90.

    Source: FAO56 eq. 21, 23.
    """
    phi, delta = _phi(latitude), declination(day_of_year)
    omega = sunset_hour_angle(latitude, day_of_year)
    distance = 1 + 0.033 * cos(2 * pi * day_of_year / 365)  # FAO56 eq. 23
    return SOLAR_MJ * distance * (omega * sin(phi) * sin(delta) + cos(phi) * cos(delta) * sin(omega))


def outdoor_light(latitude: float, day_of_year: float) -> float:
    """Return the daily light of plants outdoors under an average sky [mol m⁻² d⁻¹].

    Args:
        latitude: North positive, -90 to 90. [°]
        day_of_year: 1 on 1 January. [d]

    Raises:
        Refused: latitude lies outside -90 to 90.

    Source: FAO56 eq. 35; share of sunshine: our choice, because it is unknown; mol per MJ: from memory.
    """
    return extraterrestrial_radiation(latitude, day_of_year) * AVERAGE_SKY * MOL_PER_MJ


def daily_light(ppfd: float, hours: float) -> float:
    """Return the daily light of a constant source [mol m⁻² d⁻¹].

    Args:
        ppfd: Photosynthetic photon flux density. [µmol m⁻² s⁻¹]
        hours: Hours of it a day, 0 to 24. [h]

    Raises:
        Refused: hours lie outside 0 to 24 or ppfd is negative.

    Source: definition; common practice (no source).
    """
    if not 0 <= hours <= 24:
        raise Refused(f"{hours:g} hours of light a day are outside 0 to 24")
    if not ppfd >= 0:
        raise Refused(f"light of {ppfd:g} µmol m⁻² s⁻¹ is negative; 0 or more is allowed")
    return ppfd * hours * MOL_PER_PPFD_HOUR


def ppfd_of_lux(lux: float) -> float:
    """Return the light of plants in so much illuminance of sunlight [µmol m⁻² s⁻¹].

    Args:
        lux: Illuminance. [lux]

    Source: THIMIJAN1983: 54 lux per µmol m⁻² s⁻¹ of sunlight; under white tubes it would be a quarter less.
    """
    return lux / LUX_PER_PPFD


def _phi(latitude: float) -> float:
    if not -90 <= latitude <= 90:
        raise Refused(f"latitude {latitude:g} is outside -90 to 90")
    return radians(latitude)


def _clamped_acos(x: float) -> float:
    return acos(max(-1.0, min(1.0, x)))
