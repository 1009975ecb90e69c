"""One can a round: which strength of feed it holds, who gets it, whose feed waits; it knows no plant, no table."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence

__all__ = ["Asked", "Cans", "alike", "mixed_on", "one_strength"]

MOST_APART = 2.0  # our choice, because feeds are cut to half anyway where something holds them back


class Asked(NamedTuple):
    """What a plant's own plan asks of the can on a day; made of plain values.

    Attributes:
        on: The care day, as ISO text.
        task: Id of the wetting.
        plant: Number of the plant.
        ppm_n: Strength of its feed; None: plain water. [mg/L of N]
        could_ppm_n: Strength it would be fed at if the feed before it had waited; None: not. [mg/L of N]
        since: Day since which its feed waits, as ISO text; '' where none waits.
        is_given: Whether it was answered on that day already, so that the can was mixed with it.
    """

    on: str
    task: str
    plant: int
    ppm_n: float | None
    could_ppm_n: float | None = None
    since: str = ""
    is_given: bool = False


def alike(strengths: Iterable[float], first: float | None = None) -> float:
    """Return the strength that one can holds: the lowest within a factor of two of who is first in line.

    Args:
        strengths: What is asked for. [mg/L of N]
        first: What is asked for by who has waited longest; None: nobody has. [mg/L of N]
    """
    asked = sorted(strengths)
    return asked[0] if first is None else next(ppm for ppm in asked if ppm * MOST_APART >= first)


def one_strength(asked: Iterable[Asked]) -> dict[str, float | None]:
    """Return the wettings that are not as their plant's own plan asks: their strength, or None for plain water.

    Day by day one strength is mixed. Who asks for more than twice of it, or for less, takes plain water; the feed waits
    for the plant's next wetting that may carry it, and then its strength goes first. [mg/L of N].
    """
    found: dict[str, float | None] = {}
    waiting: dict[int, str] = {}
    ordered = sorted(asked, key=_by_day)
    for on, of_day in groupby(ordered, key=lambda each: each.on):
        found |= _can_of(on, of_day, waiting)
    return found


def mixed_on(asked: Iterable[Asked], on: str) -> float | None:
    """Return the strength of the one can of the first day that is asked about; None: no feed is mixed. [mg/L of N].

    Args:
        asked: What is asked of the can.
        on: The day, as ISO text; no feed asked for before it waits.
    """
    wanted = [row for row in (_wanted(each, {}) for each in asked if each.on == on) if row is not None]
    return _mixed(wanted) if wanted else None


class Cans:
    """The cans of all rounds; where a plant asks for something else only those are worked out that it may move."""

    def __init__(self) -> None:
        self._days: dict[str, _Can] = {}
        self._asked: dict[int, list[Asked]] = {}
        self._changed: set[int] = set()

    def take(self, plant: int, asked: Iterable[Asked]) -> None:
        """Take what a plant asks for in place of what it asked for before."""
        rows, before = list(asked), self._asked.pop(plant, [])
        if rows:
            self._asked[plant] = rows
        if rows == before:
            return
        for on in {each.on for each in before}:
            self._days[on].drop(plant)
        for each in rows:
            self._days.setdefault(each.on, _Can()).add(each)
        self._changed.add(plant)

    def settle(self) -> list[tuple[str, set[int]]]:
        """Work out what may differ, and return the days on which something does, with the plants that it is."""
        found: list[tuple[str, set[int]]] = []
        since = dict.fromkeys(
            self._changed, ""
        )  # since when a feed waits that did not, or not since then, before
        for on in sorted(self._days):
            can = self._days[on]
            if not can.is_stale and can.before.keys().isdisjoint(since):
                continue
            moved = can.settle(on, since, self._changed)
            if moved:
                found.append((on, moved))
            if not can.asked:
                del self._days[on]
        self._changed.clear()
        return found

    def of_day(self, on: str) -> Mapping[str, float | None]:
        """Return the wettings of a day that are not as their plant's own plan asks, as `one_strength` does."""
        can = self._days.get(on)
        return can.found if can is not None else {}


class _Can:
    """The can of one day: what is asked of it, since when whose feed waits before and after it, and who gets what."""

    __slots__ = ("after", "asked", "before", "found", "is_stale")

    def __init__(self) -> None:
        self.asked: list[Asked] = []
        self.before: dict[int, str] = {}
        self.after: dict[int, str] = {}
        self.found: dict[str, float | None] = {}
        self.is_stale = False

    def add(self, asked: Asked) -> None:
        """Take what a plant asks for."""
        self.asked.append(asked)
        self.is_stale = True

    def drop(self, plant: int) -> None:
        """Let go what a plant asked for."""
        self.asked = [each for each in self.asked if each.plant != plant]
        self.is_stale = True

    def settle(self, on: str, since: dict[int, str], changed: Collection[int]) -> set[int]:
        """Work the day out again and return the plants that get something else.

        Args:
            on: The day.
            since: Since when the feeds of plants wait of which this differs from before; brought up to after the day.
            changed: Plants that ask for something else on any day; what was known of them before says nothing.
        """
        self.asked.sort(key=_by_day)
        plants = {each.plant for each in self.asked}
        self.before = {n: since[n] if n in since else self.before.get(n, "") for n in plants}
        waiting = {n: day for n, day in self.before.items() if day}
        former, self.found = self.found, _can_of(on, self.asked, waiting)
        after = {n: waiting.get(n, "") for n in plants}
        for n, day in after.items():
            if n in changed or day != self.after.get(n, ""):
                since[n] = day
            else:
                since.pop(n, None)
        self.after = after
        self.is_stale = False
        return {
            each.plant
            for each in self.asked
            if self.found.get(each.task, each.ppm_n) != former.get(each.task, each.ppm_n)
        }


def _can_of(on: str, asked: Iterable[Asked], waiting: dict[int, str]) -> dict[str, float | None]:
    """Return the wettings of a day that are not as their plant's own plan asks, and bring up whose feed waits.

    Args:
        on: The day, as ISO text.
        asked: What is asked of its can, by task.
        waiting: Since when the feeds of plants wait, by number.
    """
    found: dict[str, float | None] = {}
    wanted = [row for row in (_wanted(each, waiting) for each in asked) if row is not None]
    if not wanted:
        return found
    strength = _mixed(wanted)
    for each, ppm, since in wanted:
        if each.is_given:
            continue
        if strength <= ppm <= strength * MOST_APART:
            waiting.pop(each.plant, None)
            if each.ppm_n != strength:
                found[each.task] = strength
        else:
            waiting[each.plant] = since or on
            if each.ppm_n is not None:
                found[each.task] = None
    return found


def _mixed(wanted: Sequence[tuple[Asked, float, str]]) -> float:
    """Return the strength of a day's can from what is asked of it. [mg/L of N]."""
    waits = sorted((since, ppm, each.task) for each, ppm, since in wanted if since)
    return alike((ppm for _, ppm, _ in wanted), waits[0][1] if waits else None)


def _by_day(asked: Asked) -> tuple[str, str]:
    return asked.on, asked.task


def _wanted(each: Asked, waiting: Mapping[int, str]) -> tuple[Asked, float, str] | None:
    """Return what is asked of the can with its strength and since when it waits; None for plain water."""
    since = waiting.get(each.plant, "")
    ppm = each.ppm_n if each.ppm_n is not None or not since else each.could_ppm_n
    return (each, ppm, since or each.since) if ppm is not None else None
