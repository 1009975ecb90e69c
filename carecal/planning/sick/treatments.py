"""What was done against a pest is done again by the pest's row, until its watch ends (treatments.toml)."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from carecal.planning.sick.pests import WARM_C, is_watched

if TYPE_CHECKING:
    from collections.abc import Callable

    from carecal.catalog.tables import Catalog
    from carecal.collection.plant_states import PlantState

__all__ = ["Repeat", "repeats_of"]


class Repeat(NamedTuple):
    """A treatment that is done again.

    Attributes:
        every: How often. [d]
        done: Day on which it was last done (ordinal).
        text: It in words.
        cautions: Codes of cautions.toml.
    """

    every: int
    done: int
    text: str
    cautions: tuple[str, ...]

    def is_due(self, day: int, *, is_next: bool) -> bool:
        """Return whether a look on a day does it again: the next one from its day on, later ones on its own days."""
        age = day - self.done
        return age >= self.every and (is_next or age % self.every == 0)

    def next_after(self, day: int) -> int:
        """Return its first day after a day (ordinal)."""
        return self.done + max((day - self.done) // self.every + 1, 1) * self.every


def repeats_of(state: PlantState, day: int, warmth: Callable[[int], float], catalog: Catalog) -> list[Repeat]:
    """Return what is repeated on a plant, by the warmth of its place when it was done; nothing once the watch ended.

    Args:
        state: The plant.
        day: The day (ordinal).
        warmth: Day temperature of its place by day (ordinal). [°C]
        catalog: The tables.
    """
    watches, found = {watch.pest: watch for watch in state.pests}, []
    for done in state.treatments:
        row, cycle = catalog.treatments[done.did], catalog.pest_cycles.get(done.against)
        watch = watches.get(done.against)
        if watch is None or not row.repeats or cycle is None or not is_watched(watch, day, catalog):
            continue
        every = int(cycle.treat_days_warm if warmth(done.day) >= WARM_C else cycle.treat_days_cool)
        text = f"against {done.against.replace('-', ' ')} again, as last time: {row.describes}"
        found.append(Repeat(every, done.day, text, row.cautions))
    return found
