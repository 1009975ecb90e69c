"""A plant's line cut into stretches in which the terms of its interval stay the same (models I3)."""

from __future__ import annotations

from bisect import bisect_right
from calendar import monthrange
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from carecal.planning.pauses import pause_spans
from carecal.planning.spans import FOREVER, Span, covers, merge
from carecal.planning.terms import Terms, lacks, profile_of

if TYPE_CHECKING:
    from carecal.catalog.tables import Catalog, Profile
    from carecal.collection.plants import PlantLine, PlantState
    from carecal.planning.scene import Scene

__all__ = [
    "SETTLING_DAYS",
    "Situation",
    "is_on_watch",
    "is_settling",
    "rest_spans",
    "situation_at",
    "situations",
    "states_of",
]

SETTLING_DAYS = 42  # states.csv settling: common practice (no source), water sparingly 6 weeks
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


def situations(line: PlantLine, scene: Scene) -> list[Situation]:
    """Return the stretches of a plant from its first day to the last day planned, without holes."""
    first = line.entered
    last = (
        scene.last_day if line.retired is None else max(first, line.retired - 1)
    )  # it may leave on its first day
    if last < first:
        return []
    paused = pause_spans(scene.facts, line, "watering", first, last)
    rest = rest_spans(profile_of(line.latest, scene.catalog), scene.facts.latitude, first, last)
    breaks = {first, *_edges(paused), *_edges(rest)}
    for state in line.states:
        breaks.add(state.day)
        if state.potted is not None:
            breaks.add(state.potted + SETTLING_DAYS)
        if state.place in scene.facts.places:
            breaks.update(spec.day for spec in scene.facts.places[state.place].specs)
            breaks.update(_edges(scene.cold_spans(state)))
    days = sorted(day for day in breaks if first <= day <= last)
    found = []
    for start, after in zip(days, [*days[1:], last + 1], strict=True):
        found.append(_situation(line, start, after - 1, paused, rest, scene))
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


def states_of(state: PlantState, day: int, catalog: Catalog, *, resting: bool) -> list[str]:
    """Return the names of a plant's states on a day, as states.toml names them."""
    found = []
    if state.quarantine_since is not None:
        found.append("quarantine")
    if any(
        watch.clean_looks < catalog.pests[watch.pest].looks
        for watch in state.pests
        if watch.pest in catalog.pests
    ):
        found.append("pest-watch")
    if state.is_wrapped:
        found.append("wrapped")
    if is_settling(state, day):
        found.append("settling")
    if resting:
        found.append("resting")
    if state.mother is not None:
        found.append("keiki")
    return found


def is_settling(state: PlantState, day: int) -> bool:
    """Return whether a plant settles in after a potting on a day."""
    return state.potted is not None and state.potted <= day < state.potted + SETTLING_DAYS


def is_on_watch(state: PlantState, day: int, catalog: Catalog) -> bool:
    """Return whether a plant is on watch: rootless, new-tips, wrapped, settling, quarantine or pest-watch."""
    names = states_of(state, day, catalog, resting=False)
    return state.stage in {"rootless", "new-tips"} or bool(set(names) - {"resting", "keiki"})


def _edges(spans: list[Span]) -> list[int]:
    return [day for start, until in spans for day in (start, until + 1)]


def _situation(
    line: PlantLine, start: int, until: int, paused: list[Span], rest: list[Span], scene: Scene
) -> Situation:
    state = line.state_at(start)
    settling = is_settling(state, start)
    resting = covers(rest, start) and state.flowering not in BUDS
    gap = _gap(state, start, paused, scene)
    terms = None
    if gap in {"", "paused", "cold"}:
        terms = scene.terms(state, line.number, settling=settling, resting=resting, day=start)
    return Situation(start, until, state, settling, resting, terms, gap)


def _gap(state: PlantState, day: int, paused: list[Span], scene: Scene) -> str:
    if state.mother is not None:
        return "mother"
    if state.is_wrapped:
        return "wrapped"
    if lacks(state, scene.catalog):
        return "unknown"
    if not scene.has_climate(state.place or "", day):
        return "no-climate"
    if covers(paused, day):
        return "paused"
    return "cold" if covers(scene.cold_spans(state), day) else ""
