"""How long a pest takes at a temperature, and how long a plant stays apart for it; it names no pest.

Growth of a spike or leaf by thermal time is in `growth`.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise
from math import ceil, inf

from carecal.errors import Refused

__all__ = ["apart_days", "days_between_points", "days_of_day_degrees", "mean_over"]

EPSILON = 1e-9


def days_of_day_degrees(theta_c_d: float, base_c: float, mean_c: float) -> float:
    """Return the days a stage of life takes at a constant temperature; infinite at or below the base [d].

    Args:
        theta_c_d: Day-degrees the stage takes. [°C d]
        base_c: Temperature at which it stands still. [°C]
        mean_c: Mean temperature of the place. [°C]

    Source: KARACA2017, ARAI1996, MITE-EG: day-degrees above a base, each fitted between 15 and 30 °C.
    """
    rate = mean_c - base_c
    return theta_c_d / rate if rate > 0 else inf


def days_between_points(points: Sequence[tuple[float, float]], mean_c: float) -> float:
    """Return the days a stage takes, its rate straight between the temperatures printed [d].

    Below the coldest point the line of the two coldest goes on, to infinity where the rate reaches 0; above the
    warmest point the days stay those of the warmest.

    Args:
        points: Temperature [°C] and days [d], at least two, warmer ones never slower; in any order.
        mean_c: Mean temperature of the place. [°C]

    Raises:
        Refused: there are fewer than two points, two of one temperature, or a warmer one takes longer.

    Source: our choice, because the rate of an insect grows nearly straight with the temperature below its best.
    """
    rows = sorted(points)
    falling = all(a[0] < b[0] and a[1] >= b[1] > 0 for a, b in pairwise(rows))
    if len(rows) < 2 or not falling:
        raise Refused(f"points {rows} are not two or more temperatures whose days fall as it grows warmer")
    if mean_c >= rows[-1][0]:
        return rows[-1][1]
    upper = max(1, bisect_right(rows, (mean_c, inf)))
    (low_c, low_days), (high_c, high_days) = rows[upper - 1], rows[upper]
    share = (mean_c - low_c) / (high_c - low_c)
    rate = (1 - share) / low_days + share / high_days
    return 1 / rate if rate > EPSILON else inf


def apart_days(generation_days: float, margin_days: int, least_days: int, most_days: int) -> int:
    """Return how long a plant stays apart after the last find: a generation and a margin, within bounds [d].

    Args:
        generation_days: Days from egg to adult at the place; infinite where it is too cold to grow. [d]
        margin_days: Days added. [d]
        least_days: Never fewer. [d]
        most_days: Never more, since looks go on besides. [d]

    Raises:
        Refused: least_days lies above most_days.

    Source: our choice, because what was an egg at the last find shows as an adult within one generation.
    """
    if least_days > most_days:
        raise Refused(f"least {least_days} days lie above the most, {most_days}")
    if generation_days + margin_days >= most_days:
        return most_days
    return max(least_days, ceil(generation_days - EPSILON) + margin_days)


def mean_over(daily_mean_c: Sequence[float]) -> float:
    """Return the mean temperature of the days since the last find [°C].

    Args:
        daily_mean_c: Daily means, at least one. [°C]

    Raises:
        Refused: there is no day.

    Source: definition; day-degrees add up, so the mean of the days serves for all of them.
    """
    if not daily_mean_c:
        raise Refused("no day's temperature is given; give at least one")
    return sum(daily_mean_c) / len(daily_mean_c)
