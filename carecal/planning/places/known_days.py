"""Days of air at a place that readings or forecasts tell better than its normals; it plans nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from carecal.horticulture.air import (
    medium_temperature,
    saturation_vapour_pressure,
    wet_bulb_from_vapour_pressure,
)
from carecal.horticulture.air import pressure as pressure_at
from carecal.horticulture.climate import fade, shifted
from carecal.planning.places.climates import READINGS_DAYS, PlaceAir, Shift

if TYPE_CHECKING:
    from carecal.planning.plan_context import PlanContext

__all__ = ["KnownDay", "forecast_days", "known_days", "newest_reading", "told_by", "wet_medium"]


def wet_medium(temp_c: float, ea_kpa: float, pressure_kpa: float, cooling: float) -> float:
    """Return the temperature of a wet medium in air of some humidity (models A5). [°C].

    Args:
        temp_c: Air temperature. [°C]
        ea_kpa: Vapour pressure; cut at saturation. [kPa]
        pressure_kpa: Atmospheric pressure. [kPa]
        cooling: Share of the wet bulb depression that the container reaches. [-]
    """
    held = min(ea_kpa, saturation_vapour_pressure(temp_c))
    return medium_temperature(temp_c, wet_bulb_from_vapour_pressure(temp_c, held, pressure_kpa), cooling)


class KnownDay(NamedTuple):
    """One day of air as readings or a forecast move it: day and night [°C], vapour pressure [kPa]."""

    day: int
    day_c: float
    night_c: float
    ea_kpa: float

    def medium(self, context: PlanContext, air: PlaceAir, container: str) -> tuple[float, float]:
        """Return mean and night of the medium of a container. [°C]."""
        cooling = context.catalog.containers[container].cooling[air.air_on(self.day)]
        kpa = pressure_at(context.facts.elevation_m)
        warm, cold = (wet_medium(t, self.ea_kpa, kpa, cooling) for t in (self.day_c, self.night_c))
        return (warm + cold) / 2, cold

    def medium_night(self, context: PlanContext, air: PlaceAir, container: str) -> float:
        """Return the night of the medium of a container. [°C]."""
        return self.medium(context, air, container)[1]


def newest_reading(context: PlanContext, place: str, day: int) -> int:
    """Return the day of the newest reading up to a day, 0 without any."""
    readings = context.facts.places[place].readings
    return max((d for d in readings if d <= day), default=0) if readings else 0


def told_by(context: PlanContext, place: str, day: int) -> tuple[int, int]:
    """Return what tells apart what is known of a place on one day and on another: newest reading, forecasts told."""
    forecasts = context.facts.places[place].forecasts.values()
    return newest_reading(context, place, day), sum(told.told <= day for told in forecasts)


def known_days(context: PlanContext, air: PlaceAir, place: str, day: int) -> dict[int, KnownDay]:
    """Return the day of the newest reading and those after it that it still speaks for, fading (models B6)."""
    newest = newest_reading(context, place, day)
    shift: Shift | None = air.shift_on(newest + 1) if newest else None
    found: dict[int, KnownDay] = {}
    for on in range(newest, newest + READINGS_DAYS) if shift is not None else ():
        if shift is None or not air.origin <= on <= air.last:
            continue
        share = fade(on - newest)
        moved = shifted(
            air.at("day_c", on),
            air.at("night_c", on),
            air.at("ea_kpa", on),
            shift.day_c * share,
            shift.night_c * share,
            shift.ea_kpa * share,
        )
        found[on] = KnownDay(on, moved.day_c, moved.night_c, moved.ea_kpa)
    return found | forecast_days(context, air, place, day)


def forecast_days(context: PlanContext, air: PlaceAir, place: str, day: int) -> dict[int, KnownDay]:
    """Return the days for which a forecast was told by a day; a reading of a day that has passed beats it."""
    facts, found = context.facts.places[place], {}
    for on, told in facts.forecasts.items():
        if told.told > day or not air.origin <= on <= air.last or on in facts.readings:
            continue
        high = told.day_c if told.day_c is not None else air.at("day_c", on)
        low = told.night_c if told.night_c is not None else air.at("night_c", on)
        found[on] = KnownDay(on, high, low, air.at("ea_kpa", on))
    return found
