"""What was written of the days of a calendar, kept from one making to the next; it decides nothing."""

from __future__ import annotations

from datetime import date
from operator import is_
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Hashable, Sequence

    from carecal.calendars.content import Part
    from carecal.plan.model import Fact, PlantView, Round

__all__ = ["MadeParts"]


class MadeParts:
    """Parts of days by what they were written of, for one set of options and one day of the plan.

    A plan hands on the very same round, fact and view where nothing of it differs: what was written of these objects
    holds for them. Whoever writes again takes it up and brings it up to date.

    Attributes:
        rounds: Parts of care days, each with its round; None: nothing is shown of it.
    """

    def __init__(self) -> None:
        self.rounds: dict[date, tuple[Round, Part | None]] = {}
        self._records: dict[date, tuple[Sequence[Fact], Part]] = {}
        self._lines: dict[int, tuple[PlantView, dict[Hashable, str]]] = {}
        self._warned: frozenset[str] = frozenset()

    def warn(self, warned: frozenset[str]) -> None:
        """Let go what was written of care days where other cautions were read since."""
        if warned != self._warned:
            self.rounds.clear()
        self._warned = warned

    def record(self, facts: Sequence[Fact]) -> Part | None:
        """Return what was written of the facts of a day; None where these are not the very same."""
        before = self._records.get(facts[0].on)
        if before is None or len(before[0]) != len(facts) or not all(map(is_, before[0], facts)):
            return None
        return before[1]

    def keep_record(self, facts: Sequence[Fact], part: Part) -> None:
        """Keep what was written of the facts of a day."""
        self._records[facts[0].on] = facts, part

    def lines(self, view: PlantView) -> dict[Hashable, str]:
        """Return the lines of a plant that were worded already, by all that they say; to be added to."""
        kept = self._lines.get(view.number)
        if kept is None or kept[0] is not view:
            kept = self._lines[view.number] = view, {}
        return kept[1]
