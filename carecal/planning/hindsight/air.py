"""Hindsight on places: nights too cold, days too hot, sun on a wrap, outdoors against the season."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.planning.hindsight.case import Departure, Past, on
from carecal.planning.places.safe_starts import medium_on, night_air

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["cold_nights", "heat", "no_place_out", "sun_in_wrap"]

SUNNY = {"north": frozenset({"S", "SE", "SW", "W"}), "south": frozenset({"N", "NE", "NW", "W"})}
MOL_PER_PPFD_12H = 0.0432  # definition: 12 h of 1 µmol m⁻² s⁻¹ in mol m⁻² d⁻¹
FEW_DAYS = 7  # our choice, because a kind bears a week at its limit


def cold_nights(past: Past) -> Iterator[Departure]:
    """Yield the nights on which the medium was under the night its kind is made for, and under what it bears."""
    cold, urgent, lowest = [], [], 99.0
    for day in past.days:
        state, profile = past.state(day), past.profile(day)
        if state.place is None or state.container is None:
            continue
        medium = medium_on(past.context, state.place, state.container, day, day)
        if medium is None or medium[1] >= profile.night_min_c:
            continue
        if past.rests_in_the_cold(day) and medium[1] >= profile.urgent_below_c:
            continue
        cold.append(day)
        lowest = min(lowest, medium[1])
        if medium[1] < profile.urgent_below_c:
            urgent.append(day)
    if len(cold) <= FEW_DAYS and not urgent:
        return
    profile = past.profile(cold[0])
    bears = f", on {len(urgent)} of them under {profile.urgent_below_c:g} °C" if urgent else ""
    text = (
        f"nights of its medium were under {profile.night_min_c:g} °C on {len(cold)} days, down to {lowest:.1f} °C"
        f"{bears}: roots may have stood still or rotted"
    )
    weight = 2 + len(cold) / 40 + (profile.night_min_c - lowest) / 2 + (3 if urgent else 0)
    yield past.departure("cold-nights", weight, cold, text, [_placed_by(past, cold[0])])


def heat(past: Past) -> Iterator[Departure]:
    """Yield days hotter than the kind bears."""
    hot = []
    for day in past.days:
        state = past.state(day)
        air = past.context.air(state.place, day)
        if air is not None and air.at("day_c", day) > past.profile(day).day_max_c:
            hot.append(day)
    if hot:
        text = f"days were above {past.profile(hot[0]).day_max_c:g} °C on {len(hot)} days: it may have cooked or dried"
        yield past.departure("heat", 3 + len(hot) / 15, hot, text, [_placed_by(past, hot[0])])


def sun_in_wrap(past: Past) -> Iterator[Departure]:
    """Yield days on which a closed wrap stood in the sun."""
    sunny = []
    side = SUNNY["north" if past.context.facts.latitude >= 0 else "south"]
    for day in past.days:
        state = past.state(day)
        if not state.is_wrapped or state.place not in past.context.facts.places:
            continue
        spec = past.context.facts.places[state.place].spec_at(day)
        bright = _light(past, day) > past.profile(day).stage_ppfd_high.get("rootless", 100) * MOL_PER_PPFD_12H
        if "shade" not in state.aid_names and (spec.aspect in side or bright):
            sunny.append(day)
    if sunny:
        text = f"its wrap stood in a sunny or bright place on {len(sunny)} days: the air inside may have overheated"
        yield past.departure("sun-in-wrap", 5 + len(sunny) / 20, sunny, text, [_placed_by(past, sunny[0])])


def no_place_out(past: Past) -> Iterator[Departure]:
    """Yield nights outdoors or without heating under the limit at which its kind comes in."""
    cold, lowest = [], 99.0
    for day in past.days:
        state = past.state(day)
        if state.place not in past.context.facts.places:
            continue
        spec = past.context.facts.places[state.place].spec_at(day)
        kind = past.context.catalog.place_kinds[spec.place_kind]
        night = night_air(past.context, state.place, day, day)
        if (
            night is not None
            and (kind.outdoors or kind.heated is False)
            and night < past.profile(day).in_night_c
        ):
            cold.append(day)
            lowest = min(lowest, night)
    if cold:
        limit = past.profile(cold[0]).in_night_c
        text = (
            f"it stood unheated or outdoors on {len(cold)} days with nights under {limit:g} °C, down to "
            f"{lowest:.1f} °C, from {on(cold[0])}: it may have come in too late"
        )
        yield past.departure("in-too-late", 5 + (limit - lowest) / 3, cold, text, [_placed_by(past, cold[0])])


def _light(past: Past, day: int) -> float:
    air = past.context.air(past.state(day).place, day)
    return air.at("light_mol", day) if air is not None else 0.0


def _placed_by(past: Past, day: int) -> int:
    """Return the entry by which the plant came to where it stood on a day."""
    place, entry = past.state(day).place, past.state(day).entry
    for state in reversed([s for s in past.line.states if s.day <= day]):
        if state.place != place:
            break
        entry = state.entry
    return entry
