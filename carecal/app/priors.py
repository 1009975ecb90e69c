"""What neighbours teach a plant on the day it comes, is potted or moves, written into its entry once (models K4)."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from carecal.errors import UnknownName
from carecal.planning.pace.estimates import neighbour_prior

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date

    from carecal.collection.entries import Entry
    from carecal.planning.planner import Planner
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["TAUGHT_KINDS", "with_priors"]

TAUGHT_KINDS = frozenset({"added", "potted", "moved"})


def with_priors(
    entries: Sequence[Entry], planner: Callable[[date], Planner], number_of: Callable[[str], int]
) -> list[Entry]:
    """Return the entries, those of a coming, potting or move with what three neighbours or more have taught.

    So a tick of a neighbour moves nothing later, and a replay of the journal gives the same.

    Args:
        entries: Entries about to be written.
        planner: Gives the planner of all plants on a day; asked only where an entry needs it.
        number_of: Gives the number of a plant by its id; UnknownName where it is new.
    """
    days: dict[date, Planner] = {}
    found = []
    for entry in entries:
        if entry.kind in TAUGHT_KINDS and getattr(entry, "prior_sd", None) is None:
            if entry.on not in days:
                days[entry.on] = planner(entry.on)
            entry = _taught(entry, days[entry.on], number_of)
        found.append(entry)
    return found


def _taught(entry: Entry, planner: Planner, number_of: Callable[[str], int]) -> Entry:
    told: Any = entry
    own = _own(told.plant, planner, number_of) if entry.kind != "added" else None
    state = own.line.state_at(entry.on.toordinal()) if own is not None else None
    medium = told.medium if entry.kind != "moved" else state.medium if state is not None else None
    place = told.place if entry.kind != "potted" else state.place if state is not None else None
    if medium is None or place is None:
        return entry
    prior = neighbour_prior(planner.plant_planners.values(), medium, place, entry.on.toordinal(), own)
    if prior is None:
        return entry
    return entry.model_copy(update={"prior_mean": prior[0], "prior_sd": prior[1]})


def _own(plant: str, planner: Planner, number_of: Callable[[str], int]) -> PlantPlanner | None:
    try:
        return planner.plant_planners.get(number_of(plant))
    except UnknownName:
        return None
