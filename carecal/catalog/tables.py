"""The catalog: every profile and shared table in typed rows, by name; it reads and checks nothing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from carecal.catalog.growing import AirClass, Aspect, Container, Medium, PlaceKind, ReferenceRow
from carecal.catalog.profile import Profile
from carecal.catalog.season import (
    AfterPotting,
    BudHazard,
    LightClass,
    RepotHold,
    Rest,
    RestWater,
    SeasonRatio,
    SpikeStep,
    SunShade,
    WaterKind,
    WaterLimit,
    WeatherLimit,
)
from carecal.catalog.sick import (
    Asking,
    Firmness,
    LosingGround,
    PestCycle,
    RotCourse,
    StageLook,
    Treatment,
    Try,
    Wrap,
)
from carecal.catalog.working import (
    Aid,
    Care,
    Caution,
    FeedingGate,
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
    "AfterPotting",
    "Aid",
    "AirClass",
    "Asking",
    "Aspect",
    "BudHazard",
    "Care",
    "Catalog",
    "Caution",
    "Container",
    "FeedingGate",
    "Firmness",
    "LightClass",
    "LosingGround",
    "Medium",
    "Pest",
    "PestCycle",
    "PlaceKind",
    "Profile",
    "ReferenceRow",
    "RepotHold",
    "Rest",
    "RestWater",
    "RotCourse",
    "SeasonRatio",
    "Side",
    "Source",
    "SpikeStep",
    "Stage",
    "StageLook",
    "State",
    "Step",
    "SunShade",
    "Technique",
    "Treatment",
    "Try",
    "WaterKind",
    "WaterLimit",
    "WeatherLimit",
    "Wrap",
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
    "rot_courses": RotCourse,
    "treatments": Treatment,
    "pest_cycles": PestCycle,
    "wraps": Wrap,
    "firmness": Firmness,
    "losing_ground": LosingGround,
    "tries": Try,
    "stage_looks": StageLook,
    "askings": Asking,
    "spike_steps": SpikeStep,
    "bud_hazards": BudHazard,
    "light_classes": LightClass,
    "sun_shades": SunShade,
    "repot_holds": RepotHold,
    "after_potting": AfterPotting,
    "season_ratios": SeasonRatio,
    "water_limits": WaterLimit,
    "water_kinds": WaterKind,
    "rests": Rest,
    "rest_waters": RestWater,
    "weather_limits": WeatherLimit,
}


@dataclass(frozen=True, slots=True)
class Catalog:
    """All that profiles and shared tables say, the grower's own files included.

    Attributes:
        pairs: Allowed pairs of medium and container.
        references: By medium and container, ascending sizes [cm] with days; size 0 holds for every size.
        reference_rows: The same with roles and sources, in the order of the file.
        surface_days: Days between moistenings of a bare surface of moss under reference conditions.
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
    steps: Mapping[str, Step]
    sides: Mapping[str, Side]
    sources: Mapping[str, Source]
    rot_courses: Mapping[str, RotCourse]
    treatments: Mapping[str, Treatment]
    pest_cycles: Mapping[str, PestCycle]
    wraps: Mapping[str, Wrap]
    firmness: Mapping[str, Firmness]
    losing_ground: Mapping[str, LosingGround]
    tries: Mapping[str, Try]
    stage_looks: Mapping[str, StageLook]
    askings: Mapping[str, Asking]
    spike_steps: Mapping[str, SpikeStep]
    bud_hazards: Mapping[str, BudHazard]
    light_classes: Mapping[str, LightClass]
    sun_shades: Mapping[str, SunShade]
    repot_holds: Mapping[str, RepotHold]
    after_potting: Mapping[str, AfterPotting]
    season_ratios: Mapping[str, SeasonRatio]
    water_limits: Mapping[str, WaterLimit]
    water_kinds: Mapping[str, WaterKind]
    rests: Mapping[str, Rest]
    rest_waters: Mapping[str, RestWater]
    weather_limits: Mapping[str, WeatherLimit]
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
