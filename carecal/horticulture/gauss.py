"""The standard normal distribution, as far as intervals and censored observations need it."""

from __future__ import annotations

from functools import lru_cache
from math import erfc, exp, pi, sqrt

from carecal.errors import Refused

__all__ = ["density", "hazard", "quantile", "two_sided", "upper_tail"]

FAR_OUT = 25.0  # beyond it the upper tail underflows; its expansion is exact to 1e-5 there


def density(z: float) -> float:
    """Return the density of the standard normal distribution [-].

    Args:
        z: Standard deviations from the mean. [-]

    Source: definition; from memory.
    """
    return exp(-z * z / 2) / sqrt(2 * pi)


def upper_tail(z: float) -> float:
    """Return the probability of a value above z [-].

    Args:
        z: Standard deviations from the mean. [-]

    Source: definition; from memory.
    """
    return erfc(z / sqrt(2)) / 2


def hazard(z: float) -> float:
    """Return the density over the upper tail, the mean of what lies above z [-].

    Args:
        z: Standard deviations from the mean. [-]

    Source: definition; its expansion in 1/z far out: from memory.
    """
    if z > FAR_OUT:
        return z + 1 / z - 2 / z**3
    return density(z) / upper_tail(z)


def quantile(p: float) -> float:
    """Return the value below which a share of the distribution lies [-].

    By bisection to the last bits of the tail below it.

    Args:
        p: Share, between 0 and 1, both excluded. [-]

    Raises:
        Refused: p is not between 0 and 1.

    Source: definition; from memory.
    """
    if not 0 < p < 1:
        raise Refused(f"share {p:g} must lie between 0 and 1")
    low, high = -40.0, 40.0
    for _ in range(80):
        middle = (low + high) / 2
        if upper_tail(-middle) < p:
            low = middle
        else:
            high = middle
    return (low + high) / 2


@lru_cache(maxsize=64)  # few confidences are asked for, each many times
def two_sided(confidence: float) -> float:
    """Return the half width of a central interval in standard deviations, 1.96 for 0.95 [-].

    Args:
        confidence: Share inside, between 0 and 1, both excluded. [-]

    Raises:
        Refused: confidence is not between 0 and 1.

    Source: definition; from memory.
    """
    if not 0 < confidence < 1:
        raise Refused(f"confidence {confidence:g} must lie between 0 and 1")
    return -quantile((1 - confidence) / 2)
