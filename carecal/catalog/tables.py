"""The catalog: every profile and shared table in typed rows, by name; it reads and checks nothing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from carecal.catalog.growing import AirClass, Aspect, Container, Medium, PlaceKind, ReferenceRow
from carecal.catalog.profile import Profile
from carecal.catalog.working import (
    Aid,
    Care,
    Caution,
    FeedingGate,
    FeedingRhythm,
    Pest,
    Side,
    Source,
    Stage,
    State,
    Step,
    Technique,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

__all__ = [
    "ROWS",
    "Aid",
    "AirClass",
    "Aspect",
    "Care",
    "Catalog",
    "Caution",
    "Container",
    "FeedingGate",
    "FeedingRhythm",
    "Medium",
    "Pest",
    "PlaceKind",
    "Profile",
    "ReferenceRow",
    "Side",
    "Source",
    "Stage",
    "State",
    "Step",
    "Technique",
    "references_of",
    "surface_days_of",
]

# Tables with one row a name: attribute of the catalog → class of its rows, whose first field is the name.
ROWS: dict[str, type[Any]] = {
    "media": Medium,
    "containers": Container,
    "air_classes": AirClass,
    "stages": Stage,
    "states": State,
    "place_kinds": PlaceKind,
    "aspects": Aspect,
    "cares": Care,
    "techniques": Technique,
    "aids": Aid,
    "cautions": Caution,
    "pests": Pest,
    "feeding_gates": FeedingGate,
    "steps": Step,
    "sides": Side,
    "sources": Source,
}


@dataclass(frozen=True, slots=True)
class Catalog:
    """All that profiles and shared tables say, the grower's own files included.

    Attributes:
        pairs: Allowed pairs of medium and container.
        references: By medium and container, ascending sizes [cm] with days; size 0 holds for every size.
        reference_rows: The same with roles and sources, in the order of the file.
        surface_days: Days between moistenings of a bare surface of moss under reference conditions.
        feeding_rhythm: By daily light, from the brightest.
        digest: SHA-256 over every file read, as hexadecimal digits.
    """

    media: Mapping[str, Medium]
    containers: Mapping[str, Container]
    pairs: frozenset[tuple[str, str]]
    references: Mapping[tuple[str, str], tuple[tuple[float, float], ...]]
    reference_rows: tuple[ReferenceRow, ...]
    surface_days: float
    air_classes: Mapping[str, AirClass]
    stages: Mapping[str, Stage]
    states: Mapping[str, State]
    place_kinds: Mapping[str, PlaceKind]
    aspects: Mapping[str, Aspect]
    cares: Mapping[str, Care]
    techniques: Mapping[str, Technique]
    aids: Mapping[str, Aid]
    cautions: Mapping[str, Caution]
    pests: Mapping[str, Pest]
    feeding_gates: Mapping[str, FeedingGate]
    feeding_rhythm: tuple[FeedingRhythm, ...]
    steps: Mapping[str, Step]
    sides: Mapping[str, Side]
    sources: Mapping[str, Source]
    profiles: Mapping[str, Profile]
    digest: str

    def __hash__(self) -> int:
        return hash(self.digest)


def references_of(rows: Iterable[ReferenceRow]) -> dict[tuple[str, str], tuple[tuple[float, float], ...]]:
    """Sizes [cm] and days of each medium and container, ascending, without the bare surface."""
    found: dict[tuple[str, str], list[tuple[float, float]]] = {}
    for row in rows:
        if row.role != "moistening":
            found.setdefault((row.medium, row.container), []).append((row.size_cm, row.days))
    return {pair: tuple(sorted(days)) for pair, days in found.items()}


def surface_days_of(rows: Iterable[ReferenceRow]) -> float | None:
    """Days between moistenings of a bare surface of moss, None if no row says."""
    return next((row.days for row in rows if row.role == "moistening"), None)
