"""One plant: its stretches, rhythm, gates, slots and looks, followed up to the plan's day."""

from __future__ import annotations

from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

from carecal.horticulture.learning import ASK_AFTER_CENSORED
from carecal.planning.forecasts.questions import question_for
from carecal.planning.look_days import JOINABLE
from carecal.planning.looks import Look, Looks
from carecal.planning.pace.estimates import PaceEstimate, estimate_on, estimates, heard_as
from carecal.planning.pace.questions import ask_felt, felt_last
from carecal.planning.pauses import pause_spans
from carecal.planning.places.weather import is_medium_cold
from carecal.planning.rhythm.beats import Beat, Beats, beats_of, reading_days
from carecal.planning.rhythm.resting import Resting, rests_of
from carecal.planning.rhythm.situations import Situation, situation_at, situations
from carecal.planning.rhythm.terms import FULL, profile_of
from carecal.planning.sick.rot import technique_on
from carecal.planning.spans import covers, merge
from carecal.planning.wettings.aids import aid_chains, beats_of_aid
from carecal.planning.wettings.early import early_of
from carecal.planning.wettings.feeding import (
    CareRules,
    Tally,
    care_of_slot,
    follows_pause,
    is_fed_by_calendar,
    light_class_of,
    salty_flushes,
)
from carecal.planning.wettings.gates import FeedingGates
from carecal.planning.wettings.salting import Salting
from carecal.planning.wettings.seasonal import by_season
from carecal.planning.wettings.slots import Chain, Slot
from carecal.planning.wettings.strength import LEAST_PPM, strength_of
from carecal.wording.pace import FEEL_AGAIN, WAIT_FOR_RIGHT
from carecal.wording.rhythm import NO_ROOM

if TYPE_CHECKING:
    from carecal.collection.plants import Event, PlantHistory
    from carecal.plan.model import Gate, Grouping
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.spans import Span

__all__ = ["WETTING", "PlantPlanner"]

WETTING = "wetting"
NEAR_DAYS = 42  # our choice, because a look is never further ahead than a month and its slip [d]
CLAY, TWICE_A_MONTH = "expanded-clay", 15  # trade-facts D7, the other side: clay twice a month [d]


class PlantPlanner:
    """Everything planned for one plant; parts are worked out when they are asked for."""

    def __init__(self, line: PlantHistory, context: PlanContext) -> None:
        self.line, self.context = line, context
        self._usual: dict[int, CareRules] = {}
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
    def chain(self) -> Chain:
        """The wettings of the pot up to the plan's day."""
        chain = Chain(
            self.line, self.context, self.beats, WETTING, self._decide, self.line.entered, self.line.watered,
            self.salting, early_of(self.line.number, self.context, lambda: self.stretches),
        )  # fmt: skip
        kinds = {"wet", "left", "excepted", "missed", "potted"}
        of_pot = (e for e in self.line.events if e.kind in kinds and e.aid is None and self._is_of_pot(e))
        chain.remember(self._of_pot_before())
        chain.run([heard_as(event, self.estimates) for event in of_pot], self.context.as_of)
        return chain

    def _of_pot_before(self) -> list[Event]:
        """Return what is told of the wettings of the pot from before the plant was entered."""
        before, potted = self.line.before, self.line.states[0].potted or 0
        kinds = {"wet", "left"}
        told = before.events if before is not None else []
        mine = (
            e for e in told if e.kind in kinds and e.aid is None and e.day >= potted and self._is_of_pot(e)
        )
        return [heard_as(event, self.estimates) for event in mine]

    @cached_property
    def salting(self) -> Salting:
        """The salts of the pot."""
        return Salting(self.context, self.beats, lambda day: situation_at(self.stretches, day), self.strength)

    def answer_wanted(self, slot: Slot) -> str | None:
        """Return None where no answer at a wetting would teach; else '', or what to do to get one that measures.

        Only the wetting that stands next is asked about (design §3 rule 4).
        """
        if slot is not self.chain.pending or slot.is_first_look:
            return None
        estimate = self.taught_on(self.context.as_of)
        if estimate.censored_running >= ASK_AFTER_CENSORED and felt_last(self.line) == "damp":
            return WAIT_FOR_RIGHT
        if estimate.is_doubted:
            return FEEL_AGAIN
        return "" if ask_felt(estimate, max(0, slot.due - estimate.day) / 7) else None

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

    def _is_of_pot(self, event: Event) -> bool:
        """Return whether an event belongs to the wetting of the pot; a left look at the plant alone does not."""
        if event.kind == "left":
            return event.care != "inspection"
        is_surface = self.line.state_at(event.day).stage == "rootless"
        return event.kind != "missed" or event.care != "moistening" or is_surface

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

    @cached_property
    def _flushing_paused(self) -> list[Span]:
        return pause_spans(
            self.context.facts, self.line, "flushing", self.line.entered, self.context.last_day
        )

    @cached_property
    def _new_tips_since(self) -> list[int]:
        """Days on which a plant without roots got its first ones: the count of flushing starts there."""
        states = self.line.states
        return [b.day for a, b in pairwise(states) if a.stage == "rootless" != b.stage]

    def _decide(
        self, due: int, day: int, following: int, tally: Tally, beat: Beat, anchor: int
    ) -> tuple[str, float | None, str]:
        """Return care, strength of feed [mg/L of N] and reason of the wetting due on a day (models I6).

        Gates and pauses hold on its care day too, which may lie on the other side of their edge.
        """
        plain = beat.terms.care
        if plain == "moistening":
            return plain, None, ""
        stretch = situation_at(self.stretches, due)
        begun = max((day for day in self._new_tips_since if day <= due), default=0)
        if begun > tally.last_flush:
            tally = tally._replace(last_flush=begun)
        rules = self.care_rules(stretch, due, day, tally)
        rules, because = by_season(rules, stretch, self.rests, (anchor, due, following), tally, self.context)
        care = care_of_slot(due, following, tally, rules)
        if care == "feeding":
            ppm_n = self.strength(stretch, tally, due)
            return (care, ppm_n, "") if ppm_n >= LEAST_PPM else (plain, None, NO_ROOM)
        if care == "flushing" and self.salting.is_high(tally):
            return care, None, f"salts have reached {tally.salt_ms_cm:.1f} mS/cm"
        return care or plain, None, because if care == "flushing" else ""

    def care_rules(self, stretch: Situation, due: int, day: int, tally: Tally) -> CareRules:
        """Return what holds for flushes and feeds on a due day and its care day, by what has gone in before."""
        usual = self._usual_rules(stretch)
        paused, spans = self._flushing_paused, self.gates.open_spans
        is_open = covers(spans, due) and (day == due or covers(spans, day))
        may_flush = usual.may_flush and (
            day == due or self._usual_rules(situation_at(self.stretches, day)).may_flush
        )
        return CareRules(
            usual.flush_days, self.feed_days(stretch, due),
            1 if self._by_calendar(stretch, due) else usual.feed_run_max,
            may_flush
            and not (paused and (covers(paused, due) or covers(paused, day)))
            and technique_on(stretch.state, due, self.context.catalog) is None
            and not is_medium_cold(stretch.state, due, self.context),
            is_open and not self.salting.is_high(tally), self.salting.is_flush_due(tally, due),
            usual.every_nth_flush, usual.flush_by_days_alone,
        )  # fmt: skip

    def _usual_rules(self, stretch: Situation) -> CareRules:
        """Return what holds for flushes and feeds in a whole stretch; its days decide the rest."""
        if stretch.start not in self._usual:
            state = stretch.state
            medium = self.context.catalog.media[state.medium or ""]
            flush_days = int(medium.flush_days)
            every_nth, is_clay = 0, False
            if flush_days and self.context.side("flush-rhythm", state, self.line.number) == "b":
                is_clay = state.reservoir == "filled" or state.medium == CLAY
                flush_days, every_nth = (TWICE_A_MONTH, 0) if is_clay else (flush_days, 4)
            elif flush_days:
                flush_days, every_nth = salty_flushes(flush_days, self.context)
                is_clay = flush_days < medium.flush_days  # the water's own salts, whatever was fed
            self._usual[stretch.start] = CareRules(
                flush_days, 0, int(medium.feed_run_max),
                state.stage != "rootless" and not stretch.is_settling and stretch.rest != FULL,
                may_feed=False, every_nth_flush=every_nth, flush_by_days_alone=is_clay,
            )  # fmt: skip
        return self._usual[stretch.start]

    def feed_days(self, stretch: Situation, day: int) -> int:
        """Return the days from one feed to the next by the light of a day; 0: no feed (models I6).

        By the other side of feed-rhythm each wetting may be fed, as many running as the medium bears.
        """
        profile = profile_of(stretch.state, self.context.catalog)
        if stretch.rest == FULL or (stretch.rest and not profile.feed_days_slow):
            return int(profile.feed_days_slow)
        if self._by_calendar(stretch, day):
            return 1 if profile.feed_days_slow else 0  # after each fed wetting a clear one: care_rules
        light_class = light_class_of(stretch, day, self.context)
        if light_class.feed_days == 0:
            return 0
        if self._feeds_each_time(stretch):
            return 1
        return int(max(light_class.feed_days or 0, profile.feed_days))

    def _feeds_each_time(self, stretch: Situation) -> bool:
        return self.context.side("feed-rhythm", stretch.state, self.line.number) == "a"

    def _by_calendar(self, stretch: Situation, day: int) -> bool:
        return is_fed_by_calendar(stretch, day, self.context, self.line.number)

    def strength(self, stretch: Situation, tally: Tally, day: int) -> float:
        """Return the strength of a feed. [mg/L of N]."""
        after_pause = follows_pause(self.gates.paused, tally.last_feed, day)
        return strength_of(
            stretch,
            tally,
            day,
            self.context,
            self.line.number,
            after_pause=after_pause,
            each_time=self._feeds_each_time(stretch),
            by_calendar=self._by_calendar(stretch, day),
        )
