"""The days of one year at one place, from its normals and readings; it holds no plant and no pot."""

from __future__ import annotations

from calendar import isleap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from carecal.horticulture.air import (
    mean_saturation_vapour_pressure,
    medium_temperature,
    saturation_vapour_pressure,
    vapour_pressure,
    wet_bulb_from_vapour_pressure,
)
from carecal.horticulture.normals import MonthlyClimate, normals_of_kind, winter_depth
from carecal.horticulture.splines import daily_from_monthly, month_lengths

__all__ = [
    "DailyClimate",
    "DayOfAir",
    "MonthlyClimate",
    "daily_climate",
    "daily_from_monthly",
    "fade",
    "medium_temperatures",
    "normals_of_kind",
    "shifted",
    "wet_bulbs",
    "winter_depth",
]

RH_LOWEST, RH_HIGHEST = 1.0, 100.0  # our choice, because a spline may overshoot what air can hold
A_COMMON_YEAR, A_LEAP_YEAR = 2025, 2028
FADING_DAYS = 14  # our choice, because a reading tells of about two weeks (models B6)


class DayOfAir(NamedTuple):
    """The air of one day at one place."""

    day_c: float  # [°C]
    night_c: float  # [°C]
    ea_kpa: float  # [kPa]
    rh_pct: float  # [%]
    vpd_kpa: float  # [kPa]


@dataclass(frozen=True, slots=True)
class DailyClimate:
    """One year at one place: lists of 365 or 366 values, 1 January first.

    Attributes:
        day_c: Day temperature. [°C]
        night_c: Night temperature. [°C]
        ea_kpa: Actual vapour pressure, shared by day and night. [kPa]
        rh_pct: Mean relative humidity, 1 to 100. [%]
        vpd_kpa: Mean vapour pressure deficit. [kPa]
        light_mol: Daily light at the plant, 0 or more. [mol m⁻² d⁻¹]
        air: Class of air movement, that of the month.
        light_source: 'daylight' or 'lamp', that of the month.
    """

    day_c: list[float]
    night_c: list[float]
    ea_kpa: list[float]
    rh_pct: list[float]
    vpd_kpa: list[float]
    light_mol: list[float]
    air: list[str]
    light_source: list[str]

    def __len__(self) -> int:
        """Return the number of days of the year."""
        return len(self.day_c)

    @classmethod
    def of(cls, monthly: MonthlyClimate, *, leap: bool) -> DailyClimate:
        """Return the days of any common or leap year from the twelve normals of a place.

        Args:
            monthly: The place's normals; their means hold for each month.
            leap: The year has 366 days.

        Raises:
            Refused: a monthly humidity lies outside 0 to 100 %.

        Source: EPSTEIN1991, RYMES2001; humidity by way of vapour pressure: FAO56 eq. 19.
        """
        year = A_LEAP_YEAR if leap else A_COMMON_YEAR
        rows = zip(monthly.day_c, monthly.night_c, monthly.rh_pct, strict=True)
        ea_monthly = [vapour_pressure(day, night, rh) for day, night, rh in rows]
        series = (daily_from_monthly(values, year) for values in (monthly.day_c, monthly.night_c, ea_monthly))
        day_c, night_c, ea_kpa, rh_pct, vpd_kpa = (
            list(column) for column in zip(*map(_day_of_air, *series), strict=True)
        )
        light = [max(0.0, value) for value in daily_from_monthly(monthly.light_mol, year)]
        lengths = month_lengths(year)
        air, source = _spread(monthly.air, lengths), _spread(monthly.light_source, lengths)
        return cls(day_c, night_c, ea_kpa, rh_pct, vpd_kpa, light, air, source)


def daily_climate(monthly: MonthlyClimate, year: int) -> DailyClimate:
    """Return the days of a year from the twelve normals of a place.

    Args:
        monthly: The place's normals; their means hold for each month.
        year: Calendar year.

    Raises:
        Refused: a monthly humidity lies outside 0 to 100 %.

    Source: EPSTEIN1991, RYMES2001; humidity by way of vapour pressure: FAO56 eq. 19.
    """
    return DailyClimate.of(monthly, leap=isleap(year))


def shifted(
    day_c: float, night_c: float, ea_kpa: float, d_day_c: float, d_night_c: float, d_ea_kpa: float
) -> DayOfAir:
    """Return a day's air moved by what readings deviate from the normals.

    Args:
        day_c: Day temperature of the normals. [°C]
        night_c: Night temperature of the normals. [°C]
        ea_kpa: Vapour pressure of the normals. [kPa]
        d_day_c: Shift of the day temperature. [K]
        d_night_c: Shift of the night temperature. [K]
        d_ea_kpa: Shift of the vapour pressure. [kPa]

    Source: our choice, because a place keeps its difference for some days (models B6).
    """
    return _day_of_air(day_c + d_day_c, night_c + d_night_c, ea_kpa + d_ea_kpa)


def fade(days_since_last: float) -> float:
    """Return the share of a shift that is left so many days after the last reading, 1 down to 0 [-].

    Args:
        days_since_last: Days since the last reading, 0 or less while readings go on. [d]

    Source: our choice, because weather forgets in about two weeks (models B6).
    """
    return max(0.0, min(1.0, 1 - days_since_last / FADING_DAYS))


def wet_bulbs(daily: DailyClimate, pressure_kpa: float) -> tuple[list[float], list[float]]:
    """Return the wet bulb of each day and of each night; both share the day's vapour pressure [°C].

    Args:
        daily: The year at the place.
        pressure_kpa: Atmospheric pressure there. [kPa]

    Source: FAO56 eq. 15, solved for the wet bulb; a night holds at most what saturates it.
    """
    return (
        [_wet_bulb_at_most(t, ea, pressure_kpa) for t, ea in zip(daily.day_c, daily.ea_kpa, strict=True)],
        [_wet_bulb_at_most(t, ea, pressure_kpa) for t, ea in zip(daily.night_c, daily.ea_kpa, strict=True)],
    )


def medium_temperatures(
    daily: DailyClimate,
    cooling_by_air: Mapping[str, float],
    pressure_kpa: float,
    wet: tuple[list[float], list[float]] | None = None,
) -> tuple[list[float], list[float]]:
    """Return the mean and the night temperature of a wet medium on each day of a year [°C].

    Args:
        daily: The year at the place.
        cooling_by_air: The container's share of the wet bulb depression by class of air. [-]
        pressure_kpa: Atmospheric pressure there. [kPa]
        wet: The answer of `wet_bulbs` for this year and pressure, where it is at hand.

    Raises:
        KeyError: a class of air has no cooling.

    Source: our choice, because the share follows from an energy balance of the pot (models A5, A6).
    """
    if not any(cooling_by_air.values()):
        pairs = zip(daily.day_c, daily.night_c, strict=True)
        return [(day + night) / 2 for day, night in pairs], list(daily.night_c)
    wet_days, wet_nights = wet if wet is not None else wet_bulbs(daily, pressure_kpa)
    cooling = [cooling_by_air[name] for name in daily.air]
    nights = list(map(medium_temperature, daily.night_c, wet_nights, cooling))
    days = map(medium_temperature, daily.day_c, wet_days, cooling)
    return [(day + night) / 2 for day, night in zip(days, nights, strict=True)], nights


def _spread(names: Sequence[str], lengths: Sequence[int]) -> list[str]:
    return [name for name, length in zip(names, lengths, strict=True) for _ in range(length)]


def _wet_bulb_at_most(temp_c: float, ea_kpa: float, pressure_kpa: float) -> float:
    return wet_bulb_from_vapour_pressure(
        temp_c, min(ea_kpa, saturation_vapour_pressure(temp_c)), pressure_kpa
    )


def _day_of_air(day_c: float, night_c: float, ea_kpa: float) -> DayOfAir:
    """Return a day's air, humidity cut where a spline overshoots (FAO56 eq. 12, 19; models B5)."""
    saturation = mean_saturation_vapour_pressure(day_c, night_c)
    rh_pct = 100 * ea_kpa / saturation
    if not RH_LOWEST <= rh_pct <= RH_HIGHEST:
        rh_pct = max(RH_LOWEST, min(RH_HIGHEST, rh_pct))
        ea_kpa = saturation * rh_pct / 100
    return DayOfAir(day_c, night_c, ea_kpa, rh_pct, saturation - ea_kpa)
