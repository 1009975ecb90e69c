"""The states a plant is in on a day, as states.toml names them, and whether it is on watch. It knows no plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.planning.sick.crown import CROWNLESS, is_crownless
from carecal.planning.sick.pests import is_watched
from carecal.planning.sick.rot import open_rot, shut_spans

if TYPE_CHECKING:
    from carecal.catalog.tables import Catalog
    from carecal.collection.plants import PlantState

__all__ = ["is_on_watch", "is_settling", "is_unfed", "states_of"]


def states_of(state: PlantState, day: int, catalog: Catalog, *, resting: bool) -> list[str]:
    """Return the names of a plant's states on a day, as states.toml names them."""
    found = []
    if state.quarantine_since is not None:
        found.append("quarantine")
    if open_rot(state, day, catalog) is not None or any(is_watched(w, day, catalog) for w in state.pests):
        found.append("pest-watch")
    if state.is_wrapped:
        found.append("wrapped")
    if is_settling(state, day, catalog):
        found.append("settling")
    if resting:
        found.append("resting")
    if state.mother is not None:
        found.append("keiki")
    if is_crownless(state):
        found.append(CROWNLESS)
    return found


def is_unfed(state: PlantState, day: int, catalog: Catalog) -> bool:
    """Return whether a plant has rot, no roots, stands apart, in a wrap or on its mother: no feed is held out to it.

    Source: our choice, because whoever reads how a gate opens is tempted to open it.
    """
    rotten = any(first <= day <= last for first, last in shut_spans(state, catalog))
    apart = state.quarantine_since is not None or state.mother is not None
    return rotten or apart or state.stage == "rootless" or state.is_wrapped


def is_settling(state: PlantState, day: int, catalog: Catalog) -> bool:
    """Return whether a plant settles in after a potting on a day."""
    return state.potted is not None and state.potted <= day < state.potted + catalog.states["settling"].days


def is_on_watch(state: PlantState, day: int, catalog: Catalog) -> bool:
    """Return whether a plant is on watch: rootless, new-tips, wrapped, settling, quarantine or pest-watch."""
    names = states_of(state, day, catalog, resting=False)
    return state.stage in {"rootless", "new-tips"} or bool(set(names) - {"resting", "keiki", CROWNLESS})
