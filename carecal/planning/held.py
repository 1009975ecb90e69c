"""What holds a plant's water back, cold or a dry rest, and whether a careful little is offered all the same."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from carecal.planning.places.weather import day_high
from carecal.planning.rhythm.drying import HELD, Drying
from carecal.planning.rhythm.terms import profile_of

if TYPE_CHECKING:
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["Held", "held_back"]


class Held(NamedTuple):
    """A span without water, in days (ordinals), both ends included.

    Attributes:
        why: 'cold' (the medium is under what its kind bears) or 'rest' (a dry rest in cold nights).
        first: Its first day.
        last: Its last day; None where it lasts to the end of the plan.
        limit_c: The night under which nothing is wetted. [°C]
        mild_c: A day of so much is mild enough for a little water. [°C]
        is_offered: Whether a careful little is offered on the plan's day: it has dried, and the day is mild.
    """

    why: str
    first: int
    last: int | None
    limit_c: float
    mild_c: float
    is_offered: bool


def held_back(plant_planner: PlantPlanner) -> Held | None:
    """Return the span without water that holds the plan's day, else the next one ahead; None without any.

    Source: weather_limits.toml cold-medium, rest_waters.toml; a mild day is as warm as the nights its kind is made for:
    our choice, because roots then take up what they get.
    """
    context, day = plant_planner.context, plant_planner.context.as_of
    gaps = [s for s in plant_planner.stretches if s.gap in HELD and s.until >= day]
    if not gaps:
        return None
    first = last = gaps[0]
    for later in gaps[1:]:
        if later.start != last.until + 1:
            break
        last = later
    profile = profile_of(first.state, context.catalog)
    limit = profile.urgent_below_c
    if first.gap == "rest":
        rows = [row for row in context.catalog.rest_waters.values() if row.profile == first.state.profile]
        limit = min((row.night_from_c for row in rows if row.amount != "none"), default=limit)
    until = last.until if last.until < context.last_day else None
    start = _start(plant_planner, first.start)
    offered = first.start <= day and _is_offered(plant_planner, first.gap, profile.night_min_c)
    return Held(first.gap, start, until, limit, profile.night_min_c, offered)


def _start(plant_planner: PlantPlanner, day: int) -> int:
    """Return where the run of days without water begins that holds a day."""
    for stretch in reversed([s for s in plant_planner.stretches if s.until < day]):
        if stretch.gap not in HELD:
            break
        day = stretch.start
    return day


def _is_offered(plant_planner: PlantPlanner, gap: str, mild_c: float) -> bool:
    context, day = plant_planner.context, plant_planner.context.as_of
    state = plant_planner.line.state_at(day)
    last = plant_planner.chain.last if plant_planner.chain.last is not None else plant_planner.line.entered
    if gap == "rest":  # leaves tell it, not the days: once they shrivel, until it was wetted
        felt = [on for on, _ in plant_planner.line.firmness if on <= day]
        return state.is_soft and max(felt, default=last) > last
    dried = Drying(plant_planner.stretches, context).progress(last, day, held=True)
    high = day_high(context, state.place or "", day)
    is_dry = dried is not None and dried >= plant_planner.taught_on(day).factor
    return is_dry and high is not None and high >= mild_c
