"""The twelve normals of a place: given by the grower, or the defaults of a kind of place at a latitude."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import cos, pi

from carecal.errors import Refused
from carecal.horticulture.daylight import daily_light, outdoor_light
from carecal.horticulture.splines import edges

__all__ = ["DAYLIGHT", "LAMP", "MonthlyClimate", "normals_of_kind", "winter_depth"]

DAYLIGHT, LAMP = "daylight", "lamp"
COLDEST_DAY = {"north": 20, "south": 202}  # our choice, because a month after the solstice
NO_WINTER_DEG, FULL_WINTER_DEG = 10, 40  # our choice, because homes near the equator have no winter
COMMON_YEAR = 2025


@dataclass(frozen=True, slots=True)
class MonthlyClimate:
    """Twelve monthly means of one place, January first.

    Attributes:
        day_c: Day temperature. [°C]
        night_c: Night temperature. [°C]
        rh_pct: Mean relative humidity. [%]
        air: Name of the class of air movement.
        light_mol: Daily light at the plant. [mol m⁻² d⁻¹]
        light_source: 'daylight' or 'lamp'.
    """

    day_c: tuple[float, ...]
    night_c: tuple[float, ...]
    rh_pct: tuple[float, ...]
    air: tuple[str, ...]
    light_mol: tuple[float, ...]
    light_source: tuple[str, ...] = (DAYLIGHT,) * 12

    def __post_init__(self) -> None:
        """Refuse anything but twelve values of each quantity."""
        for name in ("day_c", "night_c", "rh_pct", "air", "light_mol", "light_source"):
            if len(getattr(self, name)) != 12:
                raise Refused(f"{name} has {len(getattr(self, name))} monthly values; exactly 12 are needed")


def winter_depth(latitude: float, day_of_year: float, *, given: bool = False) -> float:
    """Return how far a day stands from summer's values towards winter's, 0 to 1 [-].

    Args:
        latitude: North positive. [°]
        day_of_year: 1 on 1 January. [d]
        given: The grower named both values, so that winter is as deep as they say anywhere.

    Source: our choice, because a cosine through the coldest day fits a home well enough (models B4).
    """
    span = (abs(latitude) - NO_WINTER_DEG) / (FULL_WINTER_DEG - NO_WINTER_DEG)
    amplitude = 1.0 if given else max(0.0, min(1.0, span))
    coldest = COLDEST_DAY["north" if latitude >= 0 else "south"]
    return amplitude * (1 + cos(2 * pi * (day_of_year - coldest) / 365)) / 2


def normals_of_kind(
    *,
    latitude: float,
    day_c: tuple[float, float],
    night_c: tuple[float, float],
    rh_pct: tuple[float, float],
    air: tuple[str, str],
    light_fraction: float,
    aspect_factor: float = 1.0,
    lamp_ppfd: float = 0.0,
    lamp_hours: float = 0.0,
    light_source: str = DAYLIGHT,
    given: bool = False,
) -> MonthlyClimate:
    """Return the normals of a place that has no data of its own.

    Args:
        latitude: North positive. [°]
        day_c: Day temperature in winter and in summer. [°C]
        night_c: Night temperature in winter and in summer. [°C]
        rh_pct: Mean relative humidity in winter and in summer. [%]
        air: Class of air movement in winter and in summer.
        light_fraction: Share of the outdoor light that reaches the plant. [-]
        aspect_factor: Factor of the window's compass point. [-]
        lamp_ppfd: Light of a lamp at the plant. [µmol m⁻² s⁻¹]
        lamp_hours: Hours of the lamp a day. [h]
        light_source: 'daylight' or 'lamp'.
        given: The grower named the temperatures; they are used as they are at any latitude.

    Raises:
        Refused: latitude or the lamp's hours are outside their range.

    Source: our choice, because each value swings between winter's and summer's with the sun (models B4).
    """
    depth = _monthly([winter_depth(latitude, day) for day in range(1, 366)])
    typed = _monthly([winter_depth(latitude, day, given=True) for day in range(1, 366)]) if given else depth
    sun = _monthly([outdoor_light(latitude, day) for day in range(1, 366)])
    lamp = daily_light(lamp_ppfd, lamp_hours)
    return MonthlyClimate(
        _between(day_c, typed),
        _between(night_c, typed),
        _between(rh_pct, depth),
        tuple(air[0] if share > 0.5 else air[1] for share in typed),
        tuple(value * light_fraction * aspect_factor + lamp for value in sun),
        (light_source,) * 12,
    )


def _between(winter_summer: tuple[float, float], depth: Sequence[float]) -> tuple[float, ...]:
    winter, summer = winter_summer
    return tuple(summer - (summer - winter) * share for share in depth)


def _monthly(daily: Sequence[float]) -> tuple[float, ...]:
    starts = edges(COMMON_YEAR)
    return tuple(sum(daily[first:after]) / (after - first) for first, after in pairwise(starts))
