"""What a plant's page writes down of pots, places, aids and reservoirs; what is out of season is asked about first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.app.actions import out_of_season
from carecal.app.actions import pots as actions_pots
from carecal.app.actions import states as actions_states
from carecal.app.documents.places import moved_remarks
from carecal.web.pages.act import Act

if TYPE_CHECKING:
    from carecal.web.visit import Visit

__all__ = ["act_aid", "act_move", "act_part", "act_pot", "act_reservoir"]


def act_pot(visit: Visit, plant: str) -> Act:
    """Return the entries of a potting, or of its announcement; out of season it is asked about first."""
    planned = visit.flag("planned")
    entries = actions_pots.pot(
        *visit.here,
        [plant],
        visit.need("medium"),
        visit.need("container"),
        visit.number("size"),
        on=visit.day("on"),
        watered=not visit.flag("dry_pot"),
        pruned=visit.flag("pruned"),
        filled=visit.flag("filled"),
        planned=planned,
        sure=visit.is_sure,
    )
    if not (planned or visit.is_sure or visit.is_trial):
        out_of_season.ask_potting(*visit.here, [plant], visit.need("container"), visit.day("on"))
    return Act(entries, "Potting announced" if planned else "Potting written down")


def act_move(visit: Visit, plant: str) -> Act:
    """Return the entries of a move; into the cold it is asked about first."""
    place, planned = visit.need("place"), visit.flag("planned")
    entries = actions_pots.move(
        *visit.here, [plant], place, on=visit.day("on"), planned=planned, sure=visit.is_sure
    )
    if not (planned or visit.is_sure or visit.is_trial):
        out_of_season.ask_moving(*visit.here, [plant], place, visit.day("on"))
    remarks = moved_remarks(*visit.here, [plant], place)
    return Act(entries, "Move announced" if planned else "Move written down", remarks)


def act_part(visit: Visit, plant: str) -> Act:
    """Return the entry of a keiki that leaves its mother."""
    entries = actions_pots.part(
        *visit.here,
        plant,
        visit.need("medium"),
        visit.need("container"),
        visit.number("size"),
        on=visit.day("on"),
        place=visit.text("place"),
        watered=not visit.flag("dry_pot"),
    )
    return Act(entries, "Parted from its mother")


def act_aid(visit: Visit, plant: str) -> Act:
    """Return the entry of an aid that is given or taken off; a wrap without a new root is asked about first."""
    name, off = visit.need("aid"), visit.need("to") == "off"
    entries = actions_states.aid(*visit.here, plant, name, off=off, on=visit.day("on"), sure=visit.is_sure)
    if off and name == "wrap" and not (visit.is_sure or visit.is_trial):
        out_of_season.ask_unwrapping(*visit.here, plant, visit.day("on"))
    return Act(entries, f"{name.replace('-', ' ').capitalize()} {'taken off' if off else 'given'}")


def act_reservoir(visit: Visit, plant: str) -> Act:
    """Return the entry of a reservoir that is emptied or filled; out of season it is asked about first."""
    to = visit.need("to")
    entries = actions_states.reservoir(*visit.here, plant, to, on=visit.day("on"))
    if to == "filled" and not (visit.is_sure or visit.is_trial):
        out_of_season.ask_filling(*visit.here, plant, visit.day("on"))
    return Act(
        entries,
        "Reservoir emptied on purpose" if to == "empty" else "Reservoir filled",
    )
