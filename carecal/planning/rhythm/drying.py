"""How far a pot has dried since a day, in intervals of factor 1; it knows no wettings and no answers (models K1)."""

from __future__ import annotations

from bisect import bisect_right
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from carecal.planning.plan_context import PlanContext
    from carecal.planning.rhythm.situations import Situation

__all__ = ["HELD", "Drying"]

HELD = frozenset({"cold", "rest"})  # gaps in which the pot dries on, though nothing is wetted
UNTOLD = frozenset(
    {"unknown", "no-climate", "lent"}
)  # gaps in which the pot dries at a pace that nobody knows


class Drying:
    """The drying of one plant over its stretches.

    Args:
        stretches: The plant's situations, in order and without holes.
        context: Climate of the places.
    """

    def __init__(self, stretches: Sequence[Situation], context: PlanContext) -> None:
        self._stretches, self._scene = list(stretches), context
        self._starts = [stretch.start for stretch in self._stretches]

    def situation(self, day: int) -> Situation:
        """Return the situation that holds a day; the first one before it begins."""
        return self._stretches[max(bisect_right(self._starts, day) - 1, 0)]

    def progress(self, first: int, day: int, *, held: bool = False) -> float | None:
        """Return the intervals of factor 1 that pass from one day to another, or None where nobody can know.

        The days from `first` up to the one before `day` count, each with the interval of its own demand; days on
        which nothing dries or is wetted (wrapped, on a mother, paused, too cold) do not; `held` counts those too on
        which water is held back for cold or a dry rest. [-]
        """
        if not self._stretches:
            return None
        total, start = 0.0, first
        at = max(bisect_right(self._starts, first) - 1, 0)
        while start < day:
            stretch = self._stretches[at]
            last = at + 1 == len(self._stretches)
            until = day - 1 if last else min(self._starts[at + 1], day) - 1
            if stretch.gap in UNTOLD:
                return None
            if (not stretch.gap or (held and stretch.gap in HELD)) and stretch.terms is not None:
                air = self._scene.air(stretch.terms.place, stretch.start)
                if air is None or start < air.origin or until > air.last:
                    return None
                terms = stretch.terms
                lived = air.lived_demand(terms.container, terms.light_factor, start, until)
                total += lived / terms.product
            start, at = until + 1, at + 1
        return total
