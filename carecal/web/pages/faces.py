"""The face of a plant in a list: its newest picture, or what mark is drawn of its stage and flowers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from carecal.collection.plants import PlantHistory
    from carecal.web.visit import Visit

__all__ = ["Face", "face_of", "faces_of", "place_names", "plant_names"]


@dataclass(frozen=True, slots=True)
class Face:
    """What stands for a plant in a list.

    Args:
        stage: Its stage, or '' where it is unknown.
        flowering: Whether it is in spike or in bloom, as the tables say it.
        photo: Name of its newest picture; '' where there is none, or where the reader may not see it.
        is_bare: Whether it stands in no medium.
    """

    stage: str
    flowering: str
    photo: str
    is_bare: bool


def faces_of(visit: Visit) -> dict[str, Face]:
    """Return the face of each living plant by its id."""
    return {line.id: face_of(visit, line) for line in visit.timeline.living()}


def place_names(visit: Visit) -> dict[str, str]:
    """Return the name of each place as people say it, by its id."""
    facts = visit.timeline.facts.places
    return {key: place.specs[-1].name or key.replace("-", " ").capitalize() for key, place in facts.items()}


def plant_names(visit: Visit) -> dict[str, str]:
    """Return the name of each plant as its owner typed it, by its id, of those that left too."""
    return {line.id: line.name or line.id for line in visit.timeline.plants.values()}


def face_of(visit: Visit, line: PlantHistory) -> Face:
    """Return the face of one plant; photos are the owner's alone."""
    state = line.latest
    photo = max(line.photos)[1] if line.photos and visit.session else ""
    return Face(state.stage or "", state.flowering, photo, state.medium in {None, "none"})
