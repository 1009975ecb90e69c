"""One plant's history: its states from day to day and what happened to it, in day ordinals; `plant_fold` makes it."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field
from math import inf
from typing import TYPE_CHECKING, Any

from carecal.collection.plant_states import (
    Announcement,
    Beside,
    Event,
    PestWatch,
    PlantState,
)

if TYPE_CHECKING:
    from carecal.collection.records import Record

__all__ = ["Announcement", "Event", "PestWatch", "PlantHistory", "PlantState"]


@dataclass(slots=True)
class PlantHistory:
    """A plant's whole line: identity, states by day, events by day."""

    number: int
    id: str
    name: str
    entered: int
    watered: int | None = None
    states: list[PlantState] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    counts: list[tuple[int, PlantState]] = field(default_factory=list)  # observation days, the state after
    measured: list[tuple[int, str, float]] = field(default_factory=list)  # day, what was counted, its number
    besides: list[Beside] = field(default_factory=list)
    firmness: list[tuple[int, str]] = field(default_factory=list)  # day and word, limp told as soft
    announced: list[Announcement] = field(default_factory=list)
    retired: int | None = None
    retired_because: str | None = None
    note: str = ""
    photos: list[tuple[int, str]] = field(default_factory=list)
    newest_written: str = ""
    before: PlantHistory | None = None  # what is told of the days from its coming to its entry; None: nothing

    @property
    def told(self) -> list[Event]:
        """All that happened to it by day, what is told of before it was entered included."""
        return self.events if self.before is None else [*self.before.events, *self.events]

    def state_then(self, day: int) -> PlantState:
        """Return what it was on a day: before it was entered, as far as that is told."""
        is_before = self.before is not None and day < self.entered
        return self.before.state_at(day) if self.before is not None and is_before else self.state_at(day)

    def state_at(self, day: int) -> PlantState:
        """Return the state in force on a day; the first one before it begins."""
        return self.states[max(bisect_right(self.states, (day, inf)) - 1, 0)]  # they begin with day and entry

    @property
    def latest(self) -> PlantState:
        """The newest state."""
        return self.states[-1]

    def change(self, record: Record, **values: Any) -> None:
        """Begin a new state on the record's day."""
        day = record.on.toordinal()
        state = self.states[-1]._replace(day=day, entry=record.n, written=record.written, **values)
        if self.states[-1].day == day:
            self.states[-1] = state
        else:
            self.states.append(state)

    def happen(self, record: Record, kind: str, **values: Any) -> None:
        """Add an event on the record's day."""
        self.events.append(
            Event(record.on.toordinal(), record.n, kind, written=record.written, by=record.by, **values)
        )
