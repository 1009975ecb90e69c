"""The fewest days of care for windows given as whole days; a suggestion only, it plans nothing.

Days are integers counted from any day. One-off windows have an optimal answer; repeated ones, whose next window
hangs on the day chosen, are searched with a beam that keeps the most promising plans of equal length.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from carecal.errors import Refused

__all__ = ["BEAM", "RepeatedTask", "fewest_days", "fewest_rounds"]

BEAM = 300  # our choice, because wider beams found nothing better in the check rows (models R3)

Windows = tuple[tuple[int, int], ...]


class RepeatedTask(NamedTuple):
    """A care that comes again: its first window and the window after each day on which it is done."""

    first: tuple[int, int]  # earliest and latest day, both included [d]
    gap: tuple[int, int]  # the same, counted from the day chosen [d]


def fewest_days(windows: Sequence[tuple[int, int]]) -> list[int]:
    """Return the fewest days that meet every window, each as late as it may be.

    Args:
        windows: Earliest and latest day of each, both included. [d]

    Raises:
        Refused: a window ends before it begins.

    Source: our choice, because the smallest latest day must hold a round and no other day there meets more
        (models R3).
    """
    chosen: list[int] = []
    for earliest, latest in sorted(_checked(windows), key=lambda window: (window[1], window[0])):
        if not chosen or chosen[-1] < earliest:
            chosen.append(latest)
    return chosen


def fewest_rounds(tasks: Sequence[RepeatedTask], horizon_days: int, beam: int = BEAM) -> list[int]:
    """Return the days of a short series of rounds that meets every window ending by the horizon.

    A plan found is valid, and the shortest for one task alone; for several it need not be the shortest.

    Args:
        tasks: The cares that come again.
        horizon_days: Last day; windows whose latest day lies beyond it are not served. [d]
        beam: Plans of equal length that are followed, 1 or more.

    Raises:
        Refused: a window ends before it begins, a gap is not of a day at least, or the beam is below 1.

    Source: our choice, because the exact answer needs a solver (models R3); ORTOOLS gives the optimum to compare.
    """
    _checked([task.first for task in tasks])
    if any(earliest < 1 for earliest, _ in _checked([task.gap for task in tasks])):
        raise Refused("a gap must be of 1 day at least")
    if beam < 1:
        raise Refused(f"beam {beam} must be 1 or more")
    gaps = [task.gap for task in tasks]
    plans: dict[Windows, tuple[int, ...]] = {tuple(task.first for task in tasks): ()}
    while True:
        following: dict[Windows, tuple[int, ...]] = {}
        for windows, days in plans.items():
            if all(latest > horizon_days for _, latest in windows):
                return list(days)
            for day, served in _choices(windows, days[-1] + 1 if days else None):
                moved = tuple(
                    (day + gaps[at][0], day + gaps[at][1]) if at in served else window
                    for at, window in enumerate(windows)
                )
                following.setdefault(moved, (*days, day))
        ranked = sorted(following.items(), key=lambda plan: (_promise(plan[0], horizon_days), plan))
        plans = dict(ranked[:beam])


def _choices(windows: Windows, first_day: int | None) -> Iterator[tuple[int, frozenset[int]]]:
    """Yield the days of a next round and which tasks it serves: all that can be, or one fewer on the last day."""
    last = min(latest for _, latest in windows)
    opens = {
        earliest
        for earliest, _ in windows
        if earliest <= last and (first_day is None or earliest >= first_day)
    }
    for day in sorted(opens | {last}):
        able = frozenset(at for at, (earliest, _) in enumerate(windows) if earliest <= day)
        yield day, able
        if day == last:
            for at in sorted(able):
                if windows[at][1] > last:
                    yield day, able - {at}


def _promise(windows: Windows, horizon_days: int) -> tuple[int, int]:
    """Return a rank, lower is better: how soon the next round must be, then how far all windows have come."""
    reach = [min(latest, horizon_days + 1) for _, latest in windows]
    return -min(reach), -sum(reach)


def _checked(windows: Sequence[tuple[int, int]]) -> Sequence[tuple[int, int]]:
    for earliest, latest in windows:
        if latest < earliest:
            raise Refused(f"window from {earliest} to {latest} ends before it begins")
    return windows
