"""The entries a grower can write, as checked models; what they mean is decided by the timeline's fold."""

from __future__ import annotations

from datetime import date
from typing import Annotated, ClassVar, Literal

from pydantic import BaseModel, ConfigDict, Field

__all__ = [
    "KINDS",
    "AidSet",
    "Amended",
    "AwayAdded",
    "AwayEnded",
    "BloomSet",
    "ClockConfirmed",
    "CollectionStarted",
    "Done",
    "Entry",
    "Excepted",
    "GateSet",
    "Left",
    "Missed",
    "MonthRow",
    "MovePlanned",
    "Moved",
    "Observed",
    "Parted",
    "Paused",
    "PlaceAdded",
    "PlaceChanged",
    "PlantAdded",
    "PlantEntry",
    "Potted",
    "PottingPlanned",
    "QuarantineSet",
    "Readings",
    "ReadingsDay",
    "Renamed",
    "ReservoirSet",
    "Resumed",
    "Retired",
    "RoundMoved",
    "SettingChanged",
    "SideTaken",
    "SpikeSet",
    "SupplyFertiliser",
    "SupplyWater",
    "Undone",
    "Weighed",
]

PlantId = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]{0,39}$")]
PlaceId = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]{0,39}$")]
Text = Annotated[str, Field(max_length=2000)]
Name = Annotated[str, Field(min_length=1, max_length=80)]
SizeCm = Annotated[float, Field(ge=3, le=60)]  # top diameter of the pot [cm]
Count = Annotated[int, Field(ge=0, le=400)]
LengthMm = Annotated[float, Field(ge=0, le=2000)]
TempC = Annotated[float, Field(ge=-30, le=55)]
RhPct = Annotated[float, Field(ge=1, le=100)]
LightMol = Annotated[float, Field(ge=0, le=70)]
Air = Literal["still", "room", "gentle", "breezy", "windy"]
Felt = Literal["parched", "right", "damp"]
StageName = Literal["rootless", "new-tips", "rooting-in", "established"]
Flowering = Literal["none", "in-spike", "in-bloom", "spent", "terminal-spike"]
AidName = Literal["cloth", "moss-collar", "wrap", "stake", "shade"]
PausedCare = Literal["watering", "feeding", "flushing", "moistening", "inspection", "all"]


class Entry(BaseModel):
    """One line of the journal before it is written; `on` is the day the thing happened or was announced."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)
    kind: ClassVar[str] = ""
    on: date


class PlantEntry(Entry):
    """An entry about one plant, named by the id it has when the entry is written."""

    plant: PlantId


class CollectionStarted(Entry):
    """The collection itself: where it stands and whose days it keeps."""

    kind: ClassVar[str] = "collection"
    name: Name
    latitude: Annotated[float, Field(ge=-66, le=66)]  # [degrees north]
    longitude: Annotated[float, Field(ge=-180, le=180)]  # [degrees east]
    elevation_m: Annotated[float, Field(ge=-430, le=5000)] = 0.0
    timezone: str = "UTC"


class SettingChanged(Entry):
    """One setting of the collection."""

    kind: ClassVar[str] = "setting"
    key: str
    value: str


class ClockConfirmed(Entry):
    """The grower says that the clock is right after all."""

    kind: ClassVar[str] = "clock-confirmed"


class MonthRow(BaseModel):
    """One month's means at a place."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)
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
    place_kind: str
    name: Name | None = None


class PlaceChanged(_PlaceFields):
    """What changed at a place; absent fields stay."""

    kind: ClassVar[str] = "place-changed"
    place_kind: str | None = None
    name: Name | None = None


class ReadingsDay(BaseModel):
    """One day of a logger: minimum, mean and maximum of what it measured."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)
    day: date
    temp_min_c: TempC | None = None
    temp_mean_c: TempC | None = None
    temp_max_c: TempC | None = None
    rh_min_pct: RhPct | None = None
    rh_mean_pct: RhPct | None = None
    rh_max_pct: RhPct | None = None
    medium_min_c: TempC | None = None
    medium_mean_c: TempC | None = None


class Readings(Entry):
    """Days of readings of one place."""

    kind: ClassVar[str] = "readings"
    place: PlaceId
    days: tuple[ReadingsDay, ...]


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
    """A water the grower uses, by its conductivity."""

    kind: ClassVar[str] = "water"
    name: Name
    ec_ms_cm: Annotated[float, Field(ge=0, le=5)]


class SideTaken(Entry):
    """The side the grower takes in a conflict of the trade."""

    kind: ClassVar[str] = "side"
    key: str
    side: Literal["a", "b"]
    profile: str | None = None
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


class Resumed(_Span):
    """The pause that runs ends the day before `on`; of a yearly one this year's, unless for good."""

    kind: ClassVar[str] = "resumed"
    for_good: bool = False


class AwayAdded(Entry):
    """Nobody is there from one day up to and including another."""

    kind: ClassVar[str] = "away"
    start: date
    until: date
    source: str = ""  # where it was read from, '' when typed


class AwayEnded(Entry):
    """The absence that runs or lies ahead ends the day before `on` (entry: which one)."""

    kind: ClassVar[str] = "away-ended"
    entry: int


class RoundMoved(Entry):
    """The care day `start` is done on `to` instead."""

    kind: ClassVar[str] = "round-moved"
    start: date
    to: date


class Undone(Entry):
    """A whole command is taken back."""

    kind: ClassVar[str] = "undone"
    command: int


class Amended(Entry):
    """Fields of one earlier entry are put right; `on` of the entry itself by `on_day`."""

    kind: ClassVar[str] = "amended"
    entry: int
    changes: dict[str, object] = {}
    on_day: date | None = None


class PlantAdded(PlantEntry):
    """A plant comes into the collection; what is unknown stays None."""

    kind: ClassVar[str] = "added"
    name: Name | None = None
    profile: str | None = None
    medium: str | None = None
    container: str | None = None
    size_cm: SizeCm | None = None
    place: PlaceId | None = None
    came: date | None = None
    potted: date | None = None
    watered: date | None = None
    stage: StageName | None = None
    roots: Count | None = None
    longest_mm: LengthMm | None = None
    tips: Count | None = None
    leaves: Count | None = None
    flowering: Flowering | None = None
    aids: tuple[AidName, ...] = ()
    on_mother: PlantId | None = None
    note: Text | None = None
    prior_mean: float | None = None  # ln of the factor that neighbours taught (models K4)
    prior_sd: float | None = None


class Renamed(PlantEntry):
    """A plant gets another id, another display name, or both."""

    kind: ClassVar[str] = "renamed"
    to: PlantId | None = None
    name: Name | None = None


class Retired(PlantEntry):
    """A plant leaves the collection."""

    kind: ClassVar[str] = "retired"
    because: Literal["lost", "given-away", "merged"]
    into: PlantId | None = None
    note: Text | None = None


class Done(PlantEntry):
    """A care carried out; `task` is the task it answers when that was said."""

    kind: ClassVar[str] = "done"
    care: Literal["watering", "refilling", "feeding", "flushing", "moistening", "inspection"]
    felt: Felt | None = None
    weight_g: Annotated[float, Field(gt=0, le=60000)] | None = None
    ec_ms_cm: Annotated[float, Field(ge=0, le=20)] | None = None
    task: str | None = None
    aid: AidName | None = None
    rain: bool = False


class Left(PlantEntry):
    """Looked at and not needed."""

    kind: ClassVar[str] = "left"
    care: Literal["watering", "refilling", "feeding", "flushing", "moistening", "inspection"]
    felt: Felt = "damp"
    again_days: Annotated[int, Field(ge=1, le=60)] | None = None
    task: str | None = None
    aid: AidName | None = None


class Excepted(PlantEntry):
    """Named by `done --round --except`: the task was not done that day."""

    kind: ClassVar[str] = "excepted"
    task: str


class Missed(PlantEntry):
    """What was open, overdue or assumed at the end of the chain did not happen."""

    kind: ClassVar[str] = "missed"
    care: Literal["watering", "moistening"] = "watering"


class Observed(PlantEntry):
    """What was seen; absent fields change nothing."""

    kind: ClassVar[str] = "observed"
    roots: Count | None = None
    longest_mm: LengthMm | None = None
    tips: Count | None = None
    leaves: Count | None = None
    firmness: Literal["firm", "limp", "wrinkled"] | None = None
    growths: Count | None = None
    flowering: Flowering | None = None
    stage: StageName | None = None
    seen: str | None = None  # a pest of pests.toml, 'rot' or 'virus'
    where: Literal["crown", "leaf", "root"] | None = None
    shows_unknown: bool = False
    note: Text | None = None
    photo: str | None = None  # file name in the photos folder
    task: str | None = None


class _Pot(PlantEntry):
    medium: str
    container: str
    size_cm: SizeCm | None = None


class Potted(_Pot):
    """Potting or repotting: day 0 of a new potting."""

    kind: ClassVar[str] = "potted"
    watered: bool = True
    pruned: bool = False
    filled: bool = False
    prior_mean: float | None = None
    prior_sd: float | None = None


class PottingPlanned(_Pot):
    """A potting announced for a day ahead; nothing changes until it is confirmed."""

    kind: ClassVar[str] = "potting-planned"
    day: date


class Moved(PlantEntry):
    """A plant stands at another place from that day on."""

    kind: ClassVar[str] = "moved"
    place: PlaceId
    prior_mean: float | None = None
    prior_sd: float | None = None


class MovePlanned(PlantEntry):
    """A move announced for a day ahead; nothing changes until it is confirmed."""

    kind: ClassVar[str] = "move-planned"
    place: PlaceId
    day: date


class AidSet(PlantEntry):
    """An aid is given or taken off."""

    kind: ClassVar[str] = "aid"
    aid: AidName
    off: bool = False


class ReservoirSet(PlantEntry):
    """A reservoir is emptied on purpose or filled again."""

    kind: ClassVar[str] = "reservoir"
    to: Literal["empty", "filled"]


class QuarantineSet(PlantEntry):
    """A plant is set apart until a day on which it is asked, or the quarantine ends."""

    kind: ClassVar[str] = "quarantine"
    until: date | None = None
    end: bool = False


class GateSet(PlantEntry):
    """A feeding gate is held open by hand, or left to itself again."""

    kind: ClassVar[str] = "gate"
    gate: str
    to: Literal["open", "auto"]


class BloomSet(PlantEntry):
    """Whether a spike may run."""

    kind: ClassVar[str] = "bloom"
    to: Literal["allow", "not-yet"]


class SpikeSet(PlantEntry):
    """What is done with a spike."""

    kind: ClassVar[str] = "spike"
    to: Literal["keep", "cut", "let-run"]


class Parted(PlantEntry):
    """A keiki or basal shoot leaves its mother and is potted by itself."""

    kind: ClassVar[str] = "parted"
    medium: str
    container: str
    size_cm: SizeCm | None = None
    place: PlaceId | None = None
    watered: bool = True


class Weighed(PlantEntry):
    """The pot was weighed; `mark` says that it was full or dry."""

    kind: ClassVar[str] = "weighed"
    weight_g: Annotated[float, Field(gt=0, le=60000)]
    mark: Literal["full", "dry"] | None = None


_ALL: tuple[type[Entry], ...] = (
    CollectionStarted, SettingChanged, ClockConfirmed, PlaceAdded, PlaceChanged, Readings, SupplyFertiliser,
    SupplyWater, SideTaken, Paused, Resumed, AwayAdded, AwayEnded, RoundMoved, Undone, Amended, PlantAdded,
    Renamed, Retired, Done, Left, Excepted, Missed, Observed, Potted, PottingPlanned, Moved, MovePlanned, AidSet,
    ReservoirSet, QuarantineSet, GateSet, BloomSet, SpikeSet, Parted, Weighed,
)  # fmt: skip
KINDS: dict[str, type[Entry]] = {model.kind: model for model in _ALL}
