"""Entries about one plant: its coming and going, cares, observations, pottings, states."""

from __future__ import annotations

from datetime import date
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from carecal.collection.entry_base import (
    AidName,
    Count,
    FileName,
    Flowering,
    LengthMm,
    Line,
    Name,
    PlaceId,
    PlantEntry,
    PlantId,
    PpmN,
    SizeCm,
    StageName,
    Text,
)

__all__ = [
    "AidSet",
    "BloomSet",
    "FeedStrengthSet",
    "GateSet",
    "MovePlanned",
    "Moved",
    "Observed",
    "Parted",
    "PlantAdded",
    "Potted",
    "PottingPlanned",
    "QuarantineSet",
    "Renamed",
    "ReservoirSet",
    "Retired",
    "SpikeSet",
    "StoodBeside",
    "Treated",
    "Tried",
    "Weighed",
]


class PlantAdded(PlantEntry):
    """A plant comes into the collection; what is unknown stays None."""

    kind: ClassVar[str] = "added"
    name: Name | None = None
    profile: Line | None = None
    medium: Line | None = None
    container: Line | None = None
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
    plug: bool | None = None  # whether a nursery plug stands in its medium; None: nobody looked
    reservoir: Literal["filled", "empty"] | None = None  # as it stands; None: as its stage asks
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


class Observed(PlantEntry):
    """What was seen; absent fields change nothing."""

    kind: ClassVar[str] = "observed"
    roots: Count | None = None
    longest_mm: LengthMm | None = None
    newest_mm: LengthMm | None = None  # longest root grown since the last potting or wrapping
    tips: Count | None = None
    leaves: Count | None = None
    firmness: Literal["firm", "soft", "wrinkled", "folded", "limp"] | None = (
        None  # limp is soft, as older journals say it
    )
    growths: Count | None = None
    flowering: Flowering | None = None
    spike_mm: LengthMm | None = None
    stage: StageName | None = None
    crown: Literal["lost", "shoot"] | None = None  # lost to rot; a shoot from the base after that
    rest: Literal["begun", "goes-on", "over"] | None = None  # by its sign, or asked
    plug: bool | None = None  # whether a nursery plug stands in its medium
    seen: Line | None = None  # a pest of pests.toml, 'rot' or 'virus'
    where: Literal["crown", "stem", "leaf", "root"] | None = None
    shows_unknown: bool = False
    note: Text | None = None
    photo: FileName | None = None  # file name in the photos folder
    task: Line | None = None


class _Pot(PlantEntry):
    medium: Line
    container: Line
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
    gate: Line
    to: Literal["open", "auto"]


class BloomSet(PlantEntry):
    """Whether a spike may run."""

    kind: ClassVar[str] = "bloom"
    to: Literal["allow", "not-yet"]


class SpikeSet(PlantEntry):
    """What is done with a spike."""

    kind: ClassVar[str] = "spike"
    to: Literal["keep", "cut", "let-run"]


class Treated(PlantEntry):
    """What was done against a pest or rot: no product, no dose."""

    kind: ClassVar[str] = "treated"
    did: Literal["cut", "wiped", "washed", "soaked", "moved-apart", "by-label"]
    against: Line | None = None  # a pest of pests.toml, or 'rot'
    note: Text | None = None


class StoodBeside(PlantEntry):
    """The plant stood beside one on which something was found; it is looked over itself, unless that was a mistake."""

    kind: ClassVar[str] = "beside"
    pest: Line  # a pest of pests.toml, or 'rot'
    where: Literal["crown", "stem", "leaf", "root"] | None = None
    withdrawn: Literal[True] | None = None  # the find was put right to be none


class Tried(PlantEntry):
    """What is tried on a plant that loses ground, by its name in tries.toml; nothing: it goes on as it is."""

    kind: ClassVar[str] = "tried"
    what: Line | None = None
    note: Text | None = None


class FeedStrengthSet(PlantEntry):
    """How strong this plant is fed; nothing: as its kind and stage ask."""

    kind: ClassVar[str] = "feed-strength"
    ppm_n: PpmN | None = None


class Parted(PlantEntry):
    """A keiki or basal shoot leaves its mother and is potted by itself."""

    kind: ClassVar[str] = "parted"
    medium: Line
    container: Line
    size_cm: SizeCm | None = None
    place: PlaceId | None = None
    watered: bool = True


class Weighed(PlantEntry):
    """The pot was weighed; `mark` says that it was full or dry."""

    kind: ClassVar[str] = "weighed"
    weight_g: Annotated[float, Field(gt=0, le=60000)]
    mark: Literal["full", "dry"] | None = None
