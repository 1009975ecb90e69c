"""What is weighed for a can of feed: never less than a scale shows, so a larger can or a stock solution instead."""

from __future__ import annotations

from typing import Final, NamedTuple

from carecal.errors import Refused
from carecal.horticulture.rounding import significant

__all__ = ["LEAST_G", "Weighing", "weighing"]

LEAST_G: Final = 0.5  # our choice, because scales that show a tenth of a gram are a fifth out below it [g]
MOST_AWAY_L: Final = 1.0  # our choice, because more than that is carried for nothing [L]
STOCKS_L: Final = (0.1, 0.25, 0.5, 1.0)  # our choice, because jugs and bottles have such marks [L]
LEAST_DOSE_ML: Final = 5.0  # our choice, because a spoon or a syringe still measures it [mL]
MIN_SHARE: Final = 1.02  # our choice, because nobody sees a fiftieth of a can


class Weighing(NamedTuple):
    """How a can of feed is mixed."""

    grams: float  # fertiliser that is weighed [g]
    can_l: float  # water it goes into, or which the dose of a stock goes into [L]
    stock_l: float | None = None  # water of the stock solution; None: it goes into the can itself [L]
    dose_ml: float | None = None  # of the stock that goes into the can [mL]
    away_l: float = 0.0  # of the can, or of the stock, that is poured away [L]


def weighing(g_per_l: float, litres: float) -> Weighing:
    """Return how so much feed of a strength is mixed without weighing less than half a gram.

    What is a little less becomes a larger can; where more than a litre of that would be poured away, a stock solution.

    Args:
        g_per_l: Fertiliser in the can, above 0. [g/L]
        litres: Feed that is needed, above 0. [L]

    Raises:
        Refused: One of them is not above 0.

    Source: definition; the limits are our choice.
    """
    if g_per_l <= 0 or litres <= 0:
        raise Refused(f"{g_per_l:g} g/L and {litres:g} L must be above 0")
    needed = g_per_l * litres
    if needed * MIN_SHARE >= LEAST_G:
        return Weighing(max(needed, LEAST_G), litres)
    larger = LEAST_G / g_per_l
    if larger - litres <= MOST_AWAY_L:
        return Weighing(LEAST_G, larger, away_l=larger - litres)
    share = needed / LEAST_G
    stock = next((size for size in STOCKS_L if 1000 * size * share >= LEAST_DOSE_ML), STOCKS_L[-1])
    dose = significant(1000 * stock * share, 2)
    return Weighing(LEAST_G, litres, stock, dose, stock - dose / 1000)
