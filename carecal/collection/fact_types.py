"""What is known of places, pauses, absences and supplies, as plain values; days are ordinals."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

__all__ = [
    "Absence",
    "Fertiliser",
    "ForecastOfDay",
    "Pause",
    "PlaceFacts",
    "PlaceSpec",
    "ReadingsOfDay",
    "Resume",
    "Water",
]


class PlaceSpec(NamedTuple):
    """What is known of a place from one day on; absent numbers come from its kind."""

    day: int
    place_kind: str
    name: str
    aspect: str | None = None
    winter_day_c: float | None = None
    winter_night_c: float | None = None
    summer_day_c: float | None = None
    summer_night_c: float | None = None
    lamp_ppfd: float | None = None
    lamp_hours: float | None = None
    climate: tuple[tuple[float, float, float, str, float, str], ...] | None = None


class ReadingsOfDay(NamedTuple):
    """One day of readings: temperatures [°C], humidity [%], light [mol m⁻² d⁻¹]; None where nothing was measured."""

    temp_min_c: float | None
    temp_mean_c: float | None
    temp_max_c: float | None
    rh_mean_pct: float | None
    medium_min_c: float | None
    medium_mean_c: float | None
    light_mol: float | None = None


class ForecastOfDay(NamedTuple):
    """What was forecast for one day: lowest of the night, highest of the day [°C], and the day it was told."""

    night_c: float | None
    day_c: float | None
    told: int


@dataclass(slots=True)
class PlaceFacts:
    """A place with its specs in the order of their days, its readings and forecasts by day, and its shade."""

    id: str
    specs: list[PlaceSpec] = field(default_factory=list)
    readings: dict[int, ReadingsOfDay] = field(default_factory=dict)
    forecasts: dict[int, ForecastOfDay] = field(default_factory=dict)
    shades: list[tuple[int, bool]] = field(default_factory=list)  # day, whether shade is up from then on

    def spec_at(self, day: int) -> PlaceSpec:
        """Return the spec in force on a day; the first one before it begins."""
        found = self.specs[0]
        for spec in self.specs:
            if spec.day <= day:
                found = spec
        return found


class Pause(NamedTuple):
    """A pause from `start` up to and including `until` (None: endless), perhaps every year."""

    entry: int
    care: str
    plants: frozenset[int] | None
    place: str | None
    start: date
    until: date | None
    every_year: bool
    start_month_day: str = ""  # as "11-01", if not that of `start`: 29 February of a year without one
    until_month_day: str = ""


class Resume(NamedTuple):
    """The end of the pause that runs on `day`, for the care and plants named."""

    entry: int
    care: str
    plants: frozenset[int] | None
    place: str | None
    day: int
    for_good: bool


class CareDates(NamedTuple):
    """Care days that were taken on `told` (ordinals); none: the weekdays alone are gone by."""

    told: int
    days: frozenset[int]
    is_ahead: bool = False  # each plant looks along them for its way; else it takes the one nearest due


class Absence(NamedTuple):
    """Nobody is there from `start` up to and including `until` (ordinals)."""

    entry: int
    start: int
    until: int


class Fertiliser(NamedTuple):
    """A fertiliser by its label: N, P2O5, K2O [%], label rate [g/L], EC per 100 mg/L of N [mS/cm]."""

    name: str
    n_pct: float
    p2o5_pct: float
    k2o_pct: float
    label_rate_g_per_l: float | None
    ec_per_100_ppm: float | None


class Water(NamedTuple):
    """A water by its conductivity [mS/cm], alkalinity as calcium carbonate [mg/L], pH and kind; None: not told."""

    name: str
    ec_ms_cm: float
    alkalinity_mg_l: float | None = None
    ph: float | None = None
    water_kind: str | None = None
