"""What was done against a pest is done again by the pest's row, until its watch ends (treatments.toml)."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from carecal.catalog.tables import Catalog
    from carecal.collection.plant_states import PlantState

__all__ = ["Repeat", "repeats_of"]

WARM_C = 22.0  # pest_cycles.toml: from it on the warm days count


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
    watched = {
        w.pest for w in state.pests if w.pest in catalog.pests and w.clean_looks < catalog.pests[w.pest].looks
    }
    found = []
    for done in state.treatments:
        row, cycle = catalog.treatments[done.did], catalog.pest_cycles.get(done.against)
        if done.against in watched and row.repeats and cycle is not None:
            every = int(cycle.treat_days_warm if day_c >= WARM_C else cycle.treat_days_cool)
            text = f"against {done.against.replace('-', ' ')} again, as last time: {row.describes}"
            found.append(Repeat(every, done.day + every, text))
    return found
