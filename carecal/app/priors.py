"""What neighbours teach a plant on the day it comes, is potted or moves, written into its entry once (models K4)."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from carecal.errors import UnknownName
from carecal.horticulture.learning import LEAST_NEIGHBOURS, prior_from_neighbours
from carecal.horticulture.rounding import significant
from carecal.planning.pace.estimates import estimate_on

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence
    from datetime import date

    from carecal.collection.entries import Entry
    from carecal.planning.planner import Planner
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["TAUGHT_KINDS", "neighbour_prior", "with_priors"]

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


def neighbour_prior(
    plant_planners: Iterable[PlantPlanner],
    medium: str | None,
    place: str | None,
    day: int,
    own: PlantPlanner | None = None,
) -> tuple[float, float] | None:
    """Return mean and standard deviation of ln(factor) that neighbours teach a plant potted or moved on a day.

    To be read once, when the entry is recorded, and written into it: so a later tick of a neighbour moves nothing.

    Args:
        plant_planners: The collection's plants.
        medium: What the plant will stand in.
        place: Where it will stand.
        day: Day of the entry (ordinal).
        own: The plant itself, where it was there before.

    Returns:
        None where fewer than three neighbours were measured; the plant's own half is then kept without being told.

    Source: models K4.
    """
    mine = estimate_on(own.estimates, day) if own is not None else None
    known = []
    for plant_planner in plant_planners:
        line = plant_planner.line
        gone = line.entered > day or (line.retired is not None and line.retired <= day)
        if gone or (own is not None and line.number == own.line.number):
            continue
        state = line.state_at(day)
        if (state.medium, state.place) != (medium, place):
            continue
        estimate = estimate_on(plant_planner.estimates, day)
        if estimate.is_measured:
            known.append((line.number, estimate.mean, estimate.sd))
    if len(known) < LEAST_NEIGHBOURS:
        return None
    own_mean = mine.mean if mine is not None and mine.was_measured else None
    belief = prior_from_neighbours(own_mean, [(mean, sd) for _, mean, sd in sorted(known)])
    return significant(belief.mean), significant(belief.sd)


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
