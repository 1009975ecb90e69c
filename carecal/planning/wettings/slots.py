"""The numbered wettings of one plant: what is told of them, what became of them, which one is next (models I5-I7).

History and status run on one chain, that of the care days; beyond the first planned slot a chain goes on from due
day to due day (`each`) or from care day to care day (`rounds`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.planning.sick.aftercare import first_wetting
from carecal.planning.wettings.ahead import slots_ahead
from carecal.planning.wettings.feeding import Tally, waits_since
from carecal.planning.wettings.remembered import OFF, UNKNOWN_DAYS, again_on, remembered
from carecal.planning.wettings.salting import Pour
from carecal.planning.wettings.slot import Slot
from carecal.planning.wettings.walk import Walk

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.collection.plants import Event
    from carecal.plan.model import Grouping

__all__ = ["Chain", "Slot"]


class Chain(Walk):
    """The wettings of a pot, or the moistenings of an aid, from the plant's entry to `as_of` and on.

    What is told moves them; how they go on where nothing is told is the walk's.
    """

    def run(self, events: list[Event], as_of: int) -> None:
        """Fold what happened up to a day, in order; afterwards `pending` is the slot that stands open or ahead."""
        for event in events:
            if event.day <= as_of:
                self.advance(event.day)
                self._apply(event)
        self.advance(as_of)

    def remember(self, events: list[Event]) -> None:
        """Take what is told of the days before the start: what went in and how it felt; none of it is a slot.

        Args:
            events: Wettings and looks of this pot, in order; none lies on the first day or later.
        """
        found = remembered(events, self.beats, self.counted)
        if found is None:
            return
        self.number -= 1 if self.pending is not None else 0
        self.tally, self._last = found.tally, found.last
        self._forced = None if found.again is None else max(self._start, found.again)
        self._honest, self._felt_off = found.is_honest, found.felt_off
        self._is_asked_again = found.again is not None
        self._make()

    @property
    def is_suspended(self) -> bool:
        """Whether an overdue slot holds back all later ones."""
        return self.pending is not None and self.pending.status == "overdue"

    def slots(self) -> list[Slot]:
        """Return past slots of all pottings and the pending one, in order."""
        return self.archive + [slot for slot, _ in self.history] + ([self.pending] if self.pending else [])

    def ahead(self, grouping: Grouping, until: int) -> Iterator[Slot]:
        """Yield the pending slot and those that follow it, to a last day; the chain itself is left as it is."""
        return slots_ahead(self, grouping, until)

    def feeds_as(self, slot: Slot, tally: Tally, anchor: int) -> float | None:
        """Return the strength at which a slot would be fed after other wettings than its own; None: not fed. [mg/L]."""
        following = self.beats.next_due(slot.due) or slot.due + slot.beat.days
        care, ppm, _ = self._decide(slot.due, slot.day, following, tally, slot.beat, anchor)
        return ppm if care == "feeding" else None

    def _give_up_early(self) -> None:
        """Put a wetting that was brought over back on its own day: who is still damp waits for that."""
        early, self._early, slot = self._early, None, self.pending
        if early is not None and slot is not None and slot.due == early.day and slot.answered is None:
            self.number -= 1
            self._make()

    def _apply(self, event: Event) -> None:
        if event.kind == "potted":
            self._pot(event)
        elif event.kind in {"wet", "aid"}:
            self._wet(event)
        elif event.kind == "left":
            self._leave(event)
        elif event.kind == "excepted" and self.pending is not None and event.task == self.pending.id:
            self.pending = self.pending._replace(is_excepted=True)
        elif event.kind == "missed":
            self._miss(event)

    def _pot(self, event: Event) -> None:
        self.archive.extend(slot for slot, _ in self.history)
        self.history.clear()
        state = self.line.state_at(event.day)
        self._potting = state.potting
        self.number, self._assumed, self._honest, self._felt_off, self._waits = 0, 0, False, "", None
        self.tally = Tally(event.day, wetted=event.day if event.watered else None)
        self._last = event.day if event.watered or self.path != "wetting" else None
        self._forced = (
            None if self._last is not None else first_wetting(state, self.context, self.line.number)
        )
        self._start, self._not_before, self._is_asked_again = event.day, event.day + 1, False
        self._make()

    def _wet(self, event: Event) -> None:
        former = self.history[-1][0] if self.history else None
        if former is not None and former.answered == event.day and former.status == "done" and not event.task:
            self._upgrade(event)
            return
        if event.task:
            self._go_back_to(event.task)
        slot = self.pending
        if slot is not None:
            self._close(slot._replace(status="done", answered=event.day, entry=event.entry))
            self._waits = waits_since(self._waits, slot.care, event.care, event.day)
        self.tally = self.counted(self.tally, Pour.of(event))
        is_timed = self._last is not None  # what is felt tells a pace only from a wetting on
        self._last, self._forced, self._assumed, self._is_asked_again = event.day, None, 0, False
        self._hear(event, is_timed=is_timed)
        self._not_before = event.day + 1
        self._make()

    def _hear(self, event: Event, *, is_timed: bool) -> None:
        """Take what a wetting says of the rhythm: a round ticked as a whole says nothing (design §3 rule 1)."""
        if event.unseen:
            return
        self._honest, self._felt_off = self._honest or is_timed, event.felt if event.felt in OFF else ""

    def _upgrade(self, event: Event) -> None:
        """Take a second wetting of the same day as part of the first: what was done counts."""
        self._hear(event, is_timed=self.history[-1][1].last is not None)
        self._waits = waits_since(self._waits, "", event.care, event.day)
        self.tally = self.counted(self.tally, Pour.of(event))
        self.number -= 1 if self.pending is not None else 0
        self._make()

    def _go_back_to(self, task: str) -> None:
        """Undo assumed slots back to the one an entry names."""
        names = [slot.id for slot, _ in self.history]
        if task not in names or self.history[names.index(task)][0].status != "assumed":
            return
        at = names.index(task)
        slot, anchor = self.history[at]
        if any(later.status == "done" for later, _ in self.history[at:]):
            return
        del self.history[at:]
        self.number = slot.number
        self._last, self._forced = anchor.last, anchor.forced
        self.tally, self._assumed = anchor.tally, anchor.assumed
        self.pending = slot._replace(status="planned")

    def _leave(self, event: Event) -> None:
        self._give_up_early()
        slot = self.pending
        again = again_on(event, slot.beat.days if slot is not None else UNKNOWN_DAYS)
        if slot is not None:
            if event.day < slot.earliest and event.again_days is None:
                again = max(again, slot.due)
            self._close(slot._replace(status="left", answered=event.day, entry=event.entry))
        self._honest, self._assumed, self._felt_off = self._honest or self._last is not None, 0, "damp"
        self._forced, self._not_before, self._is_asked_again = again, event.day + 1, True
        self._make()

    def _miss(self, event: Event) -> None:
        """Take all trailing open, overdue or assumed slots back: drying goes on from the last real wetting."""
        if self.pending is not None and self.pending.day <= event.day:
            self._close(self.pending._replace(status="skipped"))
        else:
            self.number -= 1 if self.pending is not None else 0
        index = len(self.history)
        while index and self.history[index - 1][0].status in {"assumed", "skipped"}:
            index -= 1
        for at in range(index, len(self.history)):
            slot, anchor = self.history[at]
            self.history[at] = (slot._replace(status="skipped"), anchor)
        if index < len(self.history):
            anchor = self.history[index][1]
            self._last, self.tally = anchor.last, anchor.tally
        self._assumed, self._forced, self._not_before, self._is_asked_again = 0, event.day, event.day, True
        self._make()
