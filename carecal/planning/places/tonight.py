"""Who is below a limit tonight, by the temperature of its medium; it plans nothing and moves nobody."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from carecal.errors import Refused
from carecal.horticulture.air import pressure
from carecal.horticulture.rounding import significant
from carecal.planning.places.known_days import wet_medium
from carecal.planning.places.safe_starts import medium_on, night_air
from carecal.planning.places.warmth import warm_night_c
from carecal.planning.rhythm.situations import situation_at
from carecal.planning.rhythm.terms import profile_of
from carecal.planning.steps.case import limits_for

if TYPE_CHECKING:
    from collections.abc import Iterable

    from carecal.collection.plants import PlantState
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["ColdNight", "night_row", "order_of", "tonight"]

_ORDER = {"urgent": 0, "out": 1, "reservoir": 2, "night": 3}
LOWEST_C, HIGHEST_C = -40.0, 45.0  # of a night that is given [°C]


@dataclass(frozen=True, slots=True)
class ColdNight:
    """One plant whose medium or air falls under a limit tonight.

    Attributes:
        plant: Plant number.
        name: Its name.
        place: Where it stands.
        night_c: Air of the night. [°C]
        medium_c: Medium of the night; the air where nothing is known of its pot. [°C]
        limit_c: The limit it is under. [°C]
        limit: Which limit: urgent, out, reservoir or night.
        text: What may be done, in one sentence.
    """

    plant: int
    name: str
    place: str
    night_c: float
    medium_c: float
    limit_c: float
    limit: str
    text: str

    @property
    def below_c(self) -> float:
        """How far the medium is under the limit. [K]."""
        return self.limit_c - self.medium_c


def tonight(
    plant_planners: Iterable[PlantPlanner], low_c: float | None = None, place: str | None = None
) -> list[ColdNight]:
    """Return the plants under a limit tonight, the urgent first, then the furthest below.

    Args:
        plant_planners: The plants.
        low_c: Lowest temperature that is forecast; it holds where nothing is heated. None: normals and readings. [°C]
        place: The one place that `low_c` holds for, and that is asked about; None: all.

    Raises:
        Refused: `low_c` is no temperature of a night in degrees Celsius.

    Source: models A5, A6; limits of profiles and steps.toml.
    """
    if low_c is not None and not LOWEST_C <= low_c <= HIGHEST_C:
        raise Refused(
            f"a night of {low_c:g} °C; allowed are {LOWEST_C:g} to {HIGHEST_C:g}, in degrees Celsius"
        )
    found = []
    for plant_planner in plant_planners:
        if plant_planner.line.retired is not None:
            continue
        state = plant_planner.line.state_at(plant_planner.context.as_of)
        if state.place is None or (place is not None and state.place != place):
            continue
        cold = _cold(plant_planner, state, state.place, low_c, is_named=place is not None)
        if cold is not None:
            found.append(cold)
    return sorted(found, key=order_of)


def order_of(cold: ColdNight) -> tuple[int, float, int]:
    """Return where a plant stands among those under a limit: the urgent first, then the furthest below."""
    return _ORDER[cold.limit], -cold.below_c, cold.plant


def night_row(cold: ColdNight, plant: str) -> dict[str, Any]:
    """Return a plant under a limit as plain values.

    Args:
        cold: What it is under.
        plant: The plant's id.
    """
    return {
        "plant": plant,
        "name": cold.name,
        "place": cold.place,
        "night_c": significant(cold.night_c, 4),
        "medium_c": significant(cold.medium_c, 4),
        "limit": cold.limit,
        "limit_c": significant(cold.limit_c, 4),
        "below_c": significant(cold.below_c, 4),
        "text": cold.text,
    }


def _cold(
    plant_planner: PlantPlanner, state: PlantState, place: str, low_c: float | None, *, is_named: bool
) -> ColdNight | None:
    context = plant_planner.context
    temperatures = _temperatures(
        context, state, place, low_c if is_named or _is_unheated(context, place) else None
    )
    if temperatures is None:
        return None
    night, medium = temperatures
    for limit_c, limit, text in _limits(plant_planner, state, place):
        if (night if limit == "out" else medium) < limit_c:  # who comes in is told by the air, as the step is
            return ColdNight(
                plant_planner.line.number, plant_planner.line.name, place, night, medium, limit_c, limit, text
            )
    return None


def _limits(plant_planner: PlantPlanner, state: PlantState, place: str) -> list[tuple[float, str, str]]:
    """Return the limits of a plant with what may be done, the worst first."""
    profile = profile_of(state, plant_planner.context.catalog)
    found = [
        (profile.urgent_below_c, "urgent", "bring it where it is warm today; no water until it has warmed up")
    ]
    if _is_unheated(plant_planner.context, place):
        found.append((profile.in_night_c, "out", "bring it in before the night"))
    if state.reservoir == "filled":
        step = plant_planner.context.catalog.steps["emptying-the-reservoir"]
        warm_c = warm_night_c(profile, state, plant_planner.context, plant_planner.line.number)
        limit = limits_for(step, warm_c).night_c or 0.0
        found.append((limit, "reservoir", "empty its reservoir: cold wet stones rot roots"))
    if not _rests_in_the_cold(plant_planner):
        found.append((profile.night_min_c, "night", "keep it drier, or a little warmer at the pot"))
    return found


def _rests_in_the_cold(plant_planner: PlantPlanner) -> bool:
    """Return whether the cold of the night is that of its rest: what a dry rest is made of is no trouble."""
    stretches = plant_planner.stretches
    return bool(stretches) and situation_at(stretches, plant_planner.context.as_of).rest_water is not None


def _temperatures(
    context: PlanContext, state: PlantState, place: str, low_c: float | None
) -> tuple[float, float] | None:
    """Return air and medium of tonight: by a low that is given, else by readings and normals. [°C]."""
    air = context.air(place, context.as_of)
    night = night_air(context, place, context.as_of, context.as_of)
    known = state.container in context.catalog.containers and state.container is not None
    if low_c is None:
        if night is None:
            return None
        medium = (
            medium_on(context, place, state.container or "", context.as_of, context.as_of) if known else None
        )
        return night, medium[1] if medium is not None else night
    if air is None or not known:
        return low_c, low_c
    cooling = context.catalog.containers[state.container or ""].cooling[air.air_on(context.as_of)]
    ea, kpa = air.at("ea_kpa", context.as_of), pressure(context.facts.elevation_m)
    return low_c, wet_medium(low_c, ea, kpa, cooling)


def _is_unheated(context: PlanContext, place: str) -> bool:
    facts = context.facts.places.get(place)
    if facts is None:
        return False
    kind = context.catalog.place_kinds[facts.spec_at(context.as_of).place_kind]
    return bool(kind.outdoors) or kind.heated is False
