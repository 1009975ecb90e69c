"""A plant whose crown was lost: it waits for one shoot from the base, and nothing else is reckoned (askings.toml)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.planning.sick.losing import ASKED_AGAIN_DAYS, GOING_ON
from carecal.planning.spans import day_of
from carecal.wording.sick import crownless_text

if TYPE_CHECKING:
    from carecal.catalog.tables import Catalog
    from carecal.collection.plants import PlantHistory, PlantState

__all__ = ["CROWNLESS", "crown_asks", "crown_asks_on", "crown_remark", "is_crownless"]

CROWNLESS = "crownless"


def is_crownless(state: PlantState) -> bool:
    """Return whether a plant lost its crown and no shoot from the base was seen since."""
    return state.crown_lost is not None and state.shoot is None


def crown_asks(state: PlantState, day: int, catalog: Catalog) -> str:
    """Return what a look minds while a plant waits for a shoot; '' for others and on the first days."""
    if not is_crownless(state):
        return ""
    row = catalog.askings[CROWNLESS]
    return row.does if day >= (state.crown_lost or 0) + int(row.ask_from_days or 0) else ""


def crown_asks_on(line: PlantHistory, day: int, catalog: Catalog) -> bool:
    """Return whether the grower is asked to go on: a year without a shoot, unanswered of late."""
    state, limit = line.state_at(day), catalog.askings[CROWNLESS].limit_days
    if not is_crownless(state) or limit is None or day < (state.crown_lost or 0) + int(limit):
        return False
    return not any(what == GOING_ON and day - on < ASKED_AGAIN_DAYS for what, on in state.tried)


def crown_remark(line: PlantHistory, day: int, catalog: Catalog) -> str:
    """Return what is said of a plant without a crown on a day, '' for others."""
    state = line.state_at(day)
    if not is_crownless(state):
        return ""
    return crownless_text(day_of(state.crown_lost or day), is_asked=crown_asks_on(line, day, catalog))
