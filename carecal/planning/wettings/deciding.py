"""What each wetting of a pot is: plain water, a feed or a flush, and how strong (models I6)."""

from __future__ import annotations

from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

from carecal.planning.pauses import pause_spans
from carecal.planning.places.weather import is_medium_cold
from carecal.planning.rhythm.situations import Situation, situation_at
from carecal.planning.rhythm.terms import FULL, profile_of
from carecal.planning.sick.rot import technique_on
from carecal.planning.spans import covers
from carecal.planning.wettings.feeding import (
    CareRules,
    Tally,
    care_of_slot,
    follows_pause,
    is_fed_by_calendar,
    light_class_of,
    salty_flushes,
)
from carecal.planning.wettings.salting import Salting
from carecal.planning.wettings.seasonal import by_season
from carecal.planning.wettings.strength import LEAST_PPM, strength_of
from carecal.wording.rhythm import NO_ROOM

if TYPE_CHECKING:
    from carecal.collection.plants import PlantHistory
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.rhythm.beats import Beat, Beats
    from carecal.planning.rhythm.resting import Resting
    from carecal.planning.spans import Span
    from carecal.planning.wettings.gates import FeedingGates

__all__ = ["Deciding"]

CLAY, TWICE_A_MONTH = "expanded-clay", 15  # trade-facts D7, the other side: clay twice a month [d]


class Deciding:
    """Decides the wettings of one pot.

    Args:
        line: The plant.
        context: Climate, settings and days of the plan.
        stretches: Its situations.
        rests: Its rests.
        beats: Its rhythm.
        gates: Its gates of feeding.
    """

    def __init__(
        self,
        line: PlantHistory,
        context: PlanContext,
        stretches: list[Situation],
        rests: list[Resting],
        beats: Beats,
        gates: FeedingGates,
    ) -> None:
        self.line, self.context, self.stretches, self.rests = line, context, stretches, rests
        self.beats, self.gates = beats, gates
        self._usual: dict[int, CareRules] = {}

    @cached_property
    def salting(self) -> Salting:
        """The salts of the pot."""
        return Salting(self.context, self.beats, lambda day: situation_at(self.stretches, day), self.strength)

    def decide(
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
            usual.flush_days,
            self.feed_days(stretch, due),
            1 if self._by_calendar(stretch, due) else usual.feed_run_max,
            may_flush
            and not (paused and (covers(paused, due) or covers(paused, day)))
            and technique_on(stretch.state, due, self.context.catalog) is None
            and not is_medium_cold(stretch.state, due, self.context),
            is_open and not self.salting.is_high(tally),
            self.salting.is_flush_due(tally, due),
            usual.every_nth_flush,
            usual.flush_by_days_alone,
        )

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
                flush_days,
                0,
                int(medium.feed_run_max),
                state.stage != "rootless" and not stretch.is_settling and stretch.rest != FULL,
                may_feed=False,
                every_nth_flush=every_nth,
                flush_by_days_alone=is_clay,
            )
        return self._usual[stretch.start]

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

    def _feeds_each_time(self, stretch: Situation) -> bool:
        return self.context.side("feed-rhythm", stretch.state, self.line.number) == "a"

    def _by_calendar(self, stretch: Situation, day: int) -> bool:
        return is_fed_by_calendar(stretch, day, self.context, self.line.number)
