"""What was done against a pest is done again by the pest's row, until its watch ends (treatments.toml)."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from carecal.planning.sick.pests import WARM_C, is_watched

if TYPE_CHECKING:
    from carecal.catalog.tables import Catalog
    from carecal.collection.plant_states import PlantState

__all__ = ["Repeat", "repeats_of"]


class Repeat(NamedTuple):
    """A treatment that is due again: how often [d], from which day, and in words."""

    every: int
    due: int
    text: str


def repeats_of(state: PlantState, day_c: float, catalog: Catalog) -> list[Repeat]:
    """Return what is repeated on a plant, by the warmth of its place; nothing once the watch ended.

    Args:
        state: The plant.
        day_c: Day temperature of its place. [°C]
        catalog: The tables.
    """
    watches, found = {watch.pest: watch for watch in state.pests}, []
    for done in state.treatments:
        row, cycle = catalog.treatments[done.did], catalog.pest_cycles.get(done.against)
        watch = watches.get(done.against)
        if watch is None or not row.repeats or cycle is None:
            continue
        every = int(cycle.treat_days_warm if day_c >= WARM_C else cycle.treat_days_cool)
        if is_watched(watch, done.day + every, catalog):
            text = f"against {done.against.replace('-', ' ')} again, as last time: {row.describes}"
            found.append(Repeat(every, done.day + every, text))
    return found
