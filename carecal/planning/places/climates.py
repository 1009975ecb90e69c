"""The climate of each place over the days a plan needs, computed once per place and day."""

from __future__ import annotations

from calendar import isleap
from datetime import date
from itertools import accumulate, chain, pairwise
from typing import TYPE_CHECKING, NamedTuple, cast

from carecal.horticulture.air import pressure, vapour_pressure
from carecal.horticulture.climate import (
    DailyClimate,
    MonthlyClimate,
    daily_climate,
    fade,
    medium_temperatures,
    normals_of_kind,
    shifted,
    wet_bulbs,
)
from carecal.horticulture.drydown import demand_series, relative_demand
from carecal.horticulture.own_pace import LIGHT_DAYS, middle_light, swing
from carecal.horticulture.windows import ahead_means, trailing_means

if TYPE_CHECKING:
    from collections.abc import Iterable

    from carecal.catalog.tables import Catalog
    from carecal.collection.facts import CollectionFacts, PlaceFacts, PlaceSpec
    from carecal.planning.spans import Span

__all__ = ["PlaceAir", "monthly_of", "spans_where"]

READINGS_DAYS = 14  # models B6: the mean deviation of the last 14 days, fading over 14 days
SWING_DIGITS = 6  # of ln of a ratio: a millionth decides no date
YEAR_OF = {False: 2027, True: 2028}  # any common and any leap year: the normals of a month do not differ


class Shift(NamedTuple):
    """How far readings lie from the normals: day and night [°C], vapour pressure [kPa], newest reading's day."""

    day_c: float
    night_c: float
    ea_kpa: float
    newest: int


class PlaceAir:
    """The climate of a place as one spec describes it, from 1 January of one year to 31 December of another."""

    def __init__(
        self,
        spec: PlaceSpec,
        place: PlaceFacts,
        monthly: MonthlyClimate,
        facts: CollectionFacts,
        catalog: Catalog,
        first_year: int,
        last_year: int,
    ) -> None:
        self.spec, self.monthly, self._place, self._catalog = spec, monthly, place, catalog
        self.origin = date(first_year, 1, 1).toordinal()
        self.last = date(last_year, 12, 31).toordinal()
        self._leaps = [isleap(year) for year in range(first_year, last_year + 1)]
        self._pressure = pressure(facts.elevation_m)
        self._years: dict[bool, DailyClimate] = {}
        self._wet: dict[bool, tuple[list[float], list[float]]] = {}
        self._sums: dict[tuple[str, float], list[float]] = {}
        self._lived: dict[tuple[str, float], list[float]] = {}
        self._media: dict[str, tuple[list[float], list[float]]] = {}
        self._ahead: dict[str, list[float]] = {}
        self._days_up_to: dict[float, list[Span]] = {}
        self._flat: dict[str, list[float]] = {}
        self._swings: list[float] | None = None
        self._wind = {name: row.speed_m_s for name, row in catalog.air_classes.items()}

    def year(self, *, leap: bool) -> DailyClimate:
        """Return the normals of a common or a leap year."""
        if leap not in self._years:
            self._years[leap] = daily_climate(self.monthly, YEAR_OF[leap])
        return self._years[leap]

    def values(self, name: str) -> list[float]:
        """Return one quantity of the normals over all days: day_c, night_c, rh_pct, light_mol or vpd_kpa."""
        if name not in self._flat:
            years = (getattr(self.year(leap=leap), name) for leap in self._leaps)
            self._flat[name] = list(chain.from_iterable(years))
        return self._flat[name]

    def mean(self, name: str, first: int, last: int) -> float:
        """Return the mean of a quantity of the normals over days, both ends included."""
        days = self.values(name)[first - self.origin : last - self.origin + 1]
        return sum(days) / (last - first + 1)

    def at(self, name: str, day: int) -> float:
        """Return a quantity of the normals on a day."""
        return self.values(name)[day - self.origin]

    def mean_demand(self, container: str, light_factor: float, first: int, last: int) -> float:
        """Return the mean relative demand over days, both ends included, as a reading on the first day sees it."""
        shift = self.shift_on(first)
        if shift is not None:
            return self._shifted_demand(container, light_factor, first, last, shift)
        sums = self._demand_sums(container, light_factor)
        a, b = first - self.origin, last - self.origin + 1
        return (sums[b] - sums[a]) / (b - a)

    def demand_on(self, container: str, light_factor: float, day: int) -> float:
        """Return the relative demand of one day."""
        return self.mean_demand(container, light_factor, day, day)

    def mean_swing(self, first: int, last: int) -> float:
        """Return the mean over days, both ends included, of how far the light lies from the middle of the year.

        Source: models K5; `swing`.
        """
        if self._swings is None:
            year = self.year(leap=False).light_mol
            middle = middle_light(year)
            month = trailing_means(self.values("light_mol"), LIGHT_DAYS)
            self._swings = [0.0, *accumulate(swing(light, middle) for light in month)]
        a, b = max(first, self.origin) - self.origin, min(last, self.last) - self.origin + 1
        return round((self._swings[b] - self._swings[a]) / (b - a), SWING_DIGITS) if b > a else 0.0

    def lived_demand(self, container: str, light_factor: float, first: int, last: int) -> float:
        """Return the sum of relative demand over days, both ends included, each as a reading on that day sees it."""
        key = (container, light_factor)
        if key not in self._lived:
            self._lived[key] = self._lived_sums(*key)
        sums = self._lived[key]
        return sums[last - self.origin + 1] - sums[first - self.origin]

    def medium(self, container: str) -> tuple[list[float], list[float]]:
        """Return mean and night temperature of the medium by normals over all days. [°C]."""
        if container not in self._media:
            cooling = self._catalog.containers[container].cooling
            by_year = {
                leap: medium_temperatures(
                    self.year(leap=leap), cooling, self._pressure, self._wet_bulbs(leap=leap)
                )
                for leap in sorted(set(self._leaps))
            }
            self._media[container] = (
                list(chain.from_iterable(by_year[leap][0] for leap in self._leaps)),
                list(chain.from_iterable(by_year[leap][1] for leap in self._leaps)),
            )
        return self._media[container]

    def medium_ahead(self, container: str) -> list[float]:
        """Return, for each day, the mean temperature of the medium over that day and the 13 after it. [°C]."""
        if container not in self._ahead:
            self._ahead[container] = ahead_means(self.medium(container)[0])
        return self._ahead[container]

    def day_ahead(self) -> list[float]:
        """Return, for each day, the mean day temperature of that day and the 13 after it. [°C]."""
        return ahead_means(self.values("day_c"))

    def days_up_to(self, day_c: float) -> list[Span]:
        """Return the days whose day temperature by normals is at most so high. [°C]."""
        if day_c not in self._days_up_to:
            self._days_up_to[day_c] = spans_where((day <= day_c for day in self.values("day_c")), self.origin)
        return self._days_up_to[day_c]

    def shift_on(self, day: int) -> Shift | None:
        """Return the mean deviation of the readings of the 14 days before a day, or None without any."""
        readings = self._place.readings
        if not readings:
            return None
        days = [d for d in range(day - READINGS_DAYS, day) if d in readings and d >= self.origin]
        if not days:
            return None
        shifts = [self._deviation(d) for d in days]
        count = len(days)
        day_c, night_c, ea_kpa = (sum(s[i] for s in shifts) / count for i in range(3))
        return Shift(day_c, night_c, ea_kpa, days[-1])

    def _deviation(self, day: int) -> tuple[float, float, float]:
        read = self._place.readings[day]
        normal = {name: self.at(name, day) for name in ("day_c", "night_c", "ea_kpa")}
        low, high, mean = read.temp_min_c, read.temp_max_c, read.temp_mean_c
        centre = (
            mean if mean is not None else (low + high) / 2 if low is not None and high is not None else None
        )
        if centre is None:
            return 0.0, 0.0, 0.0
        off = centre - (normal["day_c"] + normal["night_c"]) / 2
        if read.rh_mean_pct is None:
            return off, off, 0.0
        ea = vapour_pressure(normal["day_c"] + off, normal["night_c"] + off, read.rh_mean_pct)
        return off, off, ea - normal["ea_kpa"]

    def _wet_bulbs(self, *, leap: bool) -> tuple[list[float], list[float]]:
        if leap not in self._wet:
            self._wet[leap] = wet_bulbs(self.year(leap=leap), self._pressure)
        return self._wet[leap]

    def _demand_sums(self, container: str, light_factor: float) -> list[float]:
        key = (container, light_factor)
        if key not in self._sums:
            sensitivity = self._catalog.containers[container].wind_sensitivity
            by_year = {
                leap: demand_series(self.year(leap=leap), self._wind, sensitivity, light_factor)
                for leap in sorted(set(self._leaps))
            }
            self._sums[key] = [0.0, *accumulate(chain.from_iterable(by_year[leap] for leap in self._leaps))]
        return self._sums[key]

    def _lived_sums(self, container: str, light_factor: float) -> list[float]:
        sums = self._demand_sums(container, light_factor)
        read = {r + ahead for r in self._place.readings for ahead in range(1, READINGS_DAYS + 1)}
        if not read:
            return sums
        days = [b - a for a, b in pairwise(sums)]
        for day in read:
            if self.origin <= day <= self.last:
                days[day - self.origin] = self.demand_on(container, light_factor, day)
        return [0.0, *accumulate(days)]

    def _shifted_demand(
        self, container: str, light_factor: float, first: int, last: int, shift: Shift
    ) -> float:
        sensitivity = self._catalog.containers[container].wind_sensitivity
        total = 0.0
        for day in range(first, last + 1):
            share = fade(day - shift.newest)
            day_c, night_c, ea_kpa = (self.at(name, day) for name in ("day_c", "night_c", "ea_kpa"))
            air = shifted(
                day_c, night_c, ea_kpa, shift.day_c * share, shift.night_c * share, shift.ea_kpa * share
            )
            total += relative_demand(
                air.vpd_kpa,
                self._wind[self.air_on(day)],
                sensitivity,
                self.at("light_mol", day) * light_factor,
                self.light_source_on(day),
            )
        return total / (last - first + 1)

    def air_on(self, day: int) -> str:
        """Return the air class of a day's month."""
        return self.monthly.air[date.fromordinal(day).month - 1]

    def light_source_on(self, day: int) -> str:
        """Return daylight or lamp, whichever gives most of a day's light."""
        return self.monthly.light_source[date.fromordinal(day).month - 1]


def monthly_of(spec: PlaceSpec, facts: CollectionFacts, catalog: Catalog) -> MonthlyClimate | None:
    """Return a place's monthly climate: the grower's twelve rows, else its kind's defaults; None without any.

    Source: models B4, B4a.
    """
    if spec.climate is not None:
        return MonthlyClimate(*(tuple(column) for column in zip(*spec.climate, strict=True)))
    kind = catalog.place_kinds[spec.place_kind]
    typed = [spec.winter_day_c, spec.summer_day_c, spec.winter_night_c, spec.summer_night_c]
    days = (_or(spec.winter_day_c, kind.day_winter_c), _or(spec.summer_day_c, kind.day_summer_c))
    nights = (_or(spec.winter_night_c, kind.night_winter_c), _or(spec.summer_night_c, kind.night_summer_c))
    humidity = (kind.rh_winter_pct, kind.rh_summer_pct)
    if None in (*days, *nights, *humidity) or kind.light_fraction is None:
        return None
    lamp = spec.lamp_ppfd is not None and spec.lamp_hours is not None
    return normals_of_kind(
        latitude=facts.latitude,
        day_c=cast("tuple[float, float]", days),
        night_c=cast("tuple[float, float]", nights),
        rh_pct=cast("tuple[float, float]", humidity),
        air=(kind.air_winter or "room", kind.air_summer or "room"),
        light_fraction=kind.light_fraction,
        aspect_factor=_aspect_factor(spec.aspect, facts.latitude, catalog),
        lamp_ppfd=spec.lamp_ppfd or 0.0,
        lamp_hours=spec.lamp_hours or 0.0,
        light_source="lamp" if lamp and kind.light_fraction == 0 else (kind.light_source or "daylight"),
        given=None not in typed,
    )


def _or(typed: float | None, default: float | None) -> float | None:
    return typed if typed is not None else default


def _aspect_factor(aspect: str | None, latitude: float, catalog: Catalog) -> float:
    """Return the light factor of a window's compass point, by hemisphere."""
    for row in catalog.aspects.values():
        if aspect in (row.compass_north if latitude >= 0 else row.compass_south):
            return row.light_factor
    return 1.0


def spans_where(flags: Iterable[bool], origin: int) -> list[Span]:
    """Return the spans of days whose flag is set; the first flag is of the day `origin`."""
    row = bytes(flags)  # searched as bytes: a year of flags has few spans
    found, start = [], row.find(1)
    while start >= 0:
        end = row.find(0, start)
        if end < 0:
            end = len(row)
        found.append((origin + start, origin + end - 1))
        start = row.find(1, end)
    return found
