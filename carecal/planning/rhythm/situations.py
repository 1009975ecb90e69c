"""A plant's line cut into stretches in which the terms of its interval stay the same (models I3)."""

from __future__ import annotations

from bisect import bisect_right
from typing import TYPE_CHECKING, NamedTuple

from carecal.planning.pauses import pause_spans
from carecal.planning.rhythm.resting import BUDS, rest_on, rest_water_on, rests_of
from carecal.planning.rhythm.terms import Terms, lacks
from carecal.planning.sick.rot import dry_spans
from carecal.planning.spans import FOREVER, Span, covers
from carecal.planning.states import is_settling

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.catalog.tables import RestWater
    from carecal.collection.plants import PlantHistory, PlantState
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.rhythm.resting import Resting

__all__ = [
    "Situation",
    "situation_at",
    "situations",
]

NO_WATER = "none"  # amount of rest_waters.toml


class Situation(NamedTuple):
    """A stretch of days, both ends included, with the plant's state and the terms of its interval.

    `gap` says why nothing is wetted: '' when it is, else unknown, wrapped, mother, lent, no-climate, paused, rot, cold
    or rest. `rest` says how deep it rests: 'full', 'half' where nobody has answered, or ''; `rest_water` what a dry
    rest gives it by the nights of its place, `asks_rest` whether looks ask if it is over.
    """

    start: int
    until: int
    state: PlantState
    is_settling: bool
    is_resting: bool
    terms: Terms | None
    gap: str = ""
    rest: str = ""
    rest_water: RestWater | None = None
    asks_rest: bool = False


def situations(line: PlantHistory, context: PlanContext) -> list[Situation]:
    """Return the stretches of a plant from its first day to the last day planned, without holes.

    Of what is told from before its entry they begin no earlier than the air is worked out.
    """
    first = max(line.entered, context.air_from)
    last = (
        context.last_day if line.retired is None else max(first, line.retired - 1)
    )  # it may leave on its first day
    if last < first:
        return []
    paused = pause_spans(context.facts, line, "watering", first, last)
    rests = rests_of(line, context, first, last)
    breaks, settling_days = {first, *_edges(paused)}, context.catalog.states["settling"].days
    breaks.update(edge for rest in rests for edge in rest.edges)
    breaks.update(_night_edges(line, rests, context, first, last))
    for state in line.states:
        breaks.add(state.day)
        if state.potted is not None:
            breaks.add(state.potted + settling_days)
        if state.place in context.facts.places:
            breaks.update(spec.day for spec in context.facts.places[state.place].specs)
            breaks.update(_edges(context.cold_spans(state)))
        breaks.update(_edges(dry_spans(state, context, line.number)))
    days = sorted(day for day in breaks if first <= day <= last)
    found = []
    for start, after in zip(days, [*days[1:], last + 1], strict=True):
        found.append(_situation(line, (start, after - 1), paused, rests, context))
    return found


def situation_at(found: list[Situation], day: int) -> Situation:
    """Return the situation that holds a day; the first or last one outside of them."""
    return found[max(bisect_right(found, (day, FOREVER)) - 1, 0)]  # they begin with their first and last day


def _edges(spans: list[Span]) -> list[int]:
    return [day for start, until in spans for day in (start, until + 1)]


def _night_edges(
    line: PlantHistory, rests: list[Resting], context: PlanContext, first: int, last: int
) -> Iterator[int]:
    """Yield the days inside dry rests on which the nights come into another row of rest_waters.toml."""
    if not context.has_rest_waters(line.latest.profile):
        return
    for rest in rests:
        former: RestWater | None = None
        for day in range(max(rest.start, first), min(rest.until, last) + 1):
            row = rest_water_on(line.state_at(day), day, context, line.number)
            if row is not former:
                yield day
            former = row


def _situation(
    line: PlantHistory, days: Span, paused: list[Span], rests: list[Resting], context: PlanContext
) -> Situation:
    start, until = days
    state = line.state_at(start)
    settling = is_settling(state, start, context.catalog)
    found = rest_on(rests, start) if state.flowering not in BUDS else None
    rest = found.holds(start) if found is not None else ""
    water = rest_water_on(state, start, context, line.number) if rest else None
    gap = _gap(state, start, paused, context, line.number)
    if not gap and water is not None and water.amount == NO_WATER:
        gap = "rest"
    terms = None
    if gap in {"", "paused", "cold", "rot", "rest"}:
        terms = context.terms(state, line.number, settling=settling, rest=rest, water=water, day=start)
    asks = found is not None and found.is_asked(start)
    return Situation(start, until, state, settling, bool(rest), terms, gap, rest, water, asks)


def _gap(state: PlantState, day: int, paused: list[Span], context: PlanContext, plant: int) -> str:
    if state.mother is not None:
        return "mother"
    if state.is_wrapped:
        return "wrapped"
    if lacks(state, context.catalog):
        return "unknown"
    if not context.has_climate(state.place or "", day):
        return "lent" if context.is_elsewhere(state.place, day) else "no-climate"
    if covers(paused, day):
        return "paused"
    if any(first <= day <= last for first, last in dry_spans(state, context, plant)):
        return "rot"
    return "cold" if covers(context.cold_spans(state), day) else ""
