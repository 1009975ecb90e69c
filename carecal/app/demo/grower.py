"""The grower of the example: waters, feeds and flushes each plant about when the plan of its days asked for it."""

from __future__ import annotations

from datetime import date, timedelta
from functools import cached_property
from typing import TYPE_CHECKING
from zlib import crc32

from carecal.collection.entries import Done, Left
from carecal.collection.plants import Event
from carecal.planning.looks import Look, Looks
from carecal.planning.pace.estimates import PaceEstimate
from carecal.planning.plant_planner import PlantPlanner
from carecal.planning.rhythm.beats import Beats, beats_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.app.demo.story import Habit
    from carecal.collection.entries import Entry
    from carecal.collection.plants import PlantHistory
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.wettings.slots import Chain, Slot

__all__ = ["tend"]

LATE = 0.07  # share of the wettings that came a day late
LEFT = 0.2  # up to here from LATE: share of the rounds before a due day on which the pot was left, still damp
NEAR = 0.12  # of its days: how far from the due day a medium still feels right
PASSED = 0.4  # share of the looks at settled plants that nobody took


class _PacedDesk(PlantPlanner):
    """A plant as it truly dries: at its own pace from its first day, before anything was learned."""

    def __init__(self, line: PlantHistory, context: PlanContext, pace: float) -> None:
        super().__init__(line, context)
        self._pace = pace

    @cached_property
    def beats(self) -> Beats:
        """The rhythm of the pot at the plant's own pace."""
        return beats_of(
            self.stretches,
            self.context,
            [PaceEstimate(self.line.entered, self._pace, self._pace, self._pace, 0)],
        )


def tend(line: PlantHistory, context: PlanContext, habit: Habit, today: date) -> list[Entry]:
    """Return what the grower did for a plant from its first day to the day before today.

    Args:
        line: The plant, folded from the whole story.
        context: The context of the whole story, made on the plant's first day.
        habit: How the grower treats it.
        today: The day on which nothing is done yet.
    """
    last = today.toordinal() - 1 - habit.neglected
    if line.retired is not None:
        last = min(last, line.retired - 1)
    if habit.by_hand:
        return list(_by_hand(line, habit, today))
    return list(_Tending(line, context, habit, last).entries())


def _by_hand(line: PlantHistory, habit: Habit, today: date) -> Iterator[Entry]:
    """Yield cares done by the calendar alone; of two on a day only the later rule's."""
    found: dict[date, Entry] = {}
    for rule in habit.by_hand:
        for days in range(int(rule["from"]), int(rule["until"]) + 1, int(rule["every"])):
            on = today + timedelta(days=days)
            felt = rule["felt"] if days % 2 else None
            found[on] = Done(on=on, plant=line.id, care=rule["care"], felt=felt)
    yield from found.values()


class _Tending:
    def __init__(self, line: PlantHistory, context: PlanContext, habit: Habit, last: int) -> None:
        self.line, self.context, self.habit, self.last = line, context, habit, last
        self.plant_planner = _PacedDesk(line, context, habit.pace)
        self.made: list[Event] = []

    def entries(self) -> Iterator[Entry]:
        """Yield wettings, then the moistenings of aids, then the looks: who repots looks the plant over too."""
        pottings = [e for e in self.line.events if e.kind == "potted" and e.day <= self.last]
        yield from self._wettings(self.plant_planner.chain, list(pottings))
        for aid, chain in self.plant_planner.aids.items():
            yield from self._moistenings(chain, aid)
        yield from [self._look(potting.day) for potting in pottings]
        yield from self._looks(self._slots_as_planned())

    def _wettings(self, chain: Chain, pottings: list[Event]) -> Iterator[Entry]:
        while True:
            slot = chain.pending
            day = self._day(slot) if slot is not None else self.last + 1
            if pottings and pottings[0].day <= day:
                potting = pottings.pop(0)
                chain.run([potting], potting.day)
                continue
            if slot is None or day > self.last:
                return
            yield self._answer(chain, slot, day)

    def _answer(self, chain: Chain, slot: Slot, day: int) -> Entry:
        """Wet the pot, or leave it damp where the round came before the due day."""
        on = date.fromordinal(day)
        if self._is_left(slot, day):
            self._happens(chain, Event(day, 0, "left", care=slot.care, felt="damp"))
            return Left.model_validate({"on": on, "plant": self.line.id, "care": slot.care})
        felt = self._felt(slot, day)
        self._happens(chain, Event(day, 0, "wet", care=slot.care, felt=felt))
        return Done.model_validate({"on": on, "plant": self.line.id, "care": slot.care, "felt": felt})

    def _happens(self, chain: Chain, event: Event) -> None:
        chain.run([event], event.day)
        self.made.append(event)

    def _is_left(self, slot: Slot, day: int) -> bool:
        is_plain = slot.care in {"watering", "refilling"}
        is_early = day < slot.due and LATE <= self._chance(slot.id, "day") < LEFT
        return is_plain and is_early and not self._is_watched(day)

    def _felt(self, slot: Slot, day: int) -> str | None:
        """Return what is said of the medium: right about its due day, else what the days make of it."""
        if slot.care == "moistening" or self._chance(slot.id, "felt") >= self.habit.answers:
            return None
        off = day - slot.due
        near = max(1, round(NEAR * slot.beat.days))
        return "damp" if off < -near else "right" if off <= near else "parched"

    def _moistenings(self, chain: Chain, aid: str) -> Iterator[Entry]:
        while (slot := chain.pending) is not None and (day := self._day(slot)) <= self.last:
            chain.run([Event(day, 0, "aid", care="moistening", aid=aid)], day)
            yield Done.model_validate(
                {"on": date.fromordinal(day), "plant": self.line.id, "care": "moistening", "aid": aid}
            )

    def _slots_as_planned(self) -> list[Slot]:
        """Return the wettings as the plan sees them, which learned the plant's pace only from the answers."""
        self.line.events.extend(self.made)
        self.line.events.sort(key=lambda event: event.day)
        chain = PlantPlanner(self.line, self.context).chain
        later = {"wet", "left", "potted"}
        chain.run([e for e in self.line.events if e.kind in later and e.day > self.line.entered], self.last)
        return chain.slots()

    def _looks(self, slots: list[Slot]) -> Iterator[Entry]:
        """Yield looks where no wetting answered one: all that stayed overdue, most of those that passed."""
        tried: set[str] = set()
        while (look := self._unanswered(slots, tried)) is not None:
            tried.add(look.id)
            yield self._look(look.day)

    def _look(self, day: int) -> Entry:
        self.line.events.append(Event(day, 0, "look", care="inspection"))
        return Done(on=date.fromordinal(day), plant=self.line.id, care="inspection")

    def _unanswered(self, slots: list[Slot], tried: set[str]) -> Look | None:
        """Return the first look that stands unanswered and that the grower did not let pass."""
        looks = Looks(self.line, self.context, self.plant_planner.stretches, slots)
        looks.run(self.last)
        found = [k for k in looks.history if k.status == "skipped" and self._chance(k.id, "look") >= PASSED]
        look = looks.pending
        if look is not None and (look.status == "overdue" or look.joined_to is None):
            found.append(look)
        return next((look for look in found if look.day <= self.last and look.id not in tried), None)

    def _day(self, slot: Slot) -> int:
        """Return the day on which the grower comes to a slot: its care day, a day late, or back from an absence."""
        day = slot.deadline if self.context.is_away(slot.day) else slot.day
        if (
            self._chance(slot.id, "day") < LATE
            and not self._is_watched(day)
            and not self.context.is_away(day + 1)
        ):
            day += 1
        return day

    def _is_watched(self, day: int) -> bool:
        return self.context.is_on_watch(self.line.state_at(day), day)

    def _chance(self, task: str, what: str) -> float:
        """Return a number from 0 up to 1 that only the plant, the task and the question decide."""
        return crc32(f"{self.line.id}/{task}/{what}".encode()) / 2**32
