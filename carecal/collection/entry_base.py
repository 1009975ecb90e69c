"""What all entries share: the base models and the checked types of their fields; it holds no entry of its own."""

from __future__ import annotations

import json
import unicodedata
from datetime import date
from typing import Annotated, ClassVar, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field

from carecal.collection.entry_limits import one_line

__all__ = [
    "AidName",
    "Air",
    "AlkalinityMgL",
    "Care",
    "Count",
    "Entry",
    "Felt",
    "FileName",
    "Flowering",
    "LengthMm",
    "LightMol",
    "Line",
    "Name",
    "PausedCare",
    "Ph",
    "PlaceId",
    "PlantEntry",
    "PlantId",
    "PpmN",
    "RhPct",
    "Row",
    "SizeCm",
    "StageName",
    "TempC",
    "Text",
    "clean_text",
    "finite",
]

LONGEST_LINE = 400  # characters of any field on one line; our choice, because an address may be that long


def clean_text(value: object) -> object:
    """Return free text without what no calendar may hold; line breaks become line feeds, tabs stay.

    Source: our choice, because a single control character makes strict readers refuse a whole calendar.
    """
    if not isinstance(value, str):
        return value
    unbroken = value.replace("\r\n", "\n").replace("\r", "\n")
    return "".join(s for s in unbroken if s in "\n\t" or unicodedata.category(s) not in {"Cc", "Cs"})


def finite(values: dict[str, object]) -> dict[str, object]:
    """Return values whose numbers JSON can hold.

    Raises:
        ValueError: When one is infinite or no number.
    """
    json.dumps(values, default=str, allow_nan=False)
    return values


def _file_name(text: str) -> str:
    if text.startswith(".") or "/" in text or "\\" in text:
        raise ValueError("not a plain file name; no folders and no leading dot")
    return one_line(text)


PlantId = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]{0,39}$")]
PlaceId = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]{0,39}$")]
Text = Annotated[str, BeforeValidator(clean_text), Field(max_length=2000)]
Name = Annotated[str, Field(min_length=1, max_length=80), AfterValidator(one_line)]
Line = Annotated[str, Field(max_length=LONGEST_LINE), AfterValidator(one_line)]
FileName = Annotated[str, Field(min_length=1, max_length=200), AfterValidator(_file_name)]
SizeCm = Annotated[float, Field(ge=3, le=60)]  # top diameter of the pot [cm]
Count = Annotated[int, Field(ge=0, le=400)]
LengthMm = Annotated[float, Field(ge=0, le=2000)]
TempC = Annotated[float, Field(ge=-30, le=55)]
RhPct = Annotated[float, Field(ge=1, le=100)]
LightMol = Annotated[float, Field(ge=0, le=70)]
PpmN = Annotated[float, Field(ge=0, le=400)]
AlkalinityMgL = Annotated[float, Field(ge=0, le=1000)]  # as calcium carbonate [mg/L]
Ph = Annotated[float, Field(ge=0, le=14)]
Air = Literal["still", "room", "gentle", "breezy", "windy"]
Felt = Literal["parched", "right", "damp"]
StageName = Literal["rootless", "new-tips", "rooting-in", "established"]
Flowering = Literal["none", "in-spike", "in-bloom", "spent", "terminal-spike"]
AidName = Literal["cloth", "moss-collar", "wrap", "stake", "shade"]
PausedCare = Literal["watering", "feeding", "flushing", "moistening", "inspection", "all"]
Care = Literal["watering", "refilling", "feeding", "flushing", "moistening", "inspection"]


class Row(BaseModel):
    """A frozen, checked row that refuses unknown keys and numbers that are not finite."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True, allow_inf_nan=False)


class Entry(Row):
    """One line of the journal before it is written; `on` is the day the thing happened or was announced."""

    kind: ClassVar[str] = ""
    on: date


class PlantEntry(Entry):
    """An entry about one plant, named by the id it has when the entry is written."""

    plant: PlantId
