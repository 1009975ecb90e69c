"""The standard normal distribution, as far as intervals and censored observations need it."""

from __future__ import annotations

from functools import lru_cache
from math import erfc, sqrt
from statistics import NormalDist

from carecal.errors import Refused

__all__ = ["hazard", "two_sided", "upper_tail"]

FAR_OUT = 25.0  # beyond it the upper tail underflows; its expansion is exact to 1e-5 there
NORMAL = NormalDist()


def hazard(z: float) -> float:
    """Return the density over the upper tail, the mean of what lies above z [-].

    The tail is that of erfc, because one less the distribution function has no digits left far out.

    Args:
        z: Standard deviations from the mean. [-]

    Source: definition; its expansion in 1/z far out: from memory.
    """
    if z > FAR_OUT:
        return z + 1 / z - 2 / z**3
    return NORMAL.pdf(z) / upper_tail(z)


def upper_tail(z: float) -> float:
    """Return the chance of what lies above z, from erfc, which keeps its digits far out [-].

    Args:
        z: Standard deviations from the mean. [-]

    Source: definition.
    """
    return erfc(z / sqrt(2)) / 2


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
    return -NORMAL.inv_cdf((1 - confidence) / 2)
