"""What was written of the days of a calendar, kept from one making to the next; it decides nothing."""

from __future__ import annotations

from datetime import date
from operator import is_
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Sequence

    from carecal.calendars.content import Part
    from carecal.plan.model import Fact, PlantView, Round, Task

    RoundPart = tuple[Part, tuple[int, ...]]

__all__ = ["MadeParts", "Stop"]


class Stop(NamedTuple):
    """One plant of a round, worded.

    Attributes:
        of: The very tasks that it was worded of.
        tasks: Those of them that are shown.
        view: The plant, as it was when it was worded.
        line: What is to be done; empty where nothing is shown.
        is_late: Whether one of them is overdue.
    """

    of: tuple[Task, ...]
    tasks: tuple[Task, ...]
    view: PlantView
    line: str
    is_late: bool


class MadeParts:
    """Parts of days by what they were written of, for one set of options and one day of the plan.

    A plan hands on the very same round, fact and view where nothing of it differs: what was written of these objects
    holds for them. Whoever writes again takes it up and brings it up to date.

    Args:
        is_lasting: Whether another making comes; else nothing is kept that is read once.
    """

    def __init__(self, *, is_lasting: bool = False) -> None:
        self._is_lasting = is_lasting
        self._rounds: dict[date, tuple[Round, RoundPart | None]] = {}
        self._stops: dict[date, dict[int, Stop]] = {}
        self._records: dict[date, tuple[Sequence[Fact], Part]] = {}
        self._lines: dict[int, tuple[PlantView, dict[Hashable, str]]] = {}
        self._warned: frozenset[str] = frozenset()

    def warn(self, warned: frozenset[str]) -> None:
        """Let go what was written of care days where other cautions were read since."""
        if warned != self._warned:
            self._rounds.clear()
        self._warned = warned

    def round_part(self, round_: Round, make: Callable[[Round], RoundPart | None]) -> RoundPart | None:
        """Return what is written of a round with its plants, without basis; None: nothing is shown of it."""
        before = self._rounds.get(round_.on)
        if before is not None and before[0] is round_:
            return before[1]
        part = make(round_)
        if self._is_lasting:
            self._rounds[round_.on] = round_, part
        return part

    def round_stops(self, round_: Round, make: Callable[[tuple[Task, ...]], Stop]) -> list[Stop]:
        """Return what is worded of the plants of a round, in order."""
        before, found = self._stops.get(round_.on, {}), {}  # type: dict[int, Stop], dict[int, Stop]
        for tasks in round_.stops:
            stop = before.get(id(tasks))
            found[id(tasks)] = stop if stop is not None and stop.of is tasks else make(tasks)
        if self._is_lasting:
            self._stops[round_.on] = found
        return list(found.values())

    def record(self, facts: Sequence[Fact], make: Callable[[Sequence[Fact]], Part]) -> Part:
        """Return what is written of the facts of a day."""
        before = self._records.get(facts[0].on)
        if before is not None and len(before[0]) == len(facts) and all(map(is_, before[0], facts)):
            return before[1]
        part = make(facts)
        if self._is_lasting:
            self._records[facts[0].on] = facts, part
        return part

    def lines(self, view: PlantView) -> dict[Hashable, str]:
        """Return the lines of a plant that were worded already, by all that they say; to be added to."""
        kept = self._lines.get(view.number)
        if kept is None or kept[0] is not view:
            kept = self._lines[view.number] = view, {}
        return kept[1]
