"""What a plant has taught: the learned factor by day, from honest wettings and looks (models K1-K4)."""

from __future__ import annotations

from bisect import bisect_right
from math import log
from typing import TYPE_CHECKING, Literal, NamedTuple

from carecal.horticulture.drydown import water_fraction
from carecal.horticulture.learning import (
    PRIOR,
    RESIDUAL,
    RIGHT_SD,
    WEIGHT_SD,
    Belief,
    censored,
    factor_band,
    held_factor,
    measured,
    prior_from_neighbours,
    progress_at_target,
    weeks_pass,
)
from carecal.horticulture.rounding import significant
from carecal.planning.rhythm.drying import Drying
from carecal.planning.rhythm.terms import DRY_MEDIUM

if TYPE_CHECKING:
    from carecal.collection.plants import Event, PlantHistory
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.rhythm.situations import Situation

__all__ = ["Answer", "PaceEstimate", "estimate_on", "estimates", "target_fraction"]

Answer = Literal["right", "damp", "parched", "weight"]
YOUNG = frozenset({"rootless", "new-tips"})
YOUNG_WETTER = 0.15  # models D4: short roots reach the upper layer only, so they are wetted earlier
WETTEST = 0.9  # our choice, because a tenth of the water gone is less than scales and drainage tell
MAX_PROGRESS = 4.0  # models K3: no factor is above 4, so a wetting in between was not written down
UNMEASURED_LIMIT = log(2.0)  # models K3; of the belief, so that no hidden mean breaks out later
DAYS_A_WEEK = 7


class PaceEstimate(NamedTuple):
    """The learned factor from a day on, with its 80 % band and the answers behind it.

    Attributes:
        day: First day on which it holds (ordinal).
        factor: On the interval, held within its bounds. [-]
        low: Lower end of the 80 % band. [-]
        high: Upper end of the 80 % band. [-]
        entries: Answers since the plant came.
        mean: Mean of ln(factor) that is believed. [-]
        sd: Its standard deviation. [-]
        is_measured: A 'right' or a weight was given since the prior was set.
        was_measured: One was ever given.
        censored_running: Answers 'damp' or 'parched' since the last 'right' or weight.
        neighbours: Whether neighbours set the prior it grew from.
    """

    day: int
    factor: float
    low: float
    high: float
    entries: int
    mean: float = 0.0
    sd: float = PRIOR.sd
    is_measured: bool = False
    was_measured: bool = False
    censored_running: int = 0
    neighbours: bool = False


def estimates(line: PlantHistory, context: PlanContext, stretches: list[Situation]) -> list[PaceEstimate]:
    """Return the learned factors of a plant, one a day on which it changed, in the order of their days.

    They follow from what was really done and seen alone: neither assumed wettings nor the day of the plan move them.
    """
    learner = _Learner(line, Drying(stretches, context), context)
    resets = _resets(line)
    for event in line.events:
        learner.set_priors_before(event.day, resets)
        learner.observe(event)
    learner.set_priors_before(context.last_day + 1, resets)
    return learner.estimates


def estimate_on(found: list[PaceEstimate], day: int) -> PaceEstimate:
    """Return the estimate in force on a day; the first one before it."""
    return found[max(bisect_right(found, day, key=lambda estimate: estimate.day) - 1, 0)]


def target_fraction(stretch: Situation, context: PlanContext) -> float:
    """Return the share of the water held at which a plant is wetted again (models D4). [-]."""
    state, terms = stretch.state, stretch.terms
    wet = context.catalog.media[state.medium or ""].water_at_fraction
    if terms is not None and any(code == "moss-nearly-dry" for code, _ in terms.factors):
        wet = context.catalog.media[DRY_MEDIUM].water_at_fraction
    return wet + (YOUNG_WETTER if state.stage in YOUNG else 0.0)


def _resets(line: PlantHistory) -> list[tuple[int, Belief | None, bool]]:
    """Return day, prior where one was written, and whether it is a potting, of each potting and move, by day."""
    found: dict[int, tuple[Belief | None, bool]] = {}
    former = line.states[0]
    for state in line.states[1:]:
        if state.potting != former.potting or state.place != former.place:
            found[state.day] = (None, state.potting != former.potting)
        former = state
    for event in line.events:
        if event.prior is not None:
            potted = found.get(event.day, (None, False))[1]
            found[event.day] = (Belief(*event.prior), potted or event.kind == "potted")
    return [(day, *found[day]) for day in sorted(found)]


class _Learner:
    """Hears one plant's answers in the order of their days and keeps what follows from them."""

    def __init__(self, line: PlantHistory, drying: Drying, context: PlanContext) -> None:
        self._drying, self._scene = drying, context
        self._belief = PRIOR
        self._anchor = line.watered  # the last real wetting
        self._former: int | None = None  # the one before it, for a second entry on the same day
        self._marks: dict[str, float] = {}
        self._heard: int | None = None  # day of the last answer since the prior was set
        self._bounds_open = self._is_measured = self._was_measured = self._neighbours = False
        self._entries = self._censored = self._next_reset = 0
        potted = line.states[0].potted
        if self._anchor is not None and potted is not None and potted > self._anchor:
            self._anchor = None
        self.estimates: list[PaceEstimate] = []
        self._tell(line.entered)

    def set_priors_before(self, day: int, resets: list[tuple[int, Belief | None, bool]]) -> None:
        """Set the prior anew for each potting and move before a day; answers of the same day come first."""
        while self._next_reset < len(resets) and resets[self._next_reset][0] < day:
            on, prior, is_potting = resets[self._next_reset]
            own = self._belief.mean if self._was_measured else None
            self._belief = prior or prior_from_neighbours(own, ())
            self._neighbours, self._is_measured, self._heard = prior is not None, False, None
            if is_potting:
                self._bounds_open, self._censored = False, 0
            self._next_reset += 1
            self._tell(on)

    def observe(self, event: Event) -> None:
        """Take one event: an answer, an anchor, a mark of the scales, or nothing."""
        if event.kind == "potted":
            self._anchor, self._former = (event.day if event.watered else None), None
            self._marks.clear()
        elif event.kind == "weighed" and event.mark is not None and event.weight_g is not None:
            self._marks[event.mark] = event.weight_g
        elif event.kind in {"wet", "weighed"} or (
            event.kind == "left" and event.aid is None and event.care != "inspection"
        ):
            self._learn(event)
        if event.kind == "wet" and event.day != self._anchor:
            self._anchor, self._former = event.day, self._anchor

    def _learn(self, event: Event) -> None:
        since = self._anchor if event.day != self._anchor else self._former
        if since is None or self._heard == event.day:  # one answer a day
            return
        progress = self._drying.progress(since, event.day)
        if progress is None or not 0 < progress <= MAX_PROGRESS:
            return
        answer = self._answer(event, progress)
        if answer is None:
            return
        felt, y = answer
        belief = self._belief
        if self._heard is not None:
            belief = weeks_pass(belief, (event.day - self._heard) / DAYS_A_WEEK)
        if felt in {"right", "weight"}:
            self._belief = measured(belief, y, RIGHT_SD if felt == "right" else WEIGHT_SD)
            self._is_measured = self._was_measured = True
            self._censored = 0
        else:
            self._belief = censored(belief, y, longer=felt == "damp")
            self._censored += 1
        self._bounds_open = self._bounds_open or felt != "damp"
        if not self._bounds_open:
            mean = max(-UNMEASURED_LIMIT, min(UNMEASURED_LIMIT, self._belief.mean))
            self._belief = Belief(mean, self._belief.sd)
        self._entries += 1
        self._heard = event.day
        self._tell(event.day)

    def _answer(self, event: Event, progress: float) -> tuple[Answer, float] | None:
        """Return what an event says of the drying, and ln(progress) of it; a weight before a finger."""
        scaled = self._by_weight(event, progress) if event.weight_g is not None else None
        if scaled is not None:
            return "weight", log(scaled)
        if event.felt in {"right", "damp", "parched"}:
            felt: Answer = "right" if event.felt == "right" else "damp" if event.felt == "damp" else "parched"
            return felt, log(progress)
        return None

    def _by_weight(self, event: Event, progress: float) -> float | None:
        """Return the progress at which the pot would be at its target, by full and dry marks (models D4)."""
        full, dry = self._marks.get("full"), self._marks.get("dry")
        if full is None or dry is None or not full > dry or event.weight_g is None:
            return None
        target = target_fraction(self._drying.situation(event.day), self._scene)
        fraction = water_fraction(event.weight_g, dry, full)
        if not (RESIDUAL < fraction <= WETTEST and RESIDUAL < target < 1):
            return None
        return progress_at_target(progress, fraction, target)

    def _tell(self, day: int) -> None:
        band = factor_band(self._belief)
        factor = significant(held_factor(self._belief, self._bounds_open))
        if self.estimates and self.estimates[-1].day == day:
            self.estimates.pop()
        self.estimates.append(
            PaceEstimate(
                day,
                factor,
                min(factor, significant(band.low)),
                max(factor, significant(band.high)),
                self._entries,
                self._belief.mean,
                self._belief.sd,
                self._is_measured,
                self._was_measured,
                self._censored,
                self._neighbours,
            )
        )
