"""What a plant has taught: the learned factor by day, from honest wettings and looks (models K1-K4)."""

from __future__ import annotations

from bisect import bisect_right
from math import log
from typing import TYPE_CHECKING, Literal, NamedTuple

from carecal.horticulture.drydown import water_fraction
from carecal.horticulture.learning import (
    BAND_Z,
    KEPT_SHARE,
    PRIOR,
    RESIDUAL,
    RIGHT_SD,
    WEIGHT_SD,
    Belief,
    censored,
    credited,
    factor_band,
    held_factor,
    is_beyond,
    kept_share,
    prior_from_neighbours,
    progress_at_target,
    right_or_wrong,
    weeks_pass,
)
from carecal.horticulture.own_pace import OwnPace, told
from carecal.horticulture.rounding import significant
from carecal.planning.rhythm.drying import Drying
from carecal.planning.rhythm.situations import situations
from carecal.planning.rhythm.terms import DRY_MEDIUM

if TYPE_CHECKING:
    from carecal.collection.plants import Event, PlantHistory, PlantState
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.rhythm.situations import Situation

__all__ = ["Answer", "PaceEstimate", "estimate_on", "estimates", "heard_as", "share_kept", "target_fraction"]

Answer = Literal["right", "damp", "parched", "weight"]
YOUNG = frozenset({"rootless", "new-tips"})
YOUNG_WETTER = 0.15  # models D4: short roots reach the upper layer only, so they are wetted earlier
WETTEST = 0.9  # our choice, because a tenth of the water gone is less than scales and drainage tell
MAX_PROGRESS = 4.0  # models K3: no factor is above 4, so a wetting in between was not written down
UNMEASURED_LIMIT = log(2.0)  # models K3; of the belief, so that no hidden mean breaks out later
TOLD_WINTER = 0.1  # our choice, because a fifth between winter and summer is what a grower sees [-]
DAYS_A_WEEK = 7
DAYS_A_MONTH = 30.44  # definition: 365.25/12


class PaceEstimate(NamedTuple):
    """The learned factor from a day on, with its 80 % band and the answers behind it.

    Factor, band, mean and sd are those in the middle light of the year, or of the days that `at` was asked for.

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
        pace: Pace and winter that are believed.
        is_open: Whether its bounds are those of a plant that was measured.
        is_doubted: The last answer was a 'right' so early that it is asked about again.
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
    pace: OwnPace = OwnPace()
    is_open: bool = False
    is_doubted: bool = False

    def at(self, light: float) -> PaceEstimate:
        """Return the estimate for days whose light lies so far from the middle of the year (`swing`). [-]."""
        belief = self.pace.at(light)
        factor, low, high = _held_band(belief, is_open=self.is_open)
        return self._replace(factor=factor, low=low, high=high, mean=belief.mean, sd=belief.sd)

    @property
    def winter_told(self) -> int:
        """1: slower in winter than most, -1: less so than most, 0: not sure, or not enough to be told."""
        winter = self.pace.winter
        if abs(winter) < max(TOLD_WINTER, BAND_Z * self.pace.winter_sd):
            return 0
        return 1 if winter > 0 else -1

    def factor_at(self, light: float) -> float:
        """Return the factor alone, as `at` does. [-]."""
        if not light or not self.pace.winter:
            return self.factor
        return significant(held_factor(self.pace.at(light), self.is_open))


def estimates(line: PlantHistory, context: PlanContext, stretches: list[Situation]) -> list[PaceEstimate]:
    """Return the learned factors of a plant, one a day on which it changed, in the order of their days.

    They follow from what was really done and seen alone: neither assumed wettings nor the day of the plan move them.
    What is told of the days before the plant was entered teaches by the conditions of those days.
    """
    past = situations(line.before, context) if line.before is not None else []
    learner = _Learner(line, Drying([*past, *stretches], context), context)
    resets = _resets(line, context)
    for event in line.told:
        learner.set_priors_before(event.day, resets)
        learner.observe(event)
    learner.set_priors_before(context.last_day + 1, resets)
    return learner.estimates


def estimate_on(found: list[PaceEstimate], day: int) -> PaceEstimate:
    """Return the estimate in force on a day; the first one before it."""
    return found[max(bisect_right(found, day, key=lambda estimate: estimate.day) - 1, 0)]


def heard_as(event: Event, found: list[PaceEstimate]) -> Event:
    """Return an event as the wettings take it: after a 'right' far too early they look again as soon as may be."""
    known = estimate_on(found, event.day) if event.felt == "right" else None
    is_doubted = known is not None and known.day == event.day and known.is_doubted
    return event._replace(felt="parched") if is_doubted else event


def target_fraction(stretch: Situation, context: PlanContext) -> float:
    """Return the share of the water held at which a plant is wetted again (models D4). [-]."""
    state, terms = stretch.state, stretch.terms
    wet = context.catalog.media[state.medium or ""].water_at_fraction
    if terms is not None and any(code == "moss-nearly-dry" for code, _ in terms.factors):
        wet = context.catalog.media[DRY_MEDIUM].water_at_fraction
    return wet + (YOUNG_WETTER if state.stage in YOUNG else 0.0)


class _Reset(NamedTuple):
    """A potting or a move: its day, what neighbours teach, whether it is a potting, what share of its pace stays."""

    day: int
    prior: Belief | None
    is_potting: bool
    share: float


def _resets(line: PlantHistory, context: PlanContext) -> list[_Reset]:
    """Return what each potting and move does to what was learned, by day."""
    found: dict[int, _Reset] = {}
    former = line.states[0]
    for state in line.states[1:]:
        if state.potting != former.potting or state.place != former.place:
            is_potting = state.potting != former.potting
            share = share_kept(former, state.day, context) if is_potting else KEPT_SHARE
            found[state.day] = _Reset(state.day, None, is_potting, share)
        former = state
    for event in line.events:
        if event.prior is not None:
            known = found.get(event.day) or _Reset(event.day, None, is_potting=False, share=KEPT_SHARE)
            mean, sd = event.prior
            prior = Belief(mean, min(sd, PRIOR.sd))  # one written when a first prior was wider
            found[event.day] = known._replace(
                prior=prior, is_potting=known.is_potting or event.kind == "potted"
            )
    first = found.pop(line.entered, None) if line.before is not None else None
    if first is not None and line.before is not None:
        found[line.before.entered] = first._replace(day=line.before.entered)  # known before the notes begin
    return [found[day] for day in sorted(found)]


def share_kept(former: PlantState, day: int, context: PlanContext) -> float:
    """Return how much of its own pace a plant takes along from a medium left on a day (models K4). [-]."""
    medium = context.catalog.media.get(former.medium or "")
    if medium is None or not medium.rots or former.potted is None:
        return KEPT_SHARE
    months = (day - former.potted) / DAYS_A_MONTH
    return kept_share(months, medium.life_months_low, medium.life_months_high)


class _Learner:
    """Hears one plant's answers in the order of their days and keeps what follows from them."""

    def __init__(self, line: PlantHistory, drying: Drying, context: PlanContext) -> None:
        self._drying, self._scene = drying, context
        self._pace = OwnPace()
        self._side = 0  # to which side the last answer pointed: 1 longer, -1 shorter
        self._is_doubted = False
        self._anchor = line.watered if line.before is None else None  # the last real wetting
        self._former: int | None = None  # the one before it, for a second entry on the same day
        self._marks: dict[str, float] = {}
        self._heard: int | None = None  # day of the last answer since the prior was set
        self._bounds_open = self._is_measured = self._was_measured = self._neighbours = False
        self._entries = self._censored = self._next_reset = 0
        potted = line.states[0].potted
        if self._anchor is not None and potted is not None and potted > self._anchor:
            self._anchor = None
        self.estimates: list[PaceEstimate] = []
        self._tell(line.entered if line.before is None else line.before.entered)

    def set_priors_before(self, day: int, resets: list[_Reset]) -> None:
        """Set the prior anew for each potting and move before a day; answers of the same day come first."""
        while self._next_reset < len(resets) and resets[self._next_reset].day < day:
            reset = resets[self._next_reset]
            own = self._pace.mean if self._was_measured else None
            self._pace = self._pace.as_fresh(
                reset.prior or prior_from_neighbours(own, (), reset.share), reset.share
            )
            self._neighbours, self._is_measured, self._heard = reset.prior is not None, False, None
            self._side, self._is_doubted = 0, False
            if reset.is_potting:
                self._bounds_open, self._censored = False, 0
            self._next_reset += 1
            self._tell(reset.day)

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
        place = self._drying.situation(event.day).state.place
        light = self._scene.light_swing(place, since, event.day - 1)
        pace = self._pace
        if self._heard is not None:
            widened = weeks_pass(Belief(pace.mean, pace.sd), (event.day - self._heard) / DAYS_A_WEEK)
            pace = pace._replace(sd=widened.sd)
        self._pace = self._held(told(pace, light, self._believed(felt, y, pace.at(light))), felt, light)
        self._entries += 1
        self._heard = event.day
        self._tell(event.day)

    def _believed(self, felt: Answer, y: float, before: Belief) -> Belief:
        """Return what is believed of the days of an answer with it; the first of its kind goes a fifth at most."""
        self._is_doubted = False
        if felt in {"right", "weight"}:
            after = right_or_wrong(before, y, RIGHT_SD if felt == "right" else WEIGHT_SD)
            self._is_measured = self._was_measured = True
            self._censored = 0
        else:
            after = censored(before, y, longer=felt == "damp")
            self._censored += 1
        side = 1 if after.mean > before.mean else -1
        confirms = side == self._side or felt == "weight"
        self._is_doubted = felt == "right" and not confirms and is_beyond(before, y)
        self._side = side
        return credited(before, after, confirms=confirms)

    def _held(self, pace: OwnPace, felt: Answer, light: float) -> OwnPace:
        """Return the pace held within double until anything but damp was felt (models K3)."""
        self._bounds_open = self._bounds_open or felt != "damp"
        belief = pace.at(light)
        if self._bounds_open or abs(belief.mean) <= UNMEASURED_LIMIT:
            return pace
        limit = UNMEASURED_LIMIT if belief.mean > 0 else -UNMEASURED_LIMIT
        return told(pace, light, Belief(limit, belief.sd))

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
        pace = self._pace
        factor, low, high = _held_band(Belief(pace.mean, pace.sd), is_open=self._bounds_open)
        if self.estimates and self.estimates[-1].day == day:
            self.estimates.pop()
        self.estimates.append(
            PaceEstimate(
                day, factor, low, high, self._entries, pace.mean, pace.sd, self._is_measured, self._was_measured,
                self._censored, self._neighbours, pace, self._bounds_open, self._is_doubted,
            )
        )  # fmt: skip


def _held_band(belief: Belief, *, is_open: bool) -> tuple[float, float, float]:
    """Return the factor held within its bounds, and the 80 % band round it. [-]."""
    band = factor_band(belief)
    factor = significant(held_factor(belief, is_open))
    return factor, min(factor, significant(band.low)), max(factor, significant(band.high))
