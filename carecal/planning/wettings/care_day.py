"""On which day of its window a task is done: preferred weekdays, absences, moved rounds (models R1)."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from carecal.planning.plan_context import PlanContext

__all__ = ["care_day", "landing", "nearest"]


def nearest(days: Sequence[int], due: int, tie: str) -> int:
    """Return the day nearest to `due`; of two as near, the earlier or the later one."""
    sign = 1 if tie == "earlier" else -1
    return min(days, key=lambda day: (abs(day - due), sign * day))


def care_day(
    earliest: int,
    due: int,
    latest: int,
    tie: str,
    context: PlanContext,
    *,
    floor_day: int,
    dates: frozenset[int] | None = None,
    wanted: frozenset[int] | None = None,
) -> int:
    """Return the care day of a window (ordinals).

    The care day that was taken nearest the due day; none: a preferred weekday nearest it; none: the due day itself,
    or where that lies in an absence another present day of the window; none at all: the due day.

    Args:
        earliest: First day of the window.
        due: The due day.
        latest: Last day of the window.
        tie: 'earlier' or 'later', for two days as near.
        context: Weekdays, absences and moved rounds.
        floor_day: No care day before this one.
        dates: Care days taken; None: those of the collection.
        wanted: Preferred weekdays, Monday 0; None: those of the settings.
    """
    first = max(earliest, floor_day)
    if dates is None:
        dates = context.care_dates(latest).days if context.facts.care_dates else dates
    if dates:
        held = [day for day in range(first, latest + 1) if day in dates and not context.is_away(day)]
        if held:
            chosen = nearest(held, due, tie)
            return landing(chosen, context, floor_day)
    preferred = context.weekdays(latest) if wanted is None else wanted
    if context.has_absences:
        present = [day for day in range(first, latest + 1) if not context.is_away(day)]
        chosen = _chosen(present, due, tie, preferred)
    else:  # only the weekday and the shape of the window count
        key = first - due, latest - due, due % 7, tie, preferred
        if key not in context.kept_slips:
            context.kept_slips[key] = _chosen(range(first, latest + 1), due, tie, preferred) - due
        chosen = due + context.kept_slips[key]
    return landing(chosen, context, floor_day)


def landing(day: int, context: PlanContext, floor_day: int) -> int:
    """Return the day on which a care day is done: it may have been moved, but not to before a floor."""
    moved = context.facts.moved_rounds.get(day)
    return moved if moved is not None and moved >= floor_day else day


def _chosen(present: Sequence[int], due: int, tie: str, preferred: frozenset[int]) -> int:
    liked = [day for day in present if (day - 1) % 7 in preferred]
    if liked:
        return nearest(liked, due, tie)
    if due in present or not present:
        return due
    return nearest(present, due, tie)
