"""On which day a look is taken: with a wetting of its own plant, else on a care day that is there (models I9)."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from carecal.planning.wettings.care_day import care_day

if TYPE_CHECKING:
    from collections.abc import Sequence

    from carecal.plan.model import Grouping
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.wettings.slots import Slot

__all__ = ["JOINABLE", "WEEK", "Due", "care_day_of", "day_there", "wetting_near"]

QUARTER = 0.25  # models I7
WEEK = 7  # our choice, because every preferred weekday comes within one; never past half-way to the next look [d]
LATE_DAYS = 3  # our choice, because whoever waters in three days looks at the plant then and not twice [d]
SOON_DAYS = 3  # a look so often keeps its day: a quarter of it is less than a day (models I7)
JOINABLE = frozenset({"planned", "open", "done", "left", "assumed", "skipped"})


class Due(NamedTuple):
    """A look that is due, and how far it may slip."""

    day: int  # (ordinal)
    days: int  # between looks [d]
    last: int  # day of the look before (ordinal)
    slip: int  # either way [d]
    late: int  # at most, to ride on a wetting [d]
    later: int  # at most, where it would make a day of its own [d]
    is_watched: bool  # or what the plant needs is not known
    is_own: bool = False  # for what was found beside the plant, on its own days

    @classmethod
    def of(cls, day: int, days: int, last: int, *, is_watched: bool, beside: int | None) -> Due:
        """Return a look as it may slip: a quarter of its days; off watch a few days later, not past half of them.

        Args:
            day: Its due day (ordinal).
            days: Days between looks.
            last: Day of the look before.
            is_watched: Whether the plant is on watch, or what it needs is not known.
            beside: How far it may slip where it is looked over for what was found beside it; None: it is not.
        """
        slip = int(days * QUARTER) if beside is None else beside
        if is_watched or beside is not None:
            return cls(day, days, last, slip, slip, slip, is_watched, beside is not None)
        late, later = min(LATE_DAYS, days // 2), min(WEEK, days // 2)
        return cls(day, days, last, slip, max(slip, late), max(slip, later), is_watched)


def care_day_of(slot: Slot, grouping: Grouping) -> int:
    """Return the day on which a wetting stands in a grouping (ordinal)."""
    return slot.due if grouping == "each" and slot.status == "planned" else slot.day


def wetting_near(look: Due, wettings: Sequence[Slot], grouping: Grouping) -> Slot | None:
    """Return the wetting that a look rides on: whose window it falls into, else the last before it within its slip.

    One after its due day is taken only where there is none before. On watch it is never later for that than its own
    window; what is looked at daily waits for no wetting.
    """
    near: list[tuple[bool, int, Slot]] = []
    for slot in wettings:
        day = care_day_of(slot, grouping)
        off = day - look.day
        if slot.status not in JOINABLE or (slot.answered or day) <= look.last:
            continue  # never joined to a day that was looked on already
        is_soon = look.days <= SOON_DAYS and off > 0
        if slot.earliest <= look.day <= slot.latest and not is_soon:
            if not look.is_own or abs(off) <= look.slip:
                return slot
        elif not look.is_own and look.days > SOON_DAYS and -look.slip <= off <= look.late:
            may_wait = not look.is_watched or slot.latest <= look.day + look.slip
            near += [(off > 0, abs(off), slot)] if may_wait else []
    return min(near, key=lambda each: each[:2])[2] if near else None


def day_there(look: Due, earliest: int, context: PlanContext) -> int:
    """Return the care day of a look that rides on no wetting; off watch it waits for one that is there.

    Args:
        look: The look.
        earliest: Its first day (ordinal).
        context: Weekdays, care days taken, absences.
    """
    floor = look.last + 1
    first = max(min(earliest, look.day - _sooner_for(look, context)), min(floor, look.day))
    day = care_day(first, look.day, look.day + look.slip, "earlier", context, floor_day=floor)
    if look.later == look.slip or _is_there(day, context):
        return day
    later = care_day(first, look.day, look.day + look.later, "earlier", context, floor_day=floor)
    return later if _is_there(later, context) else day


def _sooner_for(look: Due, context: PlanContext) -> int:
    """Return how much sooner a look that has no slip may be for a care day that was taken: a day, never daily. [d]."""
    return int(not look.is_own and 1 < look.days <= SOON_DAYS and bool(context.care_dates(look.day)))


def _is_there(day: int, context: PlanContext) -> bool:
    """Return whether a day is a care day anyway: one that was taken, or a preferred weekday where none were."""
    dates = context.care_dates(day)
    return day in dates if dates else (day - 1) % 7 in context.weekdays(day)
