"""The one early wetting that brings a plant over to the care days: for whom it is safe, and on which days."""

from __future__ import annotations

from collections.abc import Callable
from math import ceil
from typing import TYPE_CHECKING, NamedTuple

from carecal.planning.places.weather import is_medium_cold
from carecal.planning.rhythm.situations import situation_at
from carecal.planning.sick.rot import ROT

if TYPE_CHECKING:
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.rhythm.situations import Situation
    from carecal.planning.wettings.slot import Slot

__all__ = ["Early", "bar", "first_early_day", "is_dry_enough"]

DRIED_SHARE = (
    0.5  # our choice, because a pot half dried has air in it again, and one early wetting is the bound
)
WET = frozenset({"moistening", "refilling"})  # a bare surface has days of its own; a reservoir is waited for


class Early(NamedTuple):
    """An early wetting that was taken: the day on which it was told, its day, and whether a slot may have it."""

    told: int
    day: int
    is_allowed: Callable[[int, Slot], bool]


def first_early_day(last: int, slot: Slot) -> int:
    """Return the first day on which a wetting may be early, by the day of the last one."""
    return last + ceil(DRIED_SHARE * slot.beat.days)


def is_dry_enough(last: int, slot: Slot, day: int) -> bool:
    """Return whether a pot has dried far enough for an early wetting on a day."""
    return day >= first_early_day(last, slot)


def bar(stretches: list[Situation], context: PlanContext, slot: Slot, day: int) -> str:
    """Return why a plant must not be wetted early on a day: rot, rest, cold or settling; '' where it may.

    What was felt last bars it too; the chain of its wettings knows that.
    """
    stretch = situation_at(stretches, day)
    if stretch.gap == "rot" or any(watch.pest == ROT for watch in stretch.state.pests):
        return "rot"
    if stretch.is_resting or stretch.rest:
        return "resting"
    if stretch.gap or slot.beat.terms.care in WET:
        return "not wetted like the others"
    if is_medium_cold(stretch.state, day, context):
        return "cold"
    return "settling" if stretch.is_settling else ""
