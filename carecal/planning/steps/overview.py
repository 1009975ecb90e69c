"""Steps: what is done once, when safe: status, opening, last safe start, margin, reasons; the rules lie beside."""

from __future__ import annotations

from datetime import date
from itertools import chain
from types import MappingProxyType
from typing import TYPE_CHECKING

from carecal.plan.model import Reason
from carecal.planning.places.weather import spells_of
from carecal.planning.sick.crown import is_crownless
from carecal.planning.sick.pests import root_finds
from carecal.planning.sick.rot import open_rot
from carecal.planning.steps.announced import planned, soaking
from carecal.planning.steps.case import Case, Verdict
from carecal.planning.steps.light import brightening
from carecal.planning.steps.places import hardening, moving_in, moving_out
from carecal.planning.steps.plant import ending_quarantine, parting
from carecal.planning.steps.potting import converting, new_medium_due, plug, potting_on
from carecal.planning.steps.settle import settle
from carecal.planning.steps.shade import putting_shade_up, taking_shade_down
from carecal.planning.steps.spikes import choosing_side, cutting_spike, staking, tying
from carecal.planning.steps.water import emptying, filling, first_feed, opening_further, opening_wrap
from carecal.wording.dates import day_month
from carecal.wording.season import heat_bars
from carecal.wording.sick import coming_in_text, roots_too_text, rot_place

if TYPE_CHECKING:
    from collections.abc import Mapping

    from carecal.collection.plants import PlantHistory
    from carecal.plan.model import Step
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["RULES", "steps_of"]

RULES = (
    potting_on,
    new_medium_due,
    plug,
    converting,
    soaking,
    filling,
    emptying,
    first_feed,
    opening_wrap,
    parting,
    choosing_side,
    staking,
    tying,
    cutting_spike,
    ending_quarantine,
    moving_out,
    hardening,
    brightening,
    moving_in,
    putting_shade_up,
    taking_shade_down,
)
POTTINGS = frozenset(
    {"potting-on", "new-medium-due", "taking-the-plug-out", "converting-to-a-reservoir", "parting-a-keiki"}
)
STILL_TOLD = frozenset(
    {"ending-quarantine", "moving-in", "moving-out", "hardening", "emptying-the-reservoir"}
)
NO_KIN: Mapping[int, PlantHistory] = MappingProxyType({})


def steps_of(
    plant_planner: PlantPlanner, kin: Mapping[int, PlantHistory] = NO_KIN, *, every: bool = False
) -> list[Step]:
    """Return the steps of one plant on the plan's day, in the order of RULES, plans to confirm last.

    Args:
        plant_planner: The plant.
        kin: Lines of the collection by number, of which its mother and its keikis are read.
        every: Also those that apply to it but nobody waits for; else only the wanted ones.

    Source: steps.toml; models W1-W3, G7, G8.
    """
    if plant_planner.line.retired is not None or not plant_planner.line.states:
        return []
    case = Case(plant_planner, kin)
    told = chain((rule(case) for rule in RULES), opening_further(case), planned(case))
    verdicts = (_barred(case, _minding(case, verdict)) for verdict in told if not _waits(case, verdict))
    return [
        settle(case, verdict) for verdict in verdicts if verdict is not None and (every or verdict.wanted)
    ]


def _waits(case: Case, verdict: Verdict | None) -> bool:
    """Return whether nothing is reckoned of a step: a plant without a crown is potted, cut and parted in no season."""
    is_said = verdict is not None and (verdict.urgent is not None or verdict.step in STILL_TOLD)
    return is_crownless(case.state) and not is_said


def _minding(case: Case, verdict: Verdict | None) -> Verdict | None:
    """Return a verdict with what is looked over on its occasion: roots at a potting, the plant before it comes in."""
    if verdict is None:
        return None
    if verdict.step == "moving-in":
        return verdict._replace(because=(*verdict.because, Reason("look-over", coming_in_text())))
    if verdict.step not in POTTINGS:
        return verdict
    finds = root_finds(case.state, case.day, case.context.catalog)
    told = (Reason("roots-too", roots_too_text(pest, date.fromordinal(on))) for pest, on in finds)
    return verdict._replace(because=(*verdict.because, *told))


def _barred(case: Case, verdict: Verdict | None) -> Verdict | None:
    """Return a verdict that waits while rot or heat holds its step back (bars of their rows); emergencies stand."""
    if verdict is None or verdict.urgent is not None:
        return verdict
    hot = next(
        (
            s
            for s in spells_of(case.state, case.context)
            if s.start <= case.day <= s.until and verdict.step in s.row.bars
        ),
        None,
    )
    if hot is not None and verdict.ready is not None:
        over = date.fromordinal(hot.until)
        return verdict._replace(blocked=heat_bars(hot.day_from_c, over))
    rot = open_rot(case.state, case.day, case.context.catalog)
    if rot is None or verdict.step not in rot.course.bars:
        return verdict
    over = date.fromordinal(rot.since + int(rot.course.clean_days))
    return verdict._replace(
        blocked=f"rot {rot_place(rot.where)}: waits until it has been clean to {day_month(over)}"
    )
