"""Steps: what is done once, when safe: status, opening, last safe start, margin, reasons; the rules lie beside."""

from __future__ import annotations

from itertools import chain
from types import MappingProxyType
from typing import TYPE_CHECKING

from carecal.planning.steps_case import Case
from carecal.planning.steps_places import hardening, moving_in, moving_out
from carecal.planning.steps_plans import planned, soaking
from carecal.planning.steps_plant import cutting_spike, ending_quarantine, parting
from carecal.planning.steps_potting import converting, new_medium_due, plug, potting_on
from carecal.planning.steps_settle import settle
from carecal.planning.steps_water import emptying, filling, first_feed, opening_wrap

if TYPE_CHECKING:
    from collections.abc import Mapping

    from carecal.collection.plants import PlantLine
    from carecal.planning.desk import Desk
    from carecal.planning.model import Step

__all__ = ["RULES", "steps_of"]

RULES = (
    potting_on, new_medium_due, plug, converting, soaking, filling, emptying, first_feed, opening_wrap, parting,
    cutting_spike, ending_quarantine, moving_out, hardening, moving_in,
)  # fmt: skip
NO_KIN: Mapping[int, PlantLine] = MappingProxyType({})


def steps_of(desk: Desk, kin: Mapping[int, PlantLine] = NO_KIN, *, every: bool = False) -> list[Step]:
    """Return the steps of one plant on the plan's day, in the order of RULES, plans to confirm last.

    Args:
        desk: The plant.
        kin: Lines of the collection by number, of which its mother and its keikis are read.
        every: Also those that apply to it but nobody waits for; else only the wanted ones.

    Source: steps.toml; models W1-W3, G7, G8.
    """
    if desk.line.retired is not None or not desk.line.states:
        return []
    case = Case(desk, kin)
    verdicts = chain((rule(case) for rule in RULES), planned(case))
    return [
        settle(case, verdict) for verdict in verdicts if verdict is not None and (every or verdict.wanted)
    ]
