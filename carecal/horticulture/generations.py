"""How much of a generation a pest lives through in a day, by temperature (pest_cycles.toml)."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

__all__ = ["days_to_generation", "share_by_degrees", "share_by_points"]


def share_by_degrees(temp_c: float, theta_c_d: float, base_c: float) -> float:
    """Return the share of a generation lived in a day: day-degrees above a base. [1/d].

    Args:
        temp_c: Mean temperature of the day. [°C]
        theta_c_d: Day-degrees of a generation. [°C d]
        base_c: Temperature below which nothing grows. [°C]

    Source: KARACA2017 and MITE-EG for the constants of two pests.
    """
    return max(0.0, temp_c - base_c) / theta_c_d


def share_by_points(temp_c: float, points_c: Sequence[float], points_days: Sequence[float]) -> float:
    """Return the share of a generation lived in a day, between printed days the rate is straight. [1/d].

    Args:
        temp_c: Mean temperature of the day. [°C]
        points_c: Rising temperatures at which days were printed. [°C]
        points_days: Those days. [d]

    Outside of the points the nearest one holds: nobody printed more.
    """
    rates = [1.0 / days for days in points_days]
    if temp_c <= points_c[0]:
        return rates[0]
    for (low, former), (high, following) in pairwise(zip(points_c, rates, strict=True)):
        if temp_c <= high:
            return former + (following - former) * (temp_c - low) / (high - low)
    return rates[-1]


def days_to_generation(shares: Iterable[float], most_days: int) -> int:
    """Return after how many days of such shares a generation is lived through, so many days at most. [d]."""
    lived = 0.0
    for days, share in enumerate(shares, 1):
        lived += share
        if lived >= 1.0 - 1e-9 or days >= most_days:
            return days
    return most_days
