"""An old medium found in the dark months: bridged to the window, at half the feed and looked at oftener.

Only an emergency breaks it (repot_holds.toml dark-months): rot, or a medium that stays wet.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from carecal.planning.steps.case import months_after
from carecal.wording.season import bridge_asks, still_wet_text

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from carecal.catalog.tables import RepotHold
    from carecal.collection.plants import PlantHistory, PlantState
    from carecal.planning.plan_context import PlanContext

__all__ = ["EQUATOR_DEG", "bridge_of", "bridge_question", "dark_months", "life_of", "still_wet"]

DARK = "dark-months"
TOO_WET = "too-wet"
EQUATOR_DEG = 10.0  # design §3 rule 17: no seasons within it
MOST_MONTHS = 36  # a medium is due by then at the latest (media.toml)


def life_of(state: PlantState, plant: int, context: PlanContext) -> tuple[float, float] | None:
    """Return from when a medium is looked at and when it is due anew, by the sides taken; None: it does not rot."""
    medium = context.catalog.media.get(state.medium or "")
    if medium is None or not medium.rots or state.container == "mount":
        return None
    if context.side("repot-rhythm", state, plant) == "a":
        return 12, 12
    if medium.medium == "moss" and context.side("moss-life", state, plant) == "a":
        return 6, 12
    return medium.life_months_low, min(medium.life_months_high, MOST_MONTHS)


def dark_months(context: PlanContext) -> frozenset[int]:
    """Return the months in which nothing is repotted but in warmth and light, by hemisphere; none at the equator."""
    latitude = context.facts.latitude
    if abs(latitude) < EQUATOR_DEG:
        return frozenset()
    shift = 6 if latitude < 0 else 0
    return frozenset((month - 1 + shift) % 12 + 1 for month in context.catalog.repot_holds[DARK].months)


def bridge_of(state: PlantState, day: int, plant: int, context: PlanContext) -> RepotHold | None:
    """Return the hold that bridges a plant on a day: its medium is past its life in a dark month; None: no bridge.

    Source: repot_holds.toml dark-months.
    """
    if state.potted is None or state.mother is not None or state.is_wrapped:
        return None
    life = life_of(state, plant, context)
    if life is None or date.fromordinal(day).month not in dark_months(context):
        return None
    return context.catalog.repot_holds[DARK] if months_after(state.potted, life[1]) <= day else None


def bridge_question(state: PlantState, day: int, plant: int, context: PlanContext) -> str:
    """Return what a look asks of a plant that is bridged, '' for others."""
    if bridge_of(state, day, plant, context) is None:
        return ""
    container = context.catalog.containers.get(state.container or "")
    wet = context.catalog.media[state.medium or ""].wet_too_long_days
    return bridge_asks(is_seen=container is not None and container.see_roots, wet_days=wet)


def still_wet(
    line: PlantHistory, day: int, interval: Callable[[int], float], context: PlanContext
) -> tuple[int, str] | None:
    """Return since when a bridged medium is wet for too long, and that in words; None: it is not.

    It was found damp so long after a wetting: wet_too_long_days of the medium, and so many of its intervals.

    Args:
        line: The plant.
        day: The day (ordinal).
        interval: Its days between wettings by day, as of the wetting: what was damp since has taught it more. [d]
        context: The collection.
    """
    state = line.state_at(day)
    hold = bridge_of(state, day, line.number, context)
    if hold is None or TOO_WET not in hold.broken_by:
        return None
    most = context.catalog.media[state.medium or ""].wet_too_long_days or 0.0
    for wet, on in _damp(line, day):
        if on - wet >= max(most, (hold.wet_factor or 0.0) * interval(wet)):
            return on, still_wet_text(state.medium or "", on - wet)
    return None


def _damp(line: PlantHistory, day: int) -> Iterator[tuple[int, int]]:
    """Yield the last wetting and each later day up to a day on which the medium was found damp."""
    events = [e for e in line.told if e.day <= day and e.aid is None]
    last = max([e.day for e in events if e.kind in {"wet", "potted"}], default=None)
    if last is None:
        return
    yield from ((last, e.day) for e in events if e.day > last and (e.kind == "left" or e.felt == "damp"))
