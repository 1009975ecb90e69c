"""What a round says beside its tasks: who loses ground, what a wrap's place lacks, what threatens buds."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from carecal.planning.sick.aftercare import aftercare
from carecal.planning.sick.buds import bud_hazards
from carecal.planning.sick.crown import crown_asks_on, crown_remark, is_crownless
from carecal.planning.sick.flowers import said_over
from carecal.planning.sick.losing import losing_of, next_try, trying_of
from carecal.planning.sick.pests import neighbours_asked
from carecal.planning.sick.rot import ROT, dry_spans, is_answered, open_rot, technique_on
from carecal.planning.sick.wraps import faults_of
from carecal.planning.spans import day_of, merge, run_end
from carecal.wording.sick import CROWN_LOST, PEST_FOUND, POTTED, first_help_text, rot_head, rot_text
from carecal.wording.weak import FLOWERS_OVER, IN_BUD, LEVELS, ROOTS_WAIT, fault_text, losing_text, try_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.collection.plant_states import PestWatch
    from carecal.collection.plants import PlantState
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["Remark", "remarks_of"]


NEW_DAYS = 3  # our choice, because the plants around are looked over at once [d]


class Remark(NamedTuple):
    """One thing said of a plant.

    Attributes:
        code: crown, rot, pest, losing, roots, buds or flowers.
        head: It in a few words.
        text: Why and what to do, in whole sentences.
        is_asked: Whether the grower is asked to go on with the plant or not.
    """

    code: str
    head: str
    text: str
    is_asked: bool = False


def remarks_of(plant_planner: PlantPlanner) -> list[Remark]:
    """Return what is said of a plant on the plan's day, the gravest first."""
    return list(_remarks(plant_planner))


def _remarks(plant_planner: PlantPlanner) -> Iterator[Remark]:
    line, context = plant_planner.line, plant_planner.context
    if line.retired is not None or not line.states:
        return
    day, state = context.as_of, line.state_at(context.as_of)
    yield from _of_trouble(plant_planner, day, state)
    found = losing_of(line, day, context.catalog)
    if found is not None and not is_crownless(state):
        trying, worth = trying_of(line, day, context.catalog), next_try(line, day, context)
        yield Remark(
            "losing",
            LEVELS[found.shown],
            losing_text(
                found.reasons,
                trying.row.does if trying is not None else "",
                day_of(trying.until + 1) if trying is not None else None,
                worth=try_text(worth.does, worth.light_mol_low, worth.light_mol_high)
                if worth is not None
                else "",
                is_asked=found.asks,
            ),
            found.asks,
        )
    kept = aftercare(line, day, context)
    if kept:
        yield Remark("potted", POTTED, kept)
    faults = faults_of(state, day, context)
    if faults:
        name = _place(context, state.place, day)
        text = "; ".join(fault_text(*f, name) for f in faults)
        yield Remark("roots", ROOTS_WAIT, _sentence(text))
    hazards = bud_hazards(state, day, context)
    if hazards:
        yield Remark("buds", IN_BUD, _sentence("; ".join(hazards)))
    over = said_over(state, day)
    if over:
        yield Remark("flowers", FLOWERS_OVER, _sentence(over))


def _of_trouble(plant_planner: PlantPlanner, day: int, state: PlantState) -> Iterator[Remark]:
    """Yield what is said of a lost crown, of rot that was answered while it is kept dry, and of a pest just found."""
    line, context = plant_planner.line, plant_planner.context
    lost = crown_remark(line, day, context.catalog)
    if lost:
        yield Remark(
            "crown", CROWN_LOST, _sentence(lost).removesuffix("."), crown_asks_on(line, day, context.catalog)
        )
    rot = open_rot(state, day, context.catalog)
    if rot is not None and is_answered(rot, state):
        dry = run_end(merge(dry_spans(state, context, line.number)), day)
        is_below = technique_on(state, day, context.catalog) is not None
        text = rot_text("", day_of(dry + 1) if dry is not None else None, from_below=is_below)
        if text:
            yield Remark("rot", rot_head(rot.where, day_of(rot.found)), text)
    found = [
        w for w in state.pests if w.pest != ROT and w.since <= day < w.since + NEW_DAYS and not w.clean_looks
    ]
    if found:
        asked = neighbours_asked(state, day, context)
        text = " ".join(
            part
            for part in (_first_help(line.id, state, found[0], context), asked and _sentence(asked))
            if part
        )
        if text:
            yield Remark("pest", f"{found[0].pest.replace('-', ' ')} {PEST_FOUND}", text)


def _first_help(plant: str, state: PlantState, watch: PestWatch, context: PlanContext) -> str:
    """Return what is done first about a pest, until something was: apart, and by hand what its rows name."""
    if any(each.against == watch.pest and each.day >= watch.since for each in state.treatments):
        return ""
    rows = [row for row in context.catalog.treatments.values() if watch.pest in row.against]
    by_hand = [row.treatment for row in sorted(rows, key=lambda row: not row.repeats)]  # the blade comes last
    return first_help_text(plant, watch.pest, by_hand, is_apart=state.quarantine_since is not None)


def _place(context: PlanContext, place: str | None, day: int) -> str:
    return context.facts.places[place or ""].spec_at(day).name


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."
