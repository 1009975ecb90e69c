"""The rate at which a plant's longest root grows and when it reaches a length; thermal time is in `growth`."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from math import sqrt
from typing import NamedTuple

from carecal.errors import Refused
from carecal.horticulture.gauss import two_sided

__all__ = ["RootDate", "RootRate", "prior_root_date", "root_date", "root_rate"]

LEAST_OBSERVATIONS = 3


class RootRate(NamedTuple):
    """A straight line through observed lengths, with the interval of its slope."""

    slope: float  # [mm/d]
    low: float  # [mm/d]
    high: float  # [mm/d]
    intercept: float  # [mm]


class RootDate(NamedTuple):
    """Days on which a length is reached, on the scale of the observations; None is unknown."""

    early: float | None  # [d]
    middle: float | None  # [d]
    late: float | None  # [d]


def root_rate(day: Sequence[float], longest_mm: Sequence[float], confidence: float = 0.8) -> RootRate:
    """Return the plant's own rate: the median of all slopes, that one outlier does not move.

    Args:
        day: Days of the observations. [d]
        longest_mm: Length of the longest living root on each. [mm]
        confidence: Share of the slope's interval. [-]

    Raises:
        Refused: fewer than three observations, on fewer than two days, or a confidence outside 0 to 1.

    Source: SEN1968; SCIPY's theilslopes with method joint agrees.
    """
    if len(day) != len(longest_mm) or len(day) < LEAST_OBSERVATIONS or len(set(day)) < 2:
        raise Refused(f"{len(day)} observations of root length; three on different days are needed")
    slopes = _slopes(day, longest_mm)
    slope = _median(slopes)
    intercept = _median(length - slope * on for on, length in zip(day, longest_mm, strict=True))
    reach = two_sided(confidence) * sqrt(max(0.0, _variance(day, longest_mm)))
    last = len(slopes) - 1
    low = min(max(round((len(slopes) - reach) / 2) - 1, 0), last)
    high = max(min(round((len(slopes) + reach) / 2), last), 0)
    return RootRate(slope, slopes[low], slopes[high], intercept)


def root_date(
    day: Sequence[float], longest_mm: Sequence[float], target_mm: float, confidence: float = 0.8
) -> RootDate:
    """Return when the longest root reaches a length by the plant's own rate [d].

    Args:
        day: Days of the observations. [d]
        longest_mm: Length of the longest living root on each. [mm]
        target_mm: Length wanted; one that is reached by the line is answered by the last day observed. [mm]
        confidence: Share of the slope's interval. [-]

    Raises:
        Refused: fewer than three observations, on fewer than two days, or a confidence outside 0 to 1.

    Source: SEN1968 for the slopes; our choice, because a slope of 0 or less tells no date (models G5).
    """
    rate, last = root_rate(day, longest_mm, confidence), max(day)
    missing = target_mm - (rate.intercept + rate.slope * last)
    if missing <= 0:
        return RootDate(last, last, last)
    return RootDate(
        *(last + missing / slope if slope > 0 else None for slope in (rate.high, rate.slope, rate.low))
    )


def prior_root_date(length_mm: float, target_mm: float, slow_mm_d: float, fast_mm_d: float) -> RootDate:
    """Return the days until a length is reached, for a plant whose own rate is unknown [d].

    Args:
        length_mm: Length now. [mm]
        target_mm: Length wanted. [mm]
        slow_mm_d: Slow growth of its kind. [mm/d]
        fast_mm_d: Fast growth of its kind. [mm/d]

    Source: our choice, because no published rate was found (models G4).
    """
    missing = max(0.0, target_mm - length_mm)
    return RootDate(missing / fast_mm_d, missing / ((slow_mm_d + fast_mm_d) / 2), missing / slow_mm_d)


def _median(values: Iterable[float]) -> float:
    ranked = sorted(values)
    upper = len(ranked) // 2
    return (ranked[upper] + ranked[~upper]) / 2


def _slopes(day: Sequence[float], longest_mm: Sequence[float]) -> list[float]:
    points = list(zip(day, longest_mm, strict=True))
    return sorted(
        (points[b][1] - points[a][1]) / (points[b][0] - points[a][0])
        for a in range(len(points))
        for b in range(a + 1, len(points))
        if points[b][0] != points[a][0]
    )


def _variance(day: Sequence[float], longest_mm: Sequence[float]) -> float:
    """Return the variance of Kendall's count of rising pairs, less what ties take away."""

    def pairs(n: int) -> int:
        return n * (n - 1) * (2 * n + 5)

    ties = sum(pairs(count) for values in (day, longest_mm) for count in Counter(values).values())
    return (pairs(len(day)) - ties) / 18
