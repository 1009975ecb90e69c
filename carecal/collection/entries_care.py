"""Entries on care that was carried out, left or missed: those of every day, so that they are read by themselves."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from carecal.collection.entry_base import AidName, Care, Felt, Line, PlantEntry, PpmN, Text

__all__ = ["Done", "Excepted", "Left", "Missed"]


class Done(PlantEntry):
    """A care carried out; `task` is the task it answers when that was said.

    `unseen` says that it was ticked with the whole round where a look was asked: the plant was wetted, but nobody
    said that it was due. `ppm_n` is the strength that was poured, where it was not the one the plant asked for.
    """

    kind: ClassVar[str] = "done"
    care: Care
    felt: Felt | None = None
    weight_g: Annotated[float, Field(gt=0, le=60000)] | None = None
    ec_ms_cm: Annotated[float, Field(ge=0, le=20)] | None = None
    task: Line | None = None
    aid: AidName | None = None
    rain: bool = False
    unseen: Literal[True] | None = None
    ppm_n: PpmN | None = None
    note: Text | None = None  # typed into the to-do that was ticked


class Left(PlantEntry):
    """Looked at and not needed."""

    kind: ClassVar[str] = "left"
    care: Care
    felt: Felt = "damp"
    again_days: Annotated[int, Field(ge=1, le=60)] | None = None
    task: Line | None = None
    aid: AidName | None = None


class Excepted(PlantEntry):
    """Named by `done --round --except`: the task was not done that day."""

    kind: ClassVar[str] = "excepted"
    task: Line


class Missed(PlantEntry):
    """What was open, overdue or assumed at the end of the chain did not happen."""

    kind: ClassVar[str] = "missed"
    care: Literal["watering", "moistening"] = "watering"
