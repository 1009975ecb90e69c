"""What a plant's plan rests on: the rows that are in force for it with their sources, the sides its rules asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from carecal.catalog.citations import cited_keys
from carecal.planning.places.shade import shade_row
from carecal.planning.rhythm.situations import situation_at
from carecal.planning.sick.pests import is_watched
from carecal.planning.sick.rot import open_rot
from carecal.planning.sick.wraps import keeping_of
from carecal.planning.wettings.feeding import light_class_of
from carecal.wording.grounds import choices_in, ground_text, side_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.catalog.tables import Catalog
    from carecal.collection.plants import PlantState
    from carecal.plan.model import Plan
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["DRYING", "grounds_of"]

DRYING = "our choice, because nobody seems to have published what a potted plant at home drinks: a weighed pot tells"
KINDS = ("ours", "part", "others")  # in the order in which they are told


def grounds_of(plant_planner: PlantPlanner, plan: Plan, plant: str) -> dict[str, Any]:
    """Return the rows in force with what each rests on, and the conflicts of the trade that the plan asked about.

    Args:
        plant_planner: The plant, planned already: the sides that its rules asked for are known then.
        plan: Its plan.
        plant: Its id, for the command that takes the other side.
    """
    catalog, context = plant_planner.context.catalog, plant_planner.context
    state = plant_planner.line.state_at(context.as_of)
    rules = []
    for what, source in dict(_rules(plant_planner, plan, state)).items():
        keys = cited_keys(source)
        is_other = bool(keys) or "common practice" in source or "from memory" in source
        kind = ("part" if is_other else "ours") if choices_in(source) else "others"
        rules.append({"rule": what, "kind": kind, "source": source, "text": ground_text(what, source, keys)})
    rules.sort(key=lambda row: KINDS.index(row["kind"]))
    return {"rules": rules, "sides": list(_sides(plant_planner, catalog, state, plant))}


def _rules(plant_planner: PlantPlanner, plan: Plan, state: PlantState) -> Iterator[tuple[str, str]]:
    """Yield what is in force for a plant on the plan's day, each rule in words with the source of its row."""
    context, day = plant_planner.context, plant_planner.context.as_of
    catalog = context.catalog
    yield from _of_pot(catalog, state)
    if plan.rhythms:
        yield "How air, warmth and light dry a pot", DRYING
        stretch = situation_at(plant_planner.stretches, day)
        found = light_class_of(stretch, day, context)
        yield f"Feed by light ({found.says})", found.source
    if state.stage is not None:
        yield f"Stage {state.stage}", catalog.stages[state.stage].source
        yield "How often it is looked over", catalog.stage_looks[state.stage].source
    for name in (*plan.plant(plant_planner.line.number).states, state.flowering):
        if name in catalog.states and name != "none":
            yield f"State {name.replace('-', ' ')}", catalog.states[name].source
    for gate in plan.gates:
        if gate.gate in catalog.feeding_gates:
            yield f"Feeding gate {gate.gate.replace('-', ' ')}", catalog.feeding_gates[gate.gate].source
    for step in plan.steps:
        if step.step in catalog.steps:
            yield f"Step {step.step.replace('-', ' ')}", catalog.steps[step.step].source
    yield from _of_trouble(plant_planner, state)
    row = shade_row(context, state.place, day) if state.place in context.facts.places else None
    if row is not None and any("shade" in step.step for step in plan.steps):
        yield "When its window is shaded", row.source


def _of_pot(catalog: Catalog, state: PlantState) -> Iterator[tuple[str, str]]:
    profile = catalog.profiles.get(state.profile)
    if profile is not None:
        yield f"What a {profile.latin} asks for", profile.source
    rows = [
        row
        for row in catalog.reference_rows
        if (row.medium, row.container) == (state.medium, state.container)
    ]
    if rows:
        nearest = min(rows, key=lambda row: abs(row.size_cm - (state.size_cm or 0)))
        yield f"Days between wettings of {state.medium} in {state.container}", nearest.source
    for name in state.aid_names:
        yield f"Aid {name}", catalog.aids[name].source


def _of_trouble(plant_planner: PlantPlanner, state: PlantState) -> Iterator[tuple[str, str]]:
    catalog, day = plant_planner.context.catalog, plant_planner.context.as_of
    rot = open_rot(state, day, catalog)
    if rot is not None:
        yield f"Course of rot at the {rot.where}", rot.course.source
    for watch in state.pests:
        if is_watched(watch, day, catalog) and watch.pest in catalog.pest_cycles:
            yield f"How long {watch.pest} is watched for", catalog.pest_cycles[watch.pest].source
    keeping = keeping_of(state, catalog)
    if keeping is not None:
        yield "How a plant without roots is kept", keeping.row.source


def _sides(
    plant_planner: PlantPlanner, catalog: Catalog, state: PlantState, plant: str
) -> Iterator[dict[str, Any]]:
    context, number = plant_planner.context, plant_planner.line.number
    for key, row in catalog.sides.items():
        if (key, number) not in context.asked:
            continue
        told = {
            "key": key,
            "question": row.question,
            "a": row.side_a,
            "b": row.side_b,
            "default": row.default,
            "because": row.because,
            "side": context.side(key, state, number),
        }
        yield {**told, "text": side_text(told, plant)}
