"""Daily values from monthly means, each month's mean kept exactly; it does not care what the values are."""

from __future__ import annotations

from calendar import isleap
from collections.abc import Sequence
from functools import lru_cache
from itertools import accumulate
from operator import mul

from carecal.errors import Refused

__all__ = ["daily_from_monthly", "edges", "month_lengths"]

MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def month_lengths(year: int) -> tuple[int, ...]:
    """Return the twelve lengths of a year's months [d].

    Args:
        year: Calendar year.

    Source: definition; common practice (no source).
    """
    return (31, 29, *MONTH_DAYS[2:]) if isleap(year) else MONTH_DAYS


def daily_from_monthly(monthly: Sequence[float], year: int) -> list[float]:
    """Return a smooth value for each day of a year whose mean over each month is the month's own.

    The cumulative sum of what the months deviate from the year's mean runs through a periodic cubic spline at
    the month edges; its differences from day to day, plus the year's mean, are the answer.

    Args:
        monthly: Twelve monthly means, in any unit.
        year: Calendar year; a leap year has 366 values.

    Raises:
        Refused: there are not twelve values.

    Source: EPSTEIN1991, RYMES2001 for the idea; SCIPY's CubicSpline with periodic ends agrees.
    """
    if len(monthly) != 12:
        raise Refused(f"{len(monthly)} monthly values; exactly 12 are needed")
    lengths = month_lengths(year)
    mean = sum(map(mul, monthly, lengths)) / sum(lengths)
    return [mean + daily for daily in _increments([value - mean for value in monthly], lengths)]


def _increments(rates: Sequence[float], lengths: tuple[int, ...]) -> list[float]:
    """Return the spline's increase on each day; `rates` are its mean slopes per month and sum to nothing."""
    rise = [6 * (rates[m] - rates[m - 1]) for m in range(12)]
    bends = [sum(map(mul, row, rise)) for row in _inverse(lengths)]  # second derivative at each month's start
    days: list[float] = []
    for m, length in enumerate(lengths):
        bend, next_bend = bends[m], bends[(m + 1) % 12]
        slope = rates[m] - length * (2 * bend + next_bend) / 6
        cubic = (next_bend - bend) / (6 * length)
        quadratic = bend / 2
        days += [
            slope + quadratic * (2 * t + 1) + cubic * (3 * t * t + 3 * t + 1) for t in range(length)
        ]  # value at t+1 less value at t
    return days


@lru_cache(maxsize=2)
def _inverse(lengths: tuple[int, ...]) -> tuple[tuple[float, ...], ...]:
    """Return the inverse of the spline's cyclic system, by elimination; it is diagonally dominant."""
    size = len(lengths)
    rows = [[0.0] * size + [float(m == k) for k in range(size)] for m in range(size)]
    for m in range(size):
        rows[m][(m - 1) % size] += lengths[m - 1]
        rows[m][m] += 2 * (lengths[m - 1] + lengths[m])
        rows[m][(m + 1) % size] += lengths[m]
    for m in range(size):
        pivot = rows[m][m]
        rows[m] = [value / pivot for value in rows[m]]
        for k in range(size):
            if k != m and rows[k][m]:
                factor = rows[k][m]
                rows[k] = [value - factor * own for value, own in zip(rows[k], rows[m], strict=True)]
    return tuple(tuple(row[size:]) for row in rows)


def edges(year: int) -> tuple[int, ...]:
    """Return the first day index of each month and, last, the length of the year [d].

    Args:
        year: Calendar year.

    Source: definition; common practice (no source).
    """
    return tuple(accumulate(month_lengths(year), initial=0))
