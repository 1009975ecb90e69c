"""How high the sun stands at noon, and between which days it stands high; it knows no window and no plant."""

from __future__ import annotations

from datetime import date, timedelta
from math import asin, degrees, radians, sin
from typing import NamedTuple

from carecal.errors import Refused

__all__ = ["HighSun", "high_sun", "noon_altitude", "solar_declination"]

OBLIQUITY_DEG = 23.44  # tilt of the earth's axis [°], from memory
J2000 = date(2000, 1, 1)


class HighSun(NamedTuple):
    """The days of a year on which the noon sun reaches a height.

    A run over the turn of the year, as south of the equator, begins later in the year than it ends. None and None
    with `always` False: never; with `always` True: every day.
    """

    first: date | None
    last: date | None
    always: bool


def solar_declination(on: date) -> float:
    """Return the sun's declination at noon, within 0.05° of an astronomy library [°].

    Args:
        on: The date.

    Source: the low-precision sun of the almanacs (mean longitude, equation of centre), from memory; held against
    ASTRAL. FAO56 eq. 24 in `daylight` is off by up to a degree, which is up to three days in spring.
    """
    n = (on - J2000).days + 0.0  # noon of 2000-01-01 is the epoch [d]
    longitude = 280.460 + 0.9856474 * n  # [°]
    anomaly = radians(357.528 + 0.9856003 * n)
    ecliptic = radians(longitude + 1.915 * sin(anomaly) + 0.020 * sin(2 * anomaly))
    return degrees(asin(sin(radians(OBLIQUITY_DEG)) * sin(ecliptic)))


def noon_altitude(latitude: float, on: date) -> float:
    """Return the sun's height over the horizon at true noon, below 0 in polar night [°].

    Args:
        latitude: North positive, -90 to 90. [°]
        on: The date.

    Raises:
        Refused: latitude lies outside -90 to 90.

    Source: definition: 90° less the distance of latitude and declination.
    """
    if not -90 <= latitude <= 90:
        raise Refused(f"latitude {latitude:g} is outside -90 to 90")
    return 90.0 - abs(latitude - solar_declination(on))


def high_sun(latitude: float, year: int, least_deg: float) -> HighSun:
    """Return the first and last day of the run of days whose noon sun stands at a height or above.

    Between the tropics the sun may fall below the height twice a year; the longest run is answered.

    Args:
        latitude: North positive, -90 to 90. [°]
        year: The year of the days, 1 to 9998.
        least_deg: Height reached, 0 to 90. [°]

    Raises:
        Refused: latitude or height lie outside their range.

    Source: definition; the height to shade from is for the caller to say.
    """
    if not 0 <= least_deg <= 90:
        raise Refused(f"height {least_deg:g} is outside 0 to 90")
    start = date(year, 1, 1)
    length = (date(year + 1, 1, 1) - start).days
    is_high = [noon_altitude(latitude, start + timedelta(days=day)) >= least_deg for day in range(length)]
    if all(is_high) or not any(is_high):
        return HighSun(None, None, always=all(is_high))
    begins = [day for day in range(length) if is_high[day] and not is_high[day - 1]]
    runs = [(_run(is_high, begin), begin) for begin in begins]
    longest, begin = max(runs)
    end = (begin + longest - 1) % length
    return HighSun(start + timedelta(days=begin), start + timedelta(days=end), always=False)


def _run(is_high: list[bool], begin: int) -> int:
    length = len(is_high)
    return next(days for days in range(1, length + 1) if not is_high[(begin + days) % length])
