"""How the wettings of a plant go on by themselves: each made from the last, settled when its window has passed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.planning.wettings.care_day import care_day
from carecal.planning.wettings.feeding import Tally, counted, waits_since
from carecal.planning.wettings.salting import Pour
from carecal.planning.wettings.slips import window_of
from carecal.planning.wettings.slot import Anchor, Slot
from carecal.planning.wettings.way import Way, Window

if TYPE_CHECKING:
    from collections.abc import Callable

    from carecal.collection.plants import PlantHistory
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.rhythm.beats import Beat, Beats
    from carecal.planning.wettings.early import Early
    from carecal.planning.wettings.salting import Salting

__all__ = ["Walk"]

MAX_ASSUMED = 2  # design §3 rule 2: assumed at most twice running


class Walk:
    """The wettings of a pot, or the moistenings of an aid, as they go on from the plant's entry where nothing is told.

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
        self,
        line: PlantHistory,
        context: PlanContext,
        beats: Beats,
        path: str,
        decide: Callable[[int, int, int, Tally, Beat, int], tuple[str, float | None, str]],
        start: int,
        last: int | None,
        salting: Salting | None = None,
        early: Early | None = None,
        rides: Callable[[], frozenset[int]] = frozenset,
    ) -> None:
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

    @property
    def last(self) -> int | None:
        """Day of the last wetting, done or assumed; None where none is known."""
        return self._last

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
            name,
            number,
            self._potting,
            due,
            earliest,
            latest,
            day,
            self.context.deadline(max(latest, day)),
            beat,
            care,
            ppm,
            why,
            is_certain=self._honest,
            salt_ms_cm=tally.salt_ms_cm if reckoned else None,
        )

    def counted(self, tally: Tally, pour: Pour) -> Tally:
        """Return the tally after a wetting, salts included."""
        after = counted(tally, pour.care, pour.day, assumed=pour.is_assumed)
        return after if self.salting is None else self.salting.after(tally, after, pour)

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

    def _sooner(self, slot: Slot) -> Slot:
        """Return a wetting whose medium was felt parched last time on the first day that its window allows."""
        if self._felt_off != "parched":
            return slot
        first = max(slot.earliest, self._not_before)
        day = care_day(
            first, first, slot.latest, slot.beat.terms.tie, self.context, floor_day=self._not_before
        )
        return slot._replace(day=min(day, slot.day))

    def _becomes_overdue(self, slot: Slot) -> bool:
        ticking = self.context.ticking(slot.latest)
        if ticking == "none":
            return False
        if ticking == "careful" or slot.is_excepted or self._is_asked_again or self._assumed >= MAX_ASSUMED:
            return True
        return self.context.is_on_watch(self.line.state_at(slot.latest), slot.latest)

    def _close(self, slot: Slot) -> None:
        self.history.append((slot, Anchor(self._last, self._forced, self.tally, self._assumed)))
