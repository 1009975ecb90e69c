"""The balance of rescues: survival, its intervals and competing outcomes; never a bare percentage of few plants."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, log, sqrt
from typing import NamedTuple

from carecal.errors import Refused
from carecal.horticulture.gauss import two_sided

__all__ = [
    "LOST",
    "OPEN",
    "RECOVERED",
    "Incidence",
    "Interval",
    "SurvivalStep",
    "cumulative_incidence",
    "kaplan_meier",
    "kaplan_meier_interval",
    "kaplan_meier_median",
    "survival_at",
    "wilson_interval",
]

OPEN, RECOVERED, LOST = 0, 1, 2
EPSILON = 1e-12


class SurvivalStep(NamedTuple):
    """One time at which something happened, and the survival just after it."""

    time: float  # in the unit of the times given
    at_risk: int
    events: int
    survival: float  # [-]
    standard_error: float  # [-]


class Interval(NamedTuple):
    """The two ends of an interval."""

    low: float
    high: float


class Incidence(NamedTuple):
    """Shares of all plants by outcome; together they are 1."""

    recovered: float  # [-]
    lost: float  # [-]
    open: float  # [-]


def kaplan_meier(times: Sequence[float], happened: Sequence[bool]) -> list[SurvivalStep]:
    """Return survival after each time at which the event happened, with Greenwood's standard error.

    What is censored at such a time still counts as at risk then.

    Args:
        times: Time of the event or of the last look, in any one unit.
        happened: Whether it was the event.

    Raises:
        Refused: the two lists differ in length.

    Source: KM1958; LIFELINES agrees.
    """
    _same_length(times, happened)
    steps: list[SurvivalStep] = []
    survival, greenwood = 1.0, 0.0
    for time in sorted({time for time, event in zip(times, happened, strict=True) if event}):
        at_risk = sum(other >= time for other in times)
        events = sum(bool(event) and other == time for other, event in zip(times, happened, strict=True))
        survival *= 1 - events / at_risk
        if events < at_risk:
            greenwood += events / (at_risk * (at_risk - events))
        steps.append(SurvivalStep(time, at_risk, events, survival, survival * sqrt(greenwood)))
    return steps


def survival_at(steps: Sequence[SurvivalStep], at: float) -> SurvivalStep | None:
    """Return the last step at or before a time, or None while nothing has happened.

    Args:
        steps: The answer of `kaplan_meier`.
        at: Time, in the unit of the steps.
    """
    return next((step for step in reversed(steps) if step.time <= at), None)


def kaplan_meier_interval(
    times: Sequence[float], happened: Sequence[bool], at: float, confidence: float = 0.95
) -> Interval:
    """Return the log-log interval of survival at a time.

    Where nothing or everything has happened its error is unknown: then the interval of a share of those still
    at risk stands in.

    Args:
        times: Time of the event or of the last look, in any one unit.
        happened: Whether it was the event.
        at: Time, in the same unit.
        confidence: Share inside. [-]

    Raises:
        Refused: the lists differ in length or are empty, or confidence is not between 0 and 1.

    Source: KM1958 with the exponential form of Greenwood's error, LIFELINES agrees; NEWCOMBE1998 at the ends.
    """
    step = survival_at(kaplan_meier(times, happened), at)
    if step is None:
        left = max(1, sum(time >= at for time in times))
        return wilson_interval(left, left, confidence)
    if step.survival < EPSILON:
        return wilson_interval(0, step.at_risk, confidence)
    spread = two_sided(confidence) * step.standard_error / (step.survival * -log(step.survival))
    return Interval(step.survival ** exp(spread), step.survival ** exp(-spread))


def kaplan_meier_median(times: Sequence[float], happened: Sequence[bool]) -> float | None:
    """Return the first time at which survival is a half or less, or None if it never is.

    Args:
        times: Time of the event or of the last look, in any one unit.
        happened: Whether it was the event.

    Raises:
        Refused: the two lists differ in length.

    Source: KM1958.
    """
    return next((s.time for s in kaplan_meier(times, happened) if s.survival <= 0.5 + EPSILON), None)


def wilson_interval(successes: int, n: int, confidence: float = 0.95) -> Interval:
    """Return the interval of a share, sound for few plants and at 0 and 1.

    Args:
        successes: Plants counted, 0 to n.
        n: Plants in all, above 0.
        confidence: Share inside. [-]

    Raises:
        Refused: n is 0, successes are not 0 to n, or confidence is not between 0 and 1.

    Source: NEWCOMBE1998, method 3 (Wilson).
    """
    if not (n > 0 and 0 <= successes <= n):
        raise Refused(f"{successes} of {n} plants is no share; allowed are 0 to n of at least 1")
    z, share = two_sided(confidence), successes / n
    centre = share + z * z / (2 * n)
    reach = z * sqrt(share * (1 - share) / n + z * z / (4 * n * n))
    scale = 1 + z * z / n
    low = 0.0 if successes == 0 else (centre - reach) / scale
    high = 1.0 if successes == n else (centre + reach) / scale
    return Interval(low, high)


def cumulative_incidence(days: Sequence[float], kind: Sequence[int], at: float) -> Incidence:
    """Return the shares recovered and lost by a day, each the other's rival.

    Args:
        days: Day of the outcome or of the last look. [d]
        kind: 0 still open, 1 recovered, 2 lost.
        at: The day. [d]

    Raises:
        Refused: the two lists differ in length, or a kind is another number.

    Source: KM1958 and the estimator of Aalen and Johansen; LIFELINES agrees.
    """
    _same_length(days, kind)
    strange = sorted(set(kind) - {OPEN, RECOVERED, LOST})
    if strange:
        raise Refused(f"outcome {strange[0]} is unknown; allowed are 0 open, 1 recovered, 2 lost")
    shares = {RECOVERED: 0.0, LOST: 0.0}
    left = 1.0
    pairs = list(zip(days, kind, strict=True))
    for day in sorted({day for day, outcome in pairs if outcome != OPEN and day <= at}):
        at_risk = sum(other >= day for other in days)
        for outcome in shares:
            shares[outcome] += left * pairs.count((day, outcome)) / at_risk
        left = 1 - shares[RECOVERED] - shares[LOST]
    return Incidence(shares[RECOVERED], shares[LOST], left)


def _same_length(times: Sequence[float], outcomes: Sequence[object]) -> None:
    if len(times) != len(outcomes):
        raise Refused(f"{len(times)} times and {len(outcomes)} outcomes; as many of each are needed")
