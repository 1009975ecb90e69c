"""Rounding where one stage hands over to the next; it knows nothing of what the numbers mean."""

from __future__ import annotations

from math import floor, isfinite

__all__ = ["half_up", "significant"]

GUARD_DECIMALS = 9  # our choice, because last bits differ by platform and no quantity here reaches as far


def significant(x: float, digits: int = 6) -> float:
    """Return a number rounded to significant digits, so that no platform's last bit travels on.

    Args:
        x: Any number; infinities and not-a-number pass unchanged.
        digits: Significant digits kept, 1 or more.

    Source: our choice, because six digits are more than any measurement here carries.
    """
    return float(f"{x:.{digits - 1}e}") if isfinite(x) else x


def half_up(x: float) -> int:
    """Return the nearest whole number, halves upwards.

    The number is first rounded to nine decimals, so that 2.5 reached by way of thirds still goes up.

    Args:
        x: A finite number.

    Raises:
        OverflowError: x is infinite.
        ValueError: x is not a number.

    Source: our choice, because a later look is the safer side of a tie (models I2).
    """
    return floor(round(x, GUARD_DECIMALS) + 0.5)
