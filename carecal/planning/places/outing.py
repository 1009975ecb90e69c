"""Who may go outdoors for an hour or a day in given air, the weakest first, and when each is back; it plans nothing."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, log
from typing import TYPE_CHECKING

from carecal.errors import Refused
from carecal.horticulture.air import pressure, saturation_vapour_pressure, vapour_pressure_deficit
from carecal.horticulture.drydown import relative_demand
from carecal.planning.places.known_days import wet_medium
from carecal.planning.places.safe_starts import medium_on
from carecal.planning.rhythm.terms import profile_of
from carecal.planning.sick.rot import open_rot
from carecal.wording.sick import rot_place

if TYPE_CHECKING:
    from collections.abc import Iterable

    from carecal.collection.plants import PlantState
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["Outing", "OutingAir", "outing"]

MINUTES_PER_CM = 10.0  # our choice, because a 12 cm pot takes about two hours to follow the air [min/cm]
WIND_SHARE = 1.4  # models D1: how fast exchange grows with wind, per m/s over that of a room's air
ROOM_WIND = 0.1  # models D1 [m/s]
LONGEST_MINUTES = 480  # what cools or dries no sooner sets no limit; our choice, because dusk comes first
FIRST_LIGHT_MINUTES = 120  # our choice, because unhardened leaves burn: two hours in shade at first
DRY_SHARE = 0.15  # our choice, because an outing may take a seventh of the interval, not more
LIGHT_MOL_PER_HOUR = 0.3  # our choice, because shade outdoors gives some 3 to 4 mol in a day
MINUTES_PER_DAY = 1440


@dataclass(frozen=True, slots=True)
class OutingAir:
    """The air outdoors: temperature [°C], relative humidity [%], class of air movement."""

    temp_c: float
    rh_pct: float
    air: str


@dataclass(frozen=True, slots=True)
class Outing:
    """One plant and whether it may go out.

    Attributes:
        plant: Plant number.
        name: Its name.
        stage: Its stage; '' while unknown.
        may_go: Whether it may.
        back_in_minutes: When it is back at the latest; 0 if it stays in. [min]
        medium_c: Where its medium would end in that air. [°C]
        why: What holds it in or brings it back, in one sentence.
    """

    plant: int
    name: str
    stage: str
    may_go: bool
    back_in_minutes: int
    medium_c: float
    why: str


def outing(plant_planners: Iterable[PlantPlanner], temp_c: float, rh_pct: float, air: str) -> list[Outing]:
    """Return who may go out in this air, the weakest first; those who stay in come last.

    Args:
        plant_planners: The plants.
        temp_c: Air outdoors, -30 to 50. [°C]
        rh_pct: Its relative humidity, 1 to 100. [%]
        air: Its movement: still, room, gentle, breezy or windy.

    Raises:
        Refused: a value is no air of the open, or the class of air is unknown.

    Source: models A5, D1-D3; design §3 rule 12: for an outing fragility alone decides the order.
    """
    if not -30 <= temp_c <= 50:
        raise Refused(f"{temp_c:g} °C outdoors; allowed are -30 to 50, in degrees Celsius")
    if not 1 <= rh_pct <= 100:
        raise Refused(f"humidity of {rh_pct:g} %; allowed are 1 to 100")
    given, found = OutingAir(temp_c, rh_pct, air), []
    for plant_planner in plant_planners:
        if plant_planner.line.retired is not None:
            continue
        if air not in plant_planner.context.catalog.air_classes:
            raise Refused(
                f"no air class '{air}'; known are {', '.join(plant_planner.context.catalog.air_classes)}"
            )
        state = plant_planner.line.state_at(plant_planner.context.as_of)
        if state.mother is None and not plant_planner.context.is_outdoors(
            state.place, plant_planner.context.as_of
        ):
            order = plant_planner.context.catalog.stages[state.stage].order if state.stage else 0
            found.append((order, _judge(plant_planner, state, given)))
    found.sort(key=lambda each: (not each[1].may_go, each[0], each[1].back_in_minutes, each[1].plant))
    return [each for _, each in found]


def _judge(plant_planner: PlantPlanner, state: PlantState, given: OutingAir) -> Outing:
    medium = _medium(plant_planner, state, given)
    held = _stays_in(plant_planner, state, given)
    if held:
        return _said(plant_planner, state, medium, 0, held)
    limits = [
        (
            _until_cold(plant_planner, state, given, medium),
            f"its medium nears {_limit(plant_planner, state):.3g} °C",
        ),
        (_until_dry(plant_planner, state, given), "it dries fast in this air"),
        (FIRST_LIGHT_MINUTES, "two hours in the shade at first: its leaves are not hardened"),
    ]
    minutes, why = min(limits, key=lambda each: each[0])
    if minutes == 0:
        return _said(
            plant_planner,
            state,
            medium,
            0,
            f"its medium is under {_limit(plant_planner, state):.3g} °C already where it stands",
        )
    if minutes < 10:
        return _said(
            plant_planner, state, medium, 0, f"too short to be of use: {why} within {max(1, minutes)} minutes"
        )
    return _said(plant_planner, state, medium, minutes, why)


def _said(plant_planner: PlantPlanner, state: PlantState, medium_c: float, minutes: int, why: str) -> Outing:
    return Outing(
        plant_planner.line.number,
        plant_planner.line.name,
        state.stage or "",
        minutes > 0,
        minutes,
        round(medium_c, 1),
        why,
    )


def _stays_in(plant_planner: PlantPlanner, state: PlantState, given: OutingAir) -> str:
    """Return why a plant stays in whatever the time, '' for nothing."""
    profile = profile_of(state, plant_planner.context.catalog)
    if state.is_wrapped:
        return "wrapped: it stays in its own air"
    rot = open_rot(state, plant_planner.context.as_of, plant_planner.context.catalog)
    if rot is not None:
        return f"rot {rot_place(rot.where)}: it stays apart until that is over"
    if state.stage in {None, "rootless"}:
        return "no roots, or not known: moving air would dry it"
    if state.quarantine_since is not None:
        return "in quarantine: apart from the others"
    if state.flowering in {"in-spike", "in-bloom"}:
        return f"{state.flowering.replace('-', ' ')}: swings and wind drop buds"
    if given.temp_c < profile.urgent_below_c:
        return f"{given.temp_c:g} °C is under the {profile.urgent_below_c:g} °C that its kind bears at all"
    if given.temp_c > profile.day_max_c:
        return f"{given.temp_c:g} °C is above the {profile.day_max_c:g} °C that its kind bears"
    return "windy: wait for calmer air" if given.air == "windy" and state.stage == "new-tips" else ""


def _limit(plant_planner: PlantPlanner, state: PlantState) -> float:
    return float(profile_of(state, plant_planner.context.catalog).night_min_c)


def _medium(plant_planner: PlantPlanner, state: PlantState, given: OutingAir) -> float:
    """Return where the medium ends in that air (models A5). [°C]."""
    row = plant_planner.context.catalog.containers.get(state.container or "")
    if row is None:
        return given.temp_c
    ea = saturation_vapour_pressure(given.temp_c) * given.rh_pct / 100
    return wet_medium(
        given.temp_c, ea, pressure(plant_planner.context.facts.elevation_m), row.cooling[given.air]
    )


def _until_cold(plant_planner: PlantPlanner, state: PlantState, given: OutingAir, end_c: float) -> int:
    """Return the minutes until the medium has fallen to its kind's night, from where it is indoors. [min].

    Source: our choice, because a pot follows the air exponentially, sooner in wind and when small.
    """
    limit, day = _limit(plant_planner, state), plant_planner.context.as_of
    if end_c >= limit:
        return LONGEST_MINUTES
    now = medium_on(plant_planner.context, state.place or "", state.container or "", day, day)
    start = now[0] if now is not None else limit
    if start <= limit:
        return 0
    wind = plant_planner.context.catalog.air_classes[given.air].speed_m_s
    pace = MINUTES_PER_CM * (state.size_cm or 12.0) / (1 + WIND_SHARE * max(0.0, wind - ROOM_WIND))
    return int(pace * log((start - end_c) / (limit - end_c)))


def _until_dry(plant_planner: PlantPlanner, state: PlantState, given: OutingAir) -> int:
    """Return the minutes in which a seventh of its interval dries in that air. [min]."""
    context, row = plant_planner.context, plant_planner.context.catalog.containers.get(state.container or "")
    beat = plant_planner.beats.at(context.as_of)
    if row is None or beat is None:
        return LONGEST_MINUTES
    wind = context.catalog.air_classes[given.air].speed_m_s
    demand = relative_demand(
        vapour_pressure_deficit(given.temp_c, given.rh_pct),
        wind,
        row.wind_sensitivity,
        LIGHT_MOL_PER_HOUR * 12,
    )
    days = beat.terms.product * beat.factor / max(demand, 0.05)
    return min(LONGEST_MINUTES, ceil(DRY_SHARE * days * MINUTES_PER_DAY))
