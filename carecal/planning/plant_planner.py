"""One plant: its stretches, rhythm, gates, slots and looks, followed up to the plan's day."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from carecal.planning.forecasts.questions import question_for
from carecal.planning.look_days import JOINABLE
from carecal.planning.looks import Look, Looks
from carecal.planning.pace.estimates import PaceEstimate, estimate_on, estimates, heard_as
from carecal.planning.pace.questions import felt_last, wanted_of
from carecal.planning.rhythm.beats import Beats, beats_of, reading_days
from carecal.planning.rhythm.resting import Resting, rests_of
from carecal.planning.rhythm.situations import Situation, situations
from carecal.planning.spans import merge
from carecal.planning.wettings.aids import aid_chains, beats_of_aid, is_of_pot
from carecal.planning.wettings.deciding import Deciding
from carecal.planning.wettings.early import early_of
from carecal.planning.wettings.gates import FeedingGates
from carecal.planning.wettings.salting import Salting
from carecal.planning.wettings.slots import Chain, Slot

if TYPE_CHECKING:
    from carecal.collection.plants import Event, PlantHistory
    from carecal.plan.model import Gate, Grouping
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.spans import Span

__all__ = ["WETTING", "PlantPlanner"]

WETTING = "wetting"
NEAR_DAYS = 42  # our choice, because a look is never further ahead than a month and its slip [d]


class PlantPlanner:
    """Everything planned for one plant; parts are worked out when they are asked for."""

    def __init__(self, line: PlantHistory, context: PlanContext) -> None:
        self.line, self.context = line, context
        self._ahead: dict[tuple[Grouping, int], list[Slot]] = {}

    @cached_property
    def stretches(self) -> list[Situation]:
        """The plant's situations from its entry to the last day planned."""
        return situations(self.line, self.context)

    @cached_property
    def rests(self) -> list[Resting]:
        """The plant's rests from its entry to the last day planned."""
        return rests_of(self.line, self.context, self.line.entered, self.context.last_day)

    @cached_property
    def estimates(self) -> list[PaceEstimate]:
        """What the plant has taught, by day."""
        return estimates(self.line, self.context, self.stretches)

    @cached_property
    def beats(self) -> Beats:
        """The rhythm of the pot."""
        return beats_of(self.stretches, self.context, self.estimates)

    def taught_on(self, day: int) -> PaceEstimate:
        """Return what the plant had taught by a day, for the light of the days from then on (models K5)."""
        place = self.line.state_at(day).place
        return estimate_on(self.estimates, day).at(self.context.light_swing(place, *reading_days(day)))

    @cached_property
    def gates(self) -> FeedingGates:
        """The gates of feeding, but for the salts, which follow from the slots."""
        return FeedingGates(self.line, self.context, self.stretches)

    @cached_property
    def deciding(self) -> Deciding:
        """What each wetting of the pot is."""
        return Deciding(self.line, self.context, self.stretches, self.rests, self.beats, self.gates)

    @property
    def salting(self) -> Salting:
        """The salts of the pot."""
        return self.deciding.salting

    @cached_property
    def chain(self) -> Chain:
        """The wettings of the pot up to the plan's day."""
        chain = Chain(
            self.line,
            self.context,
            self.beats,
            WETTING,
            self.deciding.decide,
            self.line.entered,
            self.line.watered,
            self.salting,
            early_of(self.line.number, self.context, lambda: self.stretches),
        )
        kinds = {"wet", "left", "excepted", "missed", "potted"}
        of_pot = (
            e for e in self.line.events if e.kind in kinds and e.aid is None and is_of_pot(self.line, e)
        )
        chain.remember(self._of_pot_before())
        chain.run([heard_as(event, self.estimates) for event in of_pot], self.context.as_of)
        return chain

    def _of_pot_before(self) -> list[Event]:
        """Return what is told of the wettings of the pot from before the plant was entered."""
        before, first = self.line.before, max(self.line.states[0].potted or 0, self.context.air_from)
        kinds = {"wet", "left"}
        told = before.events if before is not None else []
        mine = (
            e
            for e in told
            if e.kind in kinds and e.aid is None and e.day >= first and is_of_pot(self.line, e)
        )
        return [heard_as(event, self.estimates) for event in mine]

    def answer_wanted(self, slot: Slot) -> str | None:
        """Return None where no answer at the next wetting would teach; else '', or how to get one that measures."""
        if slot is not self.chain.pending or slot.is_first_look:
            return None
        estimate = self.taught_on(self.context.as_of)
        return wanted_of(estimate, max(0, slot.due - estimate.day) / 7, felt_last(self.line))

    def gate_report(self) -> list[Gate]:
        """Return every gate of feeding as it stands on the plan's day, salts included."""
        return self.gates.report(self.context.as_of, self.salt_spans())

    def salt_spans(self) -> list[Span]:
        """Return the days on which the salts of the pot hold feeding back: from the limit until it is flushed."""
        if not self.salting.may_matter(self.chain.tally):
            return []
        found, since = [], self.context.as_of
        for slot in self.slots_ahead("rounds"):
            if self.salting.is_over(slot.salt_ms_cm):
                found.append((since, slot.day))
            since = slot.day + 1
        return merge(found)

    @cached_property
    def aids(self) -> dict[str, Chain]:
        """The moistenings of each aid in use on the plan's day that asks for them."""
        return aid_chains(self.line, self.context, self.aid_beats, lambda: self.pot_days)

    @cached_property
    def pot_days(self) -> frozenset[int]:
        """The days on which the pot is wetted, as planned or as they were (ordinals); an overdue one has none."""
        slots = [*self.chain.slots(), *self.slots_ahead("rounds")]
        return frozenset(slot.day for slot in slots if slot.status in JOINABLE)

    def aid_beats(self, aid: str, given: int) -> Beats:
        """Return the rhythm of an aid's moistening."""
        return beats_of_aid(aid, given, self.line, self.stretches, self.context)

    @cached_property
    def looks(self) -> Looks:
        """The looks up to the plan's day."""
        slots, asks = self._slots_near(), lambda day: bool(question_for(self, day))
        looks = Looks(self.line, self.context, self.stretches, slots, asks)
        looks.run(self.context.as_of)
        return looks

    def _slots_near(self) -> list[Slot]:
        """Return the wettings up to now and those that a look near the plan's day may ride on."""
        until = min(self.context.as_of + NEAR_DAYS, self.context.last_day)
        return [*self.chain.slots(), *list(self.chain.ahead("rounds", until))[1:]]

    def move_to(self, day: int) -> None:
        """Go on to a later day, up to which nothing was entered; the scene has moved there before."""
        if "chain" in self.__dict__:
            was_suspended = self.chain.is_suspended
            self.chain.advance(day)
            if was_suspended and not self.chain.is_suspended:
                self.__dict__.pop("looks", None)  # looks of the time it was overdue may be joined to it now
        for name in ("aids", "pot_days"):
            self.__dict__.pop(name, None)  # they ride on the wettings of the pot, which have moved on
        if "looks" in self.__dict__:
            self._ahead.clear()
            self.looks.move_to(day, self._slots_near())
        self._ahead.clear()

    def forget(self) -> None:
        """Let go of all that was worked out; what is asked for again is worked out again."""
        line, context = self.line, self.context
        self.__dict__.clear()
        PlantPlanner.__init__(self, line, context)

    def wettings_ahead(self, grouping: Grouping) -> int:
        """Return how many wettings of the pot stand ahead, moistenings of a bare surface aside."""
        return sum(slot.beat.terms.care != "moistening" for slot in self.slots_ahead(grouping))

    def slots_ahead(self, grouping: Grouping, until: int | None = None) -> list[Slot]:
        """Return the pending wetting and those after it, to a last day; None: the last day planned."""
        key = grouping, self.context.last_day if until is None else until
        if key not in self._ahead:
            self._ahead[key] = list(self.chain.ahead(*key))
        return self._ahead[key]

    def looks_ahead(self, grouping: Grouping, slots: list[Slot], until: int | None = None) -> list[Look]:
        """Return the pending look and those after it, joined to wettings of the same grouping."""
        return list(self.looks.ahead(grouping, slots, self.context.last_day if until is None else until))
