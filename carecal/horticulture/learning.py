"""What a plant's answers teach about its own pace; it reads no journal and knows no calendar."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, log, sqrt, tau
from typing import NamedTuple

from carecal.errors import Refused
from carecal.horticulture.drydown import two_stage_days
from carecal.horticulture.gauss import hazard, upper_tail

__all__ = [
    "ASK_AFTER_CENSORED",
    "KEPT_SHARE",
    "PRIOR",
    "RIGHT_SD",
    "WEIGHT_SD",
    "Belief",
    "FactorBand",
    "censored",
    "credited",
    "factor_band",
    "held_factor",
    "is_beyond",
    "kept_share",
    "measured",
    "prior_from_neighbours",
    "progress_at_target",
    "right_or_wrong",
    "weeks_pass",
]

PRIOR_SD = (
    0.29  # our choice, because a first 'damp' or 'parched' on its day then moves the interval by 15-20 %
)
RIGHT_SD = 0.25  # our choice, because a finger judges within a quarter
WEIGHT_SD = 0.15  # our choice, because scales judge better than a finger
DRIFT_SD_PER_WEEK = (
    0.01  # our choice, because roots and media change within a year; the season is learned by itself
)
FELT_SD = 0.2  # our choice, because damp and parched lie further apart than a finger errs
FELT_OFF = log(
    1.2
)  # our choice, because what is damp has a sixth of its way left, what is parched went a fifth past
WRONG = 0.1  # our choice, because one answer in ten is a slip of the finger, a wrong pot or a guess
WRONG_SPREAD = 1 / (2 * log(4.0))  # of a wrong answer: even over a quarter to four times the interval
KINDS_FELT = 3  # damp, right, parched: a wrong answer is any of them
FIRST_STEP = log(1.2)  # our choice, because a grower moves a plant by a fifth at first, and then sees
NEXT_STEP = log(1.5)  # our choice, because what was said twice is believed
SURPRISE = log(1.35)  # our choice, because a third off the expected day is more than a finger's width
HUBER = 1.345  # HUBER1964: 95 % as good as the mean where nothing is an outlier
BAND_Z = 1.2816  # definition: 80 % of a normal distribution
PLACE_SD = 0.205  # our choice, because half the prior variance is the place's, half the plant's
MOVED_SD = 0.25  # our choice, because neighbours narrow the prior a little
LEAST_NEIGHBOURS = 3  # our choice, because two plants are no place
KEPT_SHARE = 0.5  # our choice, because half of a pace is the plant's own, half that of pot and place
KEPT_OF_OLD = 0.1  # our choice, because broken-down medium holds water as no fresh one does
ASK_AFTER_CENSORED = 3  # our choice, because three one-sided answers running leave the factor adrift
CRITICAL, RESIDUAL = 0.5, 0.05  # models D4, of the water held


class Belief(NamedTuple):
    """What is believed of the logarithm of a plant's factor.

    Attributes:
        mean: Mean of ln(factor). [-]
        sd: Its standard deviation, above 0. [-]
    """

    mean: float
    sd: float


PRIOR = Belief(0.0, PRIOR_SD)


class FactorBand(NamedTuple):
    """A plant's factor on its interval with its 80 % band."""

    factor: float  # [-]
    low: float  # [-]
    high: float  # [-]


def weeks_pass(belief: Belief, weeks: float) -> Belief:
    """Return a belief that has widened over some weeks without an answer.

    Args:
        belief: What is believed.
        weeks: Weeks passed, 0 or more. [weeks]

    Raises:
        Refused: weeks are negative.

    Source: our choice, because roots and media change within a season (models K2).
    """
    if not weeks >= 0:
        raise Refused(f"{weeks:g} weeks cannot pass; 0 or more are allowed")
    return Belief(belief.mean, sqrt(belief.sd**2 + DRIFT_SD_PER_WEEK**2 * weeks))


def measured(belief: Belief, y: float, sd: float = RIGHT_SD) -> Belief:
    """Return a belief after an answer that hit the mark; one far off weighs less.

    Args:
        belief: What is believed.
        y: ln(progress) at the answer. [-]
        sd: Standard deviation of such an answer, above 0. [-]

    Raises:
        Refused: sd is not above 0.

    Source: HUBER1964 for the weight; conjugate normal: from memory.
    """
    if not sd > 0:
        raise Refused(f"standard deviation {sd:g} must be above 0")
    variance, noise = belief.sd**2, sd**2
    off = abs(y - belief.mean)
    weight = min(1.0, HUBER * sqrt(variance + noise) / off) if off > 0 else 1.0
    gain = variance / (variance + noise / weight)
    return Belief(belief.mean + gain * (y - belief.mean), sqrt(variance * (1 - gain)))


def right_or_wrong(belief: Belief, y: float, sd: float = RIGHT_SD) -> Belief:
    """Return a belief after an answer that hit the mark, or was one of the wrong ones in ten.

    Mean and variance are those of the mixture: what is expected counts whole, what lies far off is more likely wrong
    and moves little, but leaves the belief wider, so that a second answer like it goes further.

    Args:
        belief: What is believed.
        y: ln(progress) at the answer. [-]
        sd: Standard deviation of such an answer, above 0. [-]

    Raises:
        Refused: sd is not above 0.

    Source: definition (moments of a mixture of two normals); shares and spread of wrong answers: our choice, because
        nobody counted them.
    """
    if not sd > 0:
        raise Refused(f"standard deviation {sd:g} must be above 0")
    variance = belief.sd**2
    total = variance + sd**2
    density = exp(-((y - belief.mean) ** 2) / (2 * total)) / sqrt(tau * total)
    told = (1 - WRONG) * density
    share = told / (told + WRONG * WRONG_SPREAD)
    gain = variance / total
    return _mixed(belief, Belief(belief.mean + gain * (y - belief.mean), sqrt(variance * (1 - gain))), share)


def censored(belief: Belief, y: float, longer: bool) -> Belief:
    """Return a belief after an answer that only says to which side of it the mark lies, or was a wrong one.

    Args:
        belief: What is believed.
        y: ln(progress) at the answer. [-]
        longer: True for still damp, False for parched.

    Source: mean and variance of a normal cut at y, mixed with the belief itself by the chance of a wrong answer;
        SCIPY integration agrees.
    """
    variance = belief.sd**2
    total = variance + FELT_SD**2
    side = 1 if longer else -1
    z = (side * (y - belief.mean) + FELT_OFF) / sqrt(total)
    rate = hazard(z)
    shrunk = max(variance - variance**2 / total * rate * (rate - z), 0.0)
    told = (1 - WRONG) * upper_tail(z)
    share = told / (told + WRONG / KINDS_FELT)
    return _mixed(belief, Belief(belief.mean + side * variance / sqrt(total) * rate, sqrt(shrunk)), share)


def credited(before: Belief, after: Belief, *, confirms: bool) -> Belief:
    """Return how much of an answer is believed at once: a fifth of the interval, half of it where it confirms another.

    What is not believed yet leaves the belief as wide as it was: a second answer of the same kind goes further.

    Args:
        before: What was believed.
        after: What would follow from the answer alone.
        confirms: The answer before it pointed to the same side.

    Source: our choice, because a grower moves a plant by a fifth, looks again, and then goes on (models K2).
    """
    most = NEXT_STEP if confirms else FIRST_STEP
    step = after.mean - before.mean
    if abs(step) <= most:
        return after
    return Belief(before.mean + (most if step > 0 else -most), before.sd)


def is_beyond(belief: Belief, y: float) -> bool:
    """Return whether a 'right' came so much earlier than expected that it is asked about again.

    Args:
        belief: What was believed before it.
        y: ln(progress) at the answer. [-]

    Source: our choice, because a third off is more than a finger's width.
    """
    return belief.mean - y > SURPRISE


def kept_share(age_months: float | None, life_low: float, life_high: float) -> float:
    """Return how much of a plant's own ln(factor) goes on in fresh medium, by how old the former one was [-].

    Half while it was sound, falling to a tenth at the end of its life, when it held water as no fresh one does.

    Args:
        age_months: Age of the medium left behind; None where nobody knows. [months]
        life_low: Age from which that medium is looked at. [months]
        life_high: Age at which it is due, not below life_low. [months]

    Source: our choice, because nobody measured how a broken-down medium dries (models K4).
    """
    if age_months is None or age_months <= life_low:
        return KEPT_SHARE
    if age_months >= life_high:
        return KEPT_OF_OLD
    return KEPT_SHARE - (KEPT_SHARE - KEPT_OF_OLD) * (age_months - life_low) / (life_high - life_low)


def factor_band(belief: Belief) -> FactorBand:
    """Return the factor and its 80 % band, before it is held within bounds.

    Args:
        belief: What is believed.

    Source: definition; from memory.
    """
    reach = BAND_Z * belief.sd
    return FactorBand(exp(belief.mean), exp(belief.mean - reach), exp(belief.mean + reach))


def held_factor(belief: Belief, has_measured: bool) -> float:
    """Return the factor that the plan uses: within half and double until a measured answer, a quarter and four ever.

    Args:
        belief: What is believed.
        has_measured: A right, a parched or a weight was seen since the last potting.

    Source: our choice, because early waterings felt damp over and over must not run away (models K3).
    """
    bound = 4.0 if has_measured else 2.0
    return max(1 / bound, min(bound, exp(belief.mean)))


def prior_from_neighbours(
    own_mean: float | None, neighbours: Sequence[tuple[float, float]], share: float = KEPT_SHARE
) -> Belief:
    """Return what is believed of a plant on the day it is potted or moved.

    Args:
        own_mean: Its own mean of ln(factor), if it ever had a measured answer. [-]
        share: How much of it is kept, as `kept_share` says. [-]
        neighbours: Mean and standard deviation of ln(factor) of each plant with a measured answer in the same
            medium at the same place on that day. [-]

    Source: our choice, because half the prior variance is the place's, half the plant's (models K4).
    """
    taught = len(neighbours) >= LEAST_NEIGHBOURS
    if own_mean is None and not taught:
        return PRIOR
    place = _place_mean(neighbours) if taught else 0.0
    return Belief((own_mean or 0.0) * share + place / 2, MOVED_SD)


def progress_at_target(progress: float, fraction_now: float, fraction_target: float) -> float:
    """Return the progress at which the pot will be at its target, from one weighed on the way [-].

    Args:
        progress: Intervals of factor 1 passed since the last wetting. [-]
        fraction_now: Water left of the water held, by weight. [-]
        fraction_target: Water left at which this medium is wetted again, above 0.05 and below 1. [-]

    Raises:
        Refused: the pot is so wet or so dry that its weight tells nothing, or the target is out of range.

    Source: FAO56 ch. 7, as `two_stage_days`; critical and residual water: our choice, because coarse media give
        off half freely.
    """
    if not RESIDUAL < fraction_target < 1:
        raise Refused(f"target of {fraction_target:g} of the water held is outside {RESIDUAL:g} to 1")
    if not RESIDUAL < fraction_now < 1:
        raise Refused(
            f"water fraction {fraction_now:g} tells no pace; it must lie between {RESIDUAL:g} and 1"
        )
    now, target = (
        two_stage_days(1.0, CRITICAL, RESIDUAL, fraction, 1.0) for fraction in (fraction_now, fraction_target)
    )
    return progress * target / now


def _mixed(before: Belief, after: Belief, share: float) -> Belief:
    """Return mean and standard deviation of two normals, the second with a share, the first with the rest."""
    step = after.mean - before.mean
    variance = share * after.sd**2 + (1 - share) * before.sd**2 + share * (1 - share) * step**2
    return Belief(before.mean + share * step, sqrt(variance))


def _place_mean(neighbours: Sequence[tuple[float, float]]) -> float:
    """Return the precision-weighted mean of the neighbours, drawn to 0 by the place's own prior."""
    weights = [1 / (sd**2 + PLACE_SD**2) for _, sd in neighbours]
    total = sum(weight * mean for weight, (mean, _) in zip(weights, neighbours, strict=True))
    return total / (sum(weights) + 1 / PLACE_SD**2)
