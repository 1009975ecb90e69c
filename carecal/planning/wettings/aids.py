"""The moistenings of an aid: their terms, what belongs to them, and how they went; nothing is fed with them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.planning.pauses import pause_spans
from carecal.planning.rhythm.beats import beats_of
from carecal.planning.rhythm.terms import Terms
from carecal.planning.spans import intersect, invert
from carecal.planning.wettings.slots import Chain

if TYPE_CHECKING:
    from collections.abc import Callable

    from carecal.collection.plants import Event, PlantHistory
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.rhythm.beats import Beats
    from carecal.planning.rhythm.situations import Situation

__all__ = ["aid_chains", "aid_terms", "beats_of_aid"]

MIN_AID_DAYS, MAX_AID_DAYS = 1, 14  # our choice, because an aid is looked at within two weeks at least
QUARTER = 0.25  # models I7: aids may slip by a quarter of their interval


def aid_terms(aid: str, stretch: Situation, context: PlanContext) -> Terms:
    """Return the terms of an aid's interval in a stretch (models I8)."""
    days = context.catalog.aids[aid].care_days or 0
    light = 1.0
    for name in stretch.state.aid_names:
        light *= context.catalog.aids[name].light_factor
    place = stretch.state.place or ""
    spec_day = context.facts.places[place].spec_at(stretch.start).day
    return Terms(
        "moistening",
        "surface",
        days,
        (),
        days,
        MIN_AID_DAYS,
        MAX_AID_DAYS,
        "plastic",
        light,
        QUARTER,
        QUARTER,
        1.0,
        "earlier",
        place,
        spec_day,
        -100.0,
    )


def aid_chains(
    line: PlantHistory,
    context: PlanContext,
    beats: Callable[[str, int], Beats],
    rides: Callable[[], frozenset[int]],
) -> dict[str, Chain]:
    """Return the moistenings of each aid in use on the plan's day that asks for them.

    Args:
        line: The plant.
        context: Climate, settings and days of the plan.
        beats: Gives the rhythm of an aid from the day it was given.
        rides: Gives the days on which the pot is wetted.
    """
    found = {}
    for aid, given in line.latest.aids:
        row = context.catalog.aids[aid]
        if row.care is None or row.care_days is None or line.retired is not None:
            continue
        chain = Chain(line, context, beats(aid, given), aid, _always(row.care), given, given, rides=rides)
        chain.run([e for e in line.events if e.day >= given and _is_of_aid(e, aid)], context.as_of)
        found[aid] = chain
    return found


def beats_of_aid(
    aid: str, given: int, line: PlantHistory, stretches: list[Situation], context: PlanContext
) -> Beats:
    """Return the rhythm of an aid's moistening from the day it was given (ordinal)."""
    paused = pause_spans(context.facts, line, "moistening", given, context.last_day)
    free = invert(paused, given, context.last_day)
    cut = [
        s._replace(start=a, until=b, gap="")
        for s in stretches
        for a, b in intersect([(s.start, s.until)], free)
        if context.has_climate(s.state.place or "", s.start) and not s.state.is_wrapped
    ]
    return beats_of(cut, context, [], lambda stretch: aid_terms(aid, stretch, context))


def _is_of_aid(event: Event, aid: str) -> bool:
    """Return whether an event belongs to the moistening of an aid."""
    if event.kind in {"aid", "left"}:
        return event.aid == aid
    return event.kind in {"potted", "excepted"} or (event.kind == "missed" and event.care == "moistening")


def _always(care: str) -> Callable[..., tuple[str, float | None, str]]:
    """Return what decides on the slots of an aid: each is of its care, without feed, whatever came before."""
    return lambda *_: (care, None, "")
