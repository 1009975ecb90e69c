"""How often a plant of a stage is looked over, and its roots counted where they can be seen (stage_looks.toml).

Nothing is unpotted to count. A count that is asked for stays open where only water was ticked.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.planning.sick.crown import is_crownless
from carecal.planning.sick.wraps import begun_on

if TYPE_CHECKING:
    from carecal.catalog.tables import Catalog
    from carecal.collection.plants import PlantHistory, PlantState

__all__ = ["are_roots_seen", "count_asked", "stage_look_days"]

MOSS = "moss"  # its top is lifted and laid back
AT_THE_TOP = frozenset({"rootless", "new-tips"})  # their tips come at the base, above the medium


def stage_look_days(state: PlantState, day: int, catalog: Catalog) -> int | None:
    """Return the days to the next look by a plant's stage; None without a stage. [d].

    Source: stage_looks.toml; who never said when it was potted has its plant looked over as a fresh one.
    """
    if state.stage is None:
        return None
    row, since = catalog.stage_looks[state.stage], begun_on(state)
    is_first = since is None or day - since <= (row.first_until or 0)
    return int(row.first_days if is_first and row.first_days is not None else row.look_days)


def are_roots_seen(state: PlantState, catalog: Catalog) -> bool:
    """Return whether roots are seen without disturbing them: through the pot, or under the top of the moss."""
    container = catalog.containers.get(state.container or "")
    return state.medium == MOSS or (container is not None and container.see_roots)


def _is_count_due(line: PlantHistory, day: int, catalog: Catalog) -> bool:
    """Return whether roots are counted at a look on a day: so long after the last count, where they can be seen."""
    state = line.state_at(day)
    if state.stage is None or state.is_wrapped or is_crownless(state):
        return False
    every, is_seen = catalog.stage_looks[state.stage].count_days, are_roots_seen(state, catalog)
    if every is None or not (is_seen or state.mother is not None or state.stage in AT_THE_TOP):
        return False
    counted = max(
        (on for on, what, _ in line.measured if what in {"roots", "tips"} and on <= day), default=None
    )
    return counted is None or day - counted >= every


def count_asked(line: PlantHistory, day: int, catalog: Catalog) -> str:
    """Return the question for a count that is due; a length is asked only of a root that is seen."""
    state = line.state_at(day)
    if state.stage is None or not _is_count_due(line, day, catalog):
        return ""
    if state.mother is not None:
        return "count its roots; how long is the longest in mm?"
    if not are_roots_seen(state, catalog):
        return "count the tips that show above the medium; dig up nothing"
    count = f"count roots and tips, {catalog.stage_looks[state.stage].count_by}"
    return count if state.stage == "rootless" else f"{count}; how long is the longest root in mm?"
