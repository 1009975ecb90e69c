"""The fewest days of care for windows given as whole days; a suggestion only, it plans nothing.

Days are integers counted from any day. One-off windows have an optimal answer; repeated ones, whose next window
hangs on the day chosen, are searched with a beam that keeps the most promising plans of equal length.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, NamedTuple

from carecal.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

__all__ = ["BEAM", "Care", "RepeatedTask", "fewest_days", "fewest_for", "fewest_rounds"]

BEAM = 100  # our choice, because 300 spared no day in the check houses of up to 60 plants (models R3)
NEVER = 1 << 4000  # no day of its own is asked for any more: one that lies beyond all that are planned


class Care(NamedTuple):
    """A care that comes again, of any rhythm."""

    first: Sequence[int]  # days on which it may be done first
    after: Callable[[int], Sequence[int]]  # those of the next time after a day; none: it comes no more


class RepeatedTask(NamedTuple):
    """A care that comes again after as many days: its first window and the one after each day on which it is done."""

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

    Args:
        tasks: The cares that come again.
        horizon_days: Last day; windows whose latest day lies beyond it are not served. [d]
        beam: Plans of equal length that are followed, 1 or more.

    Raises:
        Refused: a window ends before it begins, a gap is not of a day at least, or the beam is below 1.
    """
    _checked([task.first for task in tasks])
    if any(earliest < 1 for earliest, _ in _checked([task.gap for task in tasks])):
        raise Refused("a gap must be of 1 day at least")

    def days(first: int, last: int) -> range:
        return range(first, last + 1) if last <= horizon_days else range(0)

    def after(task: RepeatedTask, day: int) -> range:
        return days(day + task.gap[0], day + task.gap[1])

    return fewest_for([Care(days(*task.first), partial(after, task)) for task in tasks], beam)


def fewest_for(cares: Sequence[Care], beam: int = BEAM) -> list[int]:
    """Return a short series of days on which all cares can be done as often as they come.

    A plan is known by the days on which each care may be done next, whichever of its days so far it took; so nobody
    need decide who waits for the next round. A plan found is valid, and the shortest where the beam holds all plans.

    Args:
        cares: The cares that come again.
        beam: Plans of equal length that are followed, 1 or more.

    Raises:
        Refused: the beam is below 1.

    Source: our choice, because the exact answer needs a solver (models R3); the tests hold it against one.
    """
    if beam < 1:
        raise Refused(f"beam {beam} must be 1 or more")
    origin = min((min(care.first) for care in cares if care.first), default=0)
    search = _Search(cares, origin)
    plans: dict[_State, tuple[int, ...]] = {tuple(_bits(care.first, origin) for care in cares): ()}
    while True:
        following: dict[_State, tuple[int, ...]] = {}
        for state, days in plans.items():
            if all(days_open == NEVER for days_open in state):
                return [origin + day for day in days]
            for day, after in search.steps(state):
                following.setdefault(after, (*days, day))
        ranked = sorted(following.items(), key=lambda plan: (_promise(plan[0]), -plan[1][-1], plan[1]))
        plans = dict(ranked[:beam])


_State = tuple[
    int, ...
]  # for each care the days on which it may be done next, a bit a day from the first one on


class _Search:
    """Steps from one day of a plan to the next."""

    def __init__(self, cares: Sequence[Care], origin: int) -> None:
        self._cares, self._origin = cares, origin
        self._known: list[dict[int, int]] = [{} for _ in cares]

    def steps(self, state: _State) -> list[tuple[int, _State]]:
        """Return each day that may come next, up to the last on which some care must be done, and what follows."""
        last = min(days_open.bit_length() for days_open in state) - 1
        wanted, found = 0, []
        for days_open in state:
            wanted |= days_open
        wanted &= (2 << last) - 1
        while wanted:
            day = wanted.bit_length() - 1  # the latest first, so that of days as good it is the one
            bit, later = 1 << day, -(2 << day)
            wanted ^= bit
            after = [
                (days_open & later) | self._after(at, day) if days_open & bit else days_open & later
                for at, days_open in enumerate(state)
            ]
            found.append((day, tuple([min(days_open, NEVER) for days_open in after])))
        return found

    def _after(self, at: int, day: int) -> int:
        known = self._known[at]
        if day not in known:
            known[day] = _bits(self._cares[at].after(self._origin + day), self._origin)
        return known[day]


def _bits(days: Sequence[int], origin: int) -> int:
    """Return days as bits, the first of all as the lowest; none: the day that never comes."""
    return sum(1 << (day - origin) for day in days) or NEVER


def _promise(state: _State) -> tuple[int, int]:
    """Return a rank, lower is better: how soon the next day must be, then how many days lie open to all."""
    return -min(days_open.bit_length() for days_open in state), -sum(map(int.bit_count, state))


def _checked(windows: Sequence[tuple[int, int]]) -> Sequence[tuple[int, int]]:
    for earliest, latest in windows:
        if latest < earliest:
            raise Refused(f"window from {earliest} to {latest} ends before it begins")
    return windows
