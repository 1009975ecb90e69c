"""Entries about the collection as a whole: places, readings, supplies, pauses, absences, corrections."""

from __future__ import annotations

from datetime import date
from typing import Annotated, ClassVar, Literal

from pydantic import AfterValidator, Field, ValidationInfo, field_validator, model_validator

from carecal.collection.entry_base import (
    Air,
    AlkalinityMgL,
    Entry,
    LightMol,
    Line,
    Name,
    PausedCare,
    Ph,
    PlaceId,
    PlantId,
    RhPct,
    Row,
    TempC,
    finite,
)

__all__ = [
    "Amended",
    "AwayAdded",
    "AwayEnded",
    "ClockConfirmed",
    "CollectionStarted",
    "Forecast",
    "MonthRow",
    "Paused",
    "PlaceAdded",
    "PlaceChanged",
    "PlaceShaded",
    "Readings",
    "ReadingsDay",
    "Resumed",
    "RoundMoved",
    "RoundsTaken",
    "SettingChanged",
    "SideTaken",
    "SupplyFertiliser",
    "SupplyWater",
    "Undone",
]


MonthDay = Annotated[str, Field(pattern=r"^(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$")]


class CollectionStarted(Entry):
    """The collection itself: where it stands and whose days it keeps."""

    kind: ClassVar[str] = "collection"
    name: Name
    latitude: Annotated[float, Field(ge=-90, le=90)]  # [degrees north]
    longitude: Annotated[float, Field(ge=-180, le=180)]  # [degrees east]
    elevation_m: Annotated[float, Field(ge=-430, le=5000)] = 0.0
    timezone: Line = "UTC"


class SettingChanged(Entry):
    """One setting of the collection."""

    kind: ClassVar[str] = "setting"
    key: Line
    value: Line


class ClockConfirmed(Entry):
    """The grower says that the clock is right after all."""

    kind: ClassVar[str] = "clock-confirmed"


class MonthRow(Row):
    """One month's means at a place."""

    month: Annotated[int, Field(ge=1, le=12)]
    day_c: TempC
    night_c: TempC
    rh_pct: RhPct
    air: Air
    light_mol_m2_d: LightMol
    light_source: Literal["daylight", "lamp"] = "daylight"


class _PlaceFields(Entry):
    place: PlaceId
    aspect: Literal["N", "NE", "E", "SE", "S", "SW", "W", "NW", "none"] | None = None
    winter_day_c: TempC | None = None
    winter_night_c: TempC | None = None
    summer_day_c: TempC | None = None
    summer_night_c: TempC | None = None
    lamp_ppfd: Annotated[float, Field(ge=0, le=2000)] | None = None  # [umol m-2 s-1]
    lamp_hours: Annotated[float, Field(ge=0, le=24)] | None = None  # [h/d]
    climate: tuple[MonthRow, ...] | None = None  # twelve rows or none


class PlaceAdded(_PlaceFields):
    """A sill, shelf, balcony or cabinet with its own climate."""

    kind: ClassVar[str] = "place"
    place_kind: Line
    name: Name | None = None


class PlaceChanged(_PlaceFields):
    """What changed at a place; absent fields stay."""

    kind: ClassVar[str] = "place-changed"
    place_kind: Line | None = None
    name: Name | None = None


class PlaceShaded(Entry):
    """Shade at the window of a place, put up or taken down."""

    kind: ClassVar[str] = "place-shaded"
    place: PlaceId
    to: Literal["up", "down"]


class ReadingsDay(Row):
    """One day of a logger: minimum, mean and maximum of what it measured."""

    day: date
    temp_min_c: TempC | None = None
    temp_mean_c: TempC | None = None
    temp_max_c: TempC | None = None
    rh_min_pct: RhPct | None = None
    rh_mean_pct: RhPct | None = None
    rh_max_pct: RhPct | None = None
    medium_min_c: TempC | None = None
    medium_mean_c: TempC | None = None
    light_mol_m2_d: LightMol | None = None  # of a sensor alone: the lines of a file have no time of day


class Readings(Entry):
    """Days of readings of one place."""

    kind: ClassVar[str] = "readings"
    place: PlaceId
    days: tuple[ReadingsDay, ...]


class Forecast(Entry):
    """What the weather forecast says of one day at a place, as the grower read it: at least one temperature."""

    kind: ClassVar[str] = "forecast"
    place: PlaceId
    day: date
    night_c: TempC | None = None  # lowest of the night that begins on that day
    day_c: Annotated[TempC | None, Field(validate_default=True)] = None  # highest of the day

    @field_validator("day_c")
    @classmethod
    def _says_something(cls, day_c: float | None, found: ValidationInfo) -> float | None:
        if day_c is None and found.data.get("night_c", 0) is None:
            raise ValueError("nothing was forecast; give the night, the day or both")
        return day_c


class SupplyFertiliser(Entry):
    """A fertiliser the grower has, by its label."""

    kind: ClassVar[str] = "fertiliser"
    name: Name
    n_pct: Annotated[float, Field(ge=0, le=100)]
    p2o5_pct: Annotated[float, Field(ge=0, le=100)]
    k2o_pct: Annotated[float, Field(ge=0, le=100)]
    label_rate_g_per_l: Annotated[float, Field(gt=0, le=20)] | None = None
    ec_per_100_ppm: Annotated[float, Field(gt=0, le=2)] | None = None


class SupplyWater(Entry):
    """A water the grower uses, by its conductivity and what else is known of it."""

    kind: ClassVar[str] = "water"
    name: Name
    ec_ms_cm: Annotated[float, Field(ge=0, le=5)]
    alkalinity_mg_l: AlkalinityMgL | None = None  # as calcium carbonate
    ph: Ph | None = None
    water_kind: Literal["tap", "rain", "ro", "softened", "mixed"] | None = None  # a name of water_kinds.toml


class SideTaken(Entry):
    """The side the grower takes in a conflict of the trade."""

    kind: ClassVar[str] = "side"
    key: Line
    side: Literal["a", "b"]
    profile: Line | None = None
    plants: tuple[PlantId, ...] | None = None


class _Span(Entry):
    care: PausedCare
    plants: tuple[PlantId, ...] | None = None  # None: the whole collection
    place: PlaceId | None = None


class Paused(_Span):
    """A care pauses from one day up to and including another; yearly ones are month-day pairs."""

    kind: ClassVar[str] = "paused"
    start: date
    until: date | None = None  # None: until resumed
    every_year: bool = False
    start_month_day: MonthDay | None = None  # of a yearly one: a 29 February is kept in other years, too
    until_month_day: MonthDay | None = None


class Resumed(_Span):
    """The pause that runs ends the day before `on`; of a yearly one this year's, unless for good."""

    kind: ClassVar[str] = "resumed"
    for_good: bool = False
    day: date | None = None  # the first day on which it goes on, where that lies ahead


class AwayAdded(Entry):
    """Nobody is there from one day up to and including another."""

    kind: ClassVar[str] = "away"
    start: date
    until: date
    source: Line = ""  # where it was read from, '' when typed


class AwayEnded(Entry):
    """The absence that runs or lies ahead ends the day before `on` (entry: which one)."""

    kind: ClassVar[str] = "away-ended"
    entry: int


class RoundMoved(Entry):
    """The care day `start` is done on `to` instead."""

    kind: ClassVar[str] = "round-moved"
    start: date
    to: date


class RoundsTaken(Entry):
    """Care days that were proposed are taken: their dates, and who is brought over by one early wetting."""

    kind: ClassVar[str] = "rounds-taken"
    dates: tuple[date, ...]  # gone by wherever a window holds one, before the weekdays
    ahead: bool = (
        False  # of two dates in a window the one after which the next windows hold one; else nearest due
    )
    plants: tuple[PlantId, ...] = ()
    days: tuple[date, ...] = ()  # the early day of each plant, in the same order

    @model_validator(mode="after")
    def _check_days(self) -> RoundsTaken:
        if len(self.days) != len(self.plants):
            raise ValueError(f"{len(self.plants)} plants have {len(self.days)} days; give one day a plant")
        return self


class Undone(Entry):
    """A whole command is taken back."""

    kind: ClassVar[str] = "undone"
    command: int


class Amended(Entry):
    """Fields of one earlier entry are put right; `on` of the entry itself by `on_day`."""

    kind: ClassVar[str] = "amended"
    entry: int
    changes: Annotated[dict[str, object], AfterValidator(finite)] = Field(default_factory=dict)
    on_day: date | None = None
