"""The numbered wettings of one plant: what became of them, which one is next, and how they go on (models I5-I7).

History and status run on one chain, that of the care days; beyond the first planned slot a chain goes on from due
day to due day (`each`) or from care day to care day (`rounds`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.horticulture.rounding import half_up
from carecal.planning.sick.aftercare import first_wetting
from carecal.planning.wettings.ahead import slots_ahead
from carecal.planning.wettings.care_day import care_day
from carecal.planning.wettings.feeding import Tally, counted, waits_since
from carecal.planning.wettings.salting import Pour
from carecal.planning.wettings.slips import window_of
from carecal.planning.wettings.slot import Anchor, Slot
from carecal.planning.wettings.way import Way, Window

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from carecal.collection.plants import Event, PlantHistory
    from carecal.plan.model import Grouping
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.rhythm.beats import Beat, Beats
    from carecal.planning.wettings.early import Early
    from carecal.planning.wettings.salting import Salting

__all__ = ["Chain", "Slot"]

MAX_ASSUMED = 2  # design §3 rule 2: assumed at most twice running
LEFT_SHARE = 0.25  # design §3 rule 3: again after a quarter of the days
UNKNOWN_DAYS = 4  # models I9: what is missing is asked for every 4 days
OFF = frozenset({"damp", "parched"})  # felt so, the next wetting is a look: the interval was wrong


class Chain:
    """The wettings of a pot, or the moistenings of an aid, from the plant's entry to `as_of` and on.

    Args:
        line: The plant.
        context: Climate, settings and days of the plan.
        beats: Its rhythm.
        path: 'wetting', or the aid's name.
        decide: Gives care, strength [mg/L of N] and reason for a slot.
        start: First day of the chain (ordinal).
        last: Last wetting known before the start, or None.
        salting: Follows the salts of the pot; None: they are not followed.
        early: The one wetting that brings the plant over to the care days; None: none was taken.
        rides: Gives the days on which the pot is wetted, for an aid that rides on them.
    """

    def __init__(
        self, line: PlantHistory, context: PlanContext, beats: Beats, path: str,
        decide: Callable[[int, int, int, Tally, Beat, int], tuple[str, float | None, str]],
        start: int, last: int | None, salting: Salting | None = None, early: Early | None = None,
        rides: Callable[[], frozenset[int]] = frozenset,
    ) -> None:  # fmt: skip
        self.line, self.context, self.beats, self.path = line, context, beats, path
        self._decide, self._start, self.salting = decide, start, salting
        self._last, self._early, self._rides = last, early, rides
        self._way = Way(beats, context, of_pot=path == "wetting")
        self._forced = start if last is None else None  # a due day that holds whatever the rhythm says
        self._not_before = start
        self.number, self._potting = 0, line.state_at(start).potting
        self._assumed, self._honest = 0, False
        self._felt_off = ""  # how the medium felt last, where that was damp or parched
        self._is_asked_again = (
            False  # the last word was that it got no water: what is not answered stays open
        )
        self._waits: int | None = None  # since when a feed that was asked for has not been given
        self.tally = Tally(start, wetted=last)
        self.history: list[tuple[Slot, Anchor]] = []
        self.archive: list[Slot] = []  # those of former pottings
        self.pending: Slot | None = None
        self._make()

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
        wet = [event.day for event in events if event.kind == "wet"]
        if not wet:
            return
        self.number -= 1 if self.pending is not None else 0
        self._last, self._forced = None, None
        self.tally = Tally(wet[0], wetted=None)
        for event in events:
            if event.kind == "wet":
                self.tally = self.counted(self.tally, Pour.of(event))
                is_timed = self._last is not None
                self._last, self._forced, self._is_asked_again = event.day, None, False
                self._hear(event, is_timed=is_timed)
            elif event.kind == "left" and self._last is not None:
                beat = self.beats.first_from(event.day)
                self._honest, self._felt_off, self._is_asked_again = True, "damp", True
                self._forced = max(
                    self._start, self._again(event, beat.days if beat is not None else UNKNOWN_DAYS)
                )
        self._make()

    @property
    def last(self) -> int | None:
        """Day of the last wetting, done or assumed; None where none is known."""
        return self._last

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

    def _make(self) -> None:
        due = self._forced
        if due is None and self._last is not None:
            due = self.beats.next_due(self._last)
        if due is None:
            self.pending = None
            return
        anchor = self._last if self._last is not None else self._start - 1
        slot = self.slot(self.number + 1, max(due, self._not_before), anchor, self.tally)
        if slot is not None:
            slot = self._brought_over(slot, anchor)
            self.number += 1
            first = self._forced is not None and not self._honest and self.number == 1
            slot = self._sooner(
                slot._replace(is_certain=self._honest and not self._felt_off, is_first_look=first)
            )._replace(waits_since=self._waits if slot.care == "feeding" else None)
        self.pending = slot

    def _brought_over(self, slot: Slot, anchor: int) -> Slot:
        """Return a wetting on the early day that was taken for it; another one, or one not fit for it, as it is."""
        early = self._early
        if early is None or self._forced is not None or self._felt_off or self._last is None:
            return slot
        if not (self._last <= early.told < early.day < slot.day and early.is_allowed(self._last, slot)):
            return slot
        made = self.slot(slot.number, early.day, anchor, self.tally)
        if made is None or made.due != early.day:
            return slot
        return made._replace(day=early.day, earliest=early.day, latest=slot.latest, deadline=slot.deadline)

    def _give_up_early(self) -> None:
        """Put a wetting that was brought over back on its own day: who is still damp waits for that."""
        early, self._early, slot = self._early, None, self.pending
        if early is not None and slot is not None and slot.due == early.day and slot.answered is None:
            self.number -= 1
            self._make()

    def _sooner(self, slot: Slot) -> Slot:
        """Return a wetting whose medium was felt parched last time on the first day that its window allows."""
        if self._felt_off != "parched":
            return slot
        first = max(slot.earliest, self._not_before)
        day = care_day(
            first, first, slot.latest, slot.beat.terms.tie, self.context, floor_day=self._not_before
        )
        return slot._replace(day=min(day, slot.day))

    def slot(self, number: int, due: int, anchor: int, tally: Tally) -> Slot | None:
        """Return the wetting of a number that is due on a day, after one on `anchor`; None beyond the rhythm."""
        beat = self.beats.first_from(due)
        if beat is None:
            return None
        due = max(due, beat.start)
        first = max(anchor + 1, self._not_before)
        earliest, latest = window_of(self.beats, beat, due, first, of_pot=self.path == "wetting")
        window = Window(earliest, due, latest, beat.terms.tie, beat.terms.care)
        day = self._way.day(window, floor_day=anchor + 1, rides=self._rides())
        following = self.beats.next_due(due)
        care, ppm, why = self._decide(
            due, day, following if following is not None else due + beat.days, tally, beat, anchor
        )
        name = f"task/{self.line.number}/{self._potting}/{self.path}/{number}"
        reckoned = self.salting is not None and self.salting.is_reckoned(tally)
        return Slot(
            name, number, self._potting, due, earliest, latest, day, self.context.deadline(max(latest, day)), beat,
            care, ppm, why, is_certain=self._honest, salt_ms_cm=tally.salt_ms_cm if reckoned else None,
        )  # fmt: skip

    def advance(self, day: int) -> None:
        """Settle what passed its window before a day: assumed, overdue, or taken away by a gap."""
        while self.pending is not None:
            slot = self.pending
            if slot.deadline >= day:
                return
            if slot.status == "overdue" or self._becomes_overdue(slot):
                last_free = self.beats.run_end(slot.due)
                if last_free >= day:
                    self.pending = slot._replace(status="overdue", deadline=day)
                    return
                self._close(slot._replace(status="skipped"))
                self._forced, self._not_before = last_free + 1, last_free + 1
                self._make()
                continue
            # never on a day on which nobody was there
            slot = slot._replace(day=self.context.deadline(slot.day))
            self._close(slot._replace(status="assumed"))
            self._assumed += 1
            self._waits = waits_since(self._waits, "", slot.care, slot.day)
            self.tally = self.counted(
                self.tally, Pour(slot.care, slot.day, is_assumed=True, ppm_n=slot.ppm_n)
            )
            self._last, self._forced, self._not_before = slot.day, None, slot.day + 1
            self._make()

    def _becomes_overdue(self, slot: Slot) -> bool:
        ticking = self.context.ticking(slot.latest)
        if ticking == "none":
            return False
        if ticking == "careful" or slot.is_excepted or self._is_asked_again or self._assumed >= MAX_ASSUMED:
            return True
        return self.context.is_on_watch(self.line.state_at(slot.latest), slot.latest)

    def counted(self, tally: Tally, pour: Pour) -> Tally:
        """Return the tally after a wetting, salts included."""
        after = counted(tally, pour.care, pour.day, assumed=pour.is_assumed)
        return after if self.salting is None else self.salting.after(tally, after, pour)

    def _close(self, slot: Slot) -> None:
        self.history.append((slot, Anchor(self._last, self._forced, self.tally, self._assumed)))

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
        again = self._again(event, slot.beat.days if slot is not None else UNKNOWN_DAYS)
        if slot is not None:
            if event.day < slot.earliest and event.again_days is None:
                again = max(again, slot.due)
            self._close(slot._replace(status="left", answered=event.day, entry=event.entry))
        self._honest, self._assumed, self._felt_off = self._honest or self._last is not None, 0, "damp"
        self._forced, self._not_before, self._is_asked_again = again, event.day + 1, True
        self._make()

    def _again(self, event: Event, days: int) -> int:
        """Return the day on which what was left is looked at again."""
        return event.day + (event.again_days or max(1, half_up(LEFT_SHARE * days)))

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
