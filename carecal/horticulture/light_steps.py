"""The day's light at a leaf by class, what the best half of a year gives, and the steps to a brighter place."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import ceil, log2
from typing import NamedTuple

from carecal.errors import Refused

__all__ = ["LightStep", "best_half_year", "class_of", "light_scale", "steps_up"]

EASY_RISE = 1.5  # our choice, because leaves bear the brighter days of spring, which rise as much
STEP = 2.0  # HOU2010: 34, 72, 140, 200 µmol m⁻² s⁻¹, each at most about twice the one before
STEP_DAYS = 3  # HOU2010: three rises in 6 to 9 days, the slow end
HALF_YEAR = 6  # months
EPSILON = 1e-9


class LightStep(NamedTuple):
    """A step on the way to a brighter place: from which day on, and how much of the light there."""

    day: int  # 0 is the day of the move [d]
    light: float  # in the unit of the two lights given


def class_of(bounds: Sequence[float], light_mol: float) -> int:
    """Return the number of the class that a day's light falls in, 0 the darkest; a bound belongs to the class above.

    Args:
        bounds: Lower ends of the classes, ascending, the first 0. [mol m⁻² d⁻¹]
        light_mol: The day's light at the leaf, 0 or more. [mol m⁻² d⁻¹]

    Raises:
        Refused: the bounds do not begin with 0 and ascend, or the light is negative.

    Source: definition; the bounds are rows of a table with their sources.
    """
    if not bounds or bounds[0] != 0 or any(a >= b for a, b in pairwise(bounds)):
        raise Refused(f"bounds {list(bounds)} do not begin with 0 and ascend")
    if not light_mol >= 0:
        raise Refused(f"light of {light_mol:g} mol m⁻² d⁻¹ is negative; 0 or more is allowed")
    return sum(light_mol >= bound - EPSILON for bound in bounds) - 1


def light_scale(ppfd_low: float, reference_ppfd_low: float) -> float:
    """Return by how much a kind wants more light than the reference kind [-].

    Args:
        ppfd_low: Lower end of the light printed for the kind. [µmol m⁻² s⁻¹]
        reference_ppfd_low: The same of the reference kind, above 0. [µmol m⁻² s⁻¹]

    Raises:
        Refused: reference_ppfd_low is not above 0.

    Source: our choice, because nobody measured a day's light for other kinds, and what is printed for them was
    read in the same greenhouses at noon.
    """
    if not reference_ppfd_low > 0:
        raise Refused(f"reference light {reference_ppfd_low:g} must be above 0")
    return ppfd_low / reference_ppfd_low


def best_half_year(monthly_mol: Sequence[float]) -> float:
    """Return the mean daily light of the six brightest months [mol m⁻² d⁻¹].

    Args:
        monthly_mol: Mean daily light of the twelve months. [mol m⁻² d⁻¹]

    Raises:
        Refused: there are not twelve months.

    Source: our choice, because a plant that grows through half of a year lives through the other.
    """
    if len(monthly_mol) != 12:
        raise Refused(f"{len(monthly_mol)} months of light are given; give twelve")
    return sum(sorted(monthly_mol)[-HALF_YEAR:]) / HALF_YEAR


def steps_up(now: float, there: float) -> list[LightStep]:
    """Return the steps from one light to a brighter one, none where the rise is easy; the last is the full light.

    Each step is at most twice the one before and lasts three days: eight times the light takes nine days.

    Args:
        now: Light the leaves are used to, above 0, in mol m⁻² d⁻¹ or µmol m⁻² s⁻¹.
        there: Light of the new place, in the same unit.

    Raises:
        Refused: the light now is not above 0.

    Source: HOU2010: 34, 72, 140 and 200 µmol m⁻² s⁻¹ over 6 to 9 days after dark shipping; 399 at once did harm.
    """
    if not now > 0:
        raise Refused(f"light of {now:g} must be above 0")
    if there <= now * EASY_RISE + EPSILON:
        return []
    count = max(1, ceil(log2(there / now) / log2(STEP) - EPSILON))
    return [
        LightStep(STEP_DAYS * i, min(there, now * STEP**i) if i < count else there) for i in range(count + 1)
    ]
