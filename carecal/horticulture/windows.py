"""Gates and runs of days over daily values in order; it knows no calendar, no place and no step."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate

__all__ = ["AHEAD_DAYS", "ahead_means", "gate_states", "run_starts", "trailing_means"]

AHEAD_DAYS = 14  # our choice, because that is as far as a cold spell reaches (models W3, W4)


def run_starts(holds: Sequence[bool], days: int) -> list[bool]:
    """Return the days from which so many days running hold; what lies past the last one holds as it did.

    Args:
        holds: Whether each day holds.
        days: Days running that are asked for, 1 or more. [d]

    Source: our choice, because every day of the weeks has to hold (models W1, W2).
    """
    running = days if holds and holds[-1] else 0
    starts = [False] * len(holds)
    for index in range(len(holds) - 1, -1, -1):
        running = running + 1 if holds[index] else 0
        starts[index] = running >= days
    return starts


def ahead_means(values: Sequence[float], days: int = AHEAD_DAYS) -> list[float]:
    """Return for each day the mean of it and the days that follow, fewer at the end.

    Args:
        values: Daily values, in any unit.
        days: Days of the mean, 1 or more. [d]

    Source: our choice, because a gate follows the coming two weeks (models W4).
    """
    sums, size = [0.0, *accumulate(values)], len(values)
    ends = [min(index + days, size) for index in range(size)]
    return [(sums[end] - sums[index]) / (end - index) for index, end in enumerate(ends)]


def trailing_means(values: Sequence[float], days: int) -> list[float]:
    """Return for each day the mean of it and the days before it, fewer at the beginning.

    Args:
        values: Daily values, in any unit.
        days: Days of the mean, 1 or more. [d]

    Source: definition.
    """
    return ahead_means(values[::-1], days)[::-1]


def gate_states(
    values: Sequence[float], opens_at: float, shuts_beyond: float, *, is_upper: bool = False
) -> list[bool]:
    """Return for each day whether a gate with hysteresis is open; before the first decisive day it is.

    Args:
        values: Daily values, as the means of the coming 14 days, in any unit.
        opens_at: The gate opens at and above it.
        shuts_beyond: The gate shuts below it.
        is_upper: The gate guards against heat: it opens at and below, and shuts above.

    Source: our choice, because hysteresis keeps a gate from trembling (models W4).
    """
    is_open, states = True, []
    for value in values:
        if value <= opens_at if is_upper else value >= opens_at:
            is_open = True
        elif value > shuts_beyond if is_upper else value < shuts_beyond:
            is_open = False
        states.append(is_open)
    return states
