"""A plant's line cut into stretches in which the terms of its interval stay the same (models I3)."""

from __future__ import annotations

from bisect import bisect_right
from calendar import monthrange
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from carecal.planning.pauses import pause_spans
from carecal.planning.rhythm.terms import Terms, lacks, profile_of
from carecal.planning.sick.rot import dry_spans
from carecal.planning.spans import FOREVER, Span, covers, merge
from carecal.planning.states import is_settling

if TYPE_CHECKING:
    from carecal.catalog.tables import Profile
    from carecal.collection.plants import PlantHistory, PlantState
    from carecal.planning.plan_context import PlanContext

__all__ = [
    "Situation",
    "rest_spans",
    "situation_at",
    "situations",
]

EQUATOR_DEG = 10  # design §3 rule 17: within 10 degrees of the equator there is no rest by months
BUDS = frozenset({"in-spike", "in-bloom"})


class Situation(NamedTuple):
    """A stretch of days, both ends included, with the plant's state and the terms of its interval.

    `gap` says why nothing is wetted: '' when it is, else unknown, wrapped, mother, no-climate, paused or cold.
    """

    start: int
    until: int
    state: PlantState
    is_settling: bool
    is_resting: bool
    terms: Terms | None
    gap: str = ""


def situations(line: PlantHistory, context: PlanContext) -> list[Situation]:
    """Return the stretches of a plant from its first day to the last day planned, without holes."""
    first = line.entered
    last = (
        context.last_day if line.retired is None else max(first, line.retired - 1)
    )  # it may leave on its first day
    if last < first:
        return []
    paused = pause_spans(context.facts, line, "watering", first, last)
    rest = rest_spans(profile_of(line.latest, context.catalog), context.facts.latitude, first, last)
    breaks, settling_days = {first, *_edges(paused), *_edges(rest)}, context.catalog.states["settling"].days
    for state in line.states:
        breaks.add(state.day)
        if state.potted is not None:
            breaks.add(state.potted + settling_days)
        if state.place in context.facts.places:
            breaks.update(spec.day for spec in context.facts.places[state.place].specs)
            breaks.update(_edges(context.cold_spans(state)))
        breaks.update(_edges(dry_spans(state, context.catalog)))
    days = sorted(day for day in breaks if first <= day <= last)
    found = []
    for start, after in zip(days, [*days[1:], last + 1], strict=True):
        found.append(_situation(line, start, after - 1, paused, rest, context))
    return found


def situation_at(found: list[Situation], day: int) -> Situation:
    """Return the situation that holds a day; the first or last one outside of them."""
    return found[max(bisect_right(found, (day, FOREVER)) - 1, 0)]  # they begin with their first and last day


def rest_spans(profile: Profile, latitude: float, first: int, last: int) -> list[Span]:
    """Return the days of a profile's rest: its months are the north's, shifted six in the south."""
    if profile.rest_from_month is None or profile.rest_to_month is None or abs(latitude) < EQUATOR_DEG:
        return []
    shift = 6 if latitude < 0 else 0
    begin, end = ((month - 1 + shift) % 12 + 1 for month in (profile.rest_from_month, profile.rest_to_month))
    found = []
    for year in range(date.fromordinal(first).year - 1, date.fromordinal(last).year + 1):
        closing = year + (end < begin)
        found.append(
            (date(year, begin, 1).toordinal(), date(closing, end, monthrange(closing, end)[1]).toordinal())
        )
    return merge(found)


def _edges(spans: list[Span]) -> list[int]:
    return [day for start, until in spans for day in (start, until + 1)]


def _situation(
    line: PlantHistory, start: int, until: int, paused: list[Span], rest: list[Span], context: PlanContext
) -> Situation:
    state = line.state_at(start)
    settling = is_settling(state, start, context.catalog)
    resting = covers(rest, start) and state.flowering not in BUDS
    gap = _gap(state, start, paused, context)
    terms = None
    if gap in {"", "paused", "cold", "rot"}:
        terms = context.terms(state, line.number, settling=settling, resting=resting, day=start)
    return Situation(start, until, state, settling, resting, terms, gap)


def _gap(state: PlantState, day: int, paused: list[Span], context: PlanContext) -> str:
    if state.mother is not None:
        return "mother"
    if state.is_wrapped:
        return "wrapped"
    if lacks(state, context.catalog):
        return "unknown"
    if not context.has_climate(state.place or "", day):
        return "no-climate"
    if covers(paused, day):
        return "paused"
    if any(first <= day <= last for first, last in dry_spans(state, context.catalog)):
        return "rot"
    return "cold" if covers(context.cold_spans(state), day) else ""
