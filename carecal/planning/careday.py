"""On which day of its window a task is done: preferred weekdays, absences, moved rounds (models R1)."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from carecal.planning.scene import Scene

__all__ = ["care_day", "nearest"]

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def nearest(days: Sequence[int], due: int, tie: str) -> int:
    """Return the day nearest to `due`; of two as near, the earlier or the later one."""
    sign = 1 if tie == "earlier" else -1
    return min(days, key=lambda day: (abs(day - due), sign * day))


def care_day(
    earliest: int, due: int, latest: int, tie: str, scene: Scene, *, floor_day: int,
    wanted: frozenset[int] | None = None,
) -> int:  # fmt: skip
    """Return the care day of a window (ordinals).

    A preferred weekday nearest the due day; none: the due day itself, or where that lies in an absence another
    present day of the window; none at all: the due day.

    Args:
        earliest: First day of the window.
        due: The due day.
        latest: Last day of the window.
        tie: 'earlier' or 'later', for two days as near.
        scene: Weekdays, absences and moved rounds.
        floor_day: No care day before this one.
        wanted: Preferred weekdays, Monday 0; None: those of the settings.
    """
    present: Sequence[int] = range(max(earliest, floor_day), latest + 1)
    if scene.has_absences:
        present = [day for day in present if not scene.is_away(day)]
    preferred = scene.weekdays(latest) if wanted is None else wanted
    liked = [day for day in present if (day - 1) % 7 in preferred]
    if liked:
        chosen = nearest(liked, due, tie)
    elif due in present or not present:
        chosen = due
    else:
        chosen = nearest(present, due, tie)
    moved = scene.facts.moved_rounds.get(chosen)
    return moved if moved is not None and moved >= floor_day else chosen
