"""What a round says beside its tasks: who loses ground, what a wrap's place lacks, what threatens buds."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from carecal.planning.sick.buds import bud_hazards
from carecal.planning.sick.flowers import said_over
from carecal.planning.sick.losing import losing_of, next_try, trying_of
from carecal.planning.sick.wraps import faults_of
from carecal.planning.spans import day_of
from carecal.wording.weak import FLOWERS_OVER, IN_BUD, LEVELS, ROOTS_WAIT, fault_text, losing_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.planning.plan_context import PlanContext
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["Remark", "remarks_of"]


class Remark(NamedTuple):
    """One thing said of a plant.

    Attributes:
        code: losing, roots, buds or flowers.
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
    found = losing_of(line, day, context.catalog)
    if found is not None:
        trying, worth = trying_of(line, day, context.catalog), next_try(line, day, context)
        yield Remark(
            "losing",
            LEVELS[found.shown],
            losing_text(
                found.reasons,
                trying.row.does if trying is not None else "",
                day_of(trying.until + 1) if trying is not None else None,
                worth=worth.does if worth is not None else "",
                is_asked=found.asks,
            ),
            found.asks,
        )
    faults = faults_of(state, day, context)
    if faults:
        name = _place(context, state.place, day)
        text = "; ".join(fault_text(f.gate, f.value, f.low, f.high, name) for f in faults)
        yield Remark("roots", ROOTS_WAIT, _sentence(text))
    hazards = bud_hazards(state, day, context)
    if hazards:
        yield Remark("buds", IN_BUD, _sentence("; ".join(hazards)))
    over = said_over(state, day)
    if over:
        yield Remark("flowers", FLOWERS_OVER, _sentence(over))


def _place(context: PlanContext, place: str | None, day: int) -> str:
    return context.facts.places[place or ""].spec_at(day).name


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."
