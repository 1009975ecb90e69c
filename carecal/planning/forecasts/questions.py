"""What a look on a day should ask: pests, a length that may be reached, a spike's length, the end of its flowers."""

from __future__ import annotations

from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

from carecal.planning.forecasts.growth import bloom_of, root_of
from carecal.planning.forecasts.kinds import root_targets
from carecal.planning.places.weather import asks_after_heat, is_medium_cold
from carecal.planning.rhythm.resting import rest_on
from carecal.planning.rhythm.situations import situation_at
from carecal.planning.rhythm.terms import lacks, profile_of
from carecal.planning.sick.aftercare import tug_asks
from carecal.planning.sick.beside import beside_questions
from carecal.planning.sick.buds import bud_asks, has_spike_rules
from carecal.planning.sick.counting import are_roots_seen, count_asked
from carecal.planning.sick.crown import crown_asks, is_crownless
from carecal.planning.sick.flowers import flower_question
from carecal.planning.sick.pests import pest_questions
from carecal.planning.sick.rot import dry_spans, open_rot
from carecal.planning.spans import day_of
from carecal.planning.states import states_of
from carecal.planning.steps.bridging import bridge_question
from carecal.wording.looks import FEEL_AND_WATER, lacking
from carecal.wording.season import rest_begins_question, rest_question

if TYPE_CHECKING:
    from carecal.collection.plants import PlantState
    from carecal.planning.plant_planner import PlantPlanner
    from carecal.planning.rhythm.situations import Situation

__all__ = ["question_for", "question_without_rhythm"]

BEGIN_DAYS = 42  # our choice, because growths ripen some weeks before the usual month [d]
NEAR_DAYS = 7  # our choice, because a crossing is asked for at the looks of the week before it [d]
BEGIN_DAYS = 42  # our choice, because growths ripen some weeks before the usual month [d]
ASKED_DAYS = 28  # our choice, because four weeks past its band a forecast is worth no question of its own [d]
FEW_MM = 30.0  # up to it tips alone are counted (our choice, because the roots of such a plant are known)


def question_for(plant_planner: PlantPlanner, day: int | None = None) -> str:
    """Return the question that a look on a day should answer, '' for none: pests, a crossing ahead, a flower.

    Args:
        plant_planner: The plant.
        day: Day of the look (ordinal); None: the plan's day.
    """
    on = day if day is not None else plant_planner.context.as_of
    state, tables = (
        plant_planner.line.state_at(min(on, plant_planner.context.as_of)),
        plant_planner.context.catalog,
    )
    trouble = _trouble_for(plant_planner, on)
    asked = [trouble] if trouble else []
    waits = crown_asks(state, on, tables)
    asked += [waits] if waits else []
    if is_crownless(state) or open_rot(state, on, tables) is not None:
        return "; ".join(asked)
    roots = "" if state.is_wrapped else _root_question(plant_planner, state, on)
    asked += [roots] if roots else []
    old = bridge_question(state, on, plant_planner.line.number, plant_planner.context)
    asked += [old] if old else []
    tug = tug_asks(state, on, plant_planner.context)
    asked += [tug] if tug else []
    ended = flower_question(state, on, plant_planner.context)
    if ended:
        asked.append(ended)
    elif any(early - NEAR_DAYS <= on <= late for _, early, late in _flowers(plant_planner)):
        asked.append("is the first flower open?")
    if _is_measured(plant_planner, state):
        asked.append("how long is its spike in mm?")
    minds = bud_asks(state, on, plant_planner.context)
    asked += [minds] if minds else []
    if asks_after_heat(state, on, plant_planner.context):
        asked.append("mites or thrips after the heat? look under the leaves")
    rest = _rest_question(plant_planner, state, on)
    asked += [rest] if rest else []
    return "; ".join(asked)


def _trouble_for(plant_planner: PlantPlanner, on: int) -> str:
    """Return what a look on a day (ordinal) asks of rot and pests: its own, a newcomer's, those found beside it."""
    context, line = plant_planner.context, plant_planner.line
    state = line.state_at(min(on, context.as_of))
    asked = pest_questions(state, on, context)
    if not asked and "quarantine" in states_of(state, on, context.catalog, resting=False):
        asked.append("any pest, on both sides of the leaves and in the axils?")
    return "; ".join([*asked, *(beside_questions(line, on, context) if line.besides else [])])


def question_without_rhythm(plant_planner: PlantPlanner, stretch: Situation, on: int) -> str:
    """Return what a look asks of a plant for which no days of water can be reckoned: pests, how its medium feels.

    What is missing is asked by nobody's silence for months, and the plant drinks meanwhile: each look says to feel it,
    but where water would harm. Source: our choice, because a thirsty plant cannot wait for a form to be filled in.

    Args:
        plant_planner: The plant.
        stretch: Its situation, without a rhythm.
        on: Day of the look (ordinal).
    """
    context, state = plant_planner.context, stretch.state
    missing = lacks(state, context.catalog)
    asked = [_trouble_for(plant_planner, on) if missing else question_for(plant_planner, on)]
    dry = dry_spans(state, context, plant_planner.line.number)
    is_kept_dry = any(first <= on <= last for first, last in dry)
    if not is_kept_dry and not stretch.is_resting and not is_medium_cold(state, on, context):
        asked.append(FEEL_AND_WATER)
    asked += [lacking(missing)] if missing else []
    return "; ".join(part for part in asked if part)


def _rest_question(plant_planner: PlantPlanner, state: PlantState, on: int) -> str:
    """Return the question whether a rest is over, '' where it was answered not long before or none is asked."""
    if not plant_planner.stretches:
        return ""
    stretch, tables = situation_at(plant_planner.stretches, on), plant_planner.context.catalog
    begins = profile_of(state, tables).rest_begins_sign
    if begins and any(on < rest.start <= on + BEGIN_DAYS for rest in plant_planner.rests):
        return rest_begins_question(begins)
    told = state.rest_told if state.rest is not None else None
    if not stretch.asks_rest or (told is not None and told <= on < told + tables.rests["any"].ask_days):
        return ""
    rest = rest_on(plant_planner.rests, on)
    profile = profile_of(state, tables)
    is_late = rest is not None and on > rest.usual_end and profile.rest_interval_factor != 1
    half = day_of(rest.half_from) if rest is not None and is_late else None
    is_half = rest is not None and on >= rest.half_from
    return rest_question(profile.rest_ends_sign or "new growth", half, is_half=is_half)


def _is_measured(plant_planner: PlantPlanner, state: PlantState) -> bool:
    """Return whether a spike is asked for its length: until the last of what is done by length (spike_steps.toml).

    Who ties with each so much of growth is asked until its first flower.
    """
    context = plant_planner.context
    if state.flowering != "in-spike" or not has_spike_rules(state, context.catalog):
        return False
    last = max(row.to_mm or row.from_mm for row in context.catalog.spike_steps.values())
    return (state.spike_mm or 0) < last or context.side("spike-tie", state, plant_planner.line.number) == "a"


def _root_question(plant_planner: PlantPlanner, state: PlantState, on: int) -> str:
    """Return the question on roots: what was never counted, else the longest length that may be reached by then."""
    tables = plant_planner.context.catalog
    due = count_asked(plant_planner.line, on, tables)
    if state.longest_mm is None or not are_roots_seen(state, tables):
        return due
    near = [
        mm
        for mm, early, late in _crossings(plant_planner)
        if mm > state.longest_mm and early - NEAR_DAYS <= on <= late
    ]
    if not near:
        return due
    count = "count tips" if state.tips is not None or near[0] <= FEW_MM else "count roots and tips"
    return f"{count}; longest root ≥ {near[0]:g} mm?"


def _crossings(plant_planner: PlantPlanner) -> list[tuple[float, int, int]]:
    """Return each length with the first and last day on which a look asks for it; kept, since many looks ask."""
    kept, key = _KEPT.setdefault(plant_planner, {}), ("roots", plant_planner.context.as_of)
    if key not in kept:
        kept[key] = [
            (mm, each.early, max(each.late or each.early, plant_planner.context.as_of) + ASKED_DAYS)
            for mm, each in (
                (mm, root_of(plant_planner, mm)) for mm in root_targets(plant_planner.context.catalog)
            )
            if each is not None and each.early is not None
        ]
    return kept[key]


def _flowers(plant_planner: PlantPlanner) -> list[tuple[float, int, int]]:
    kept, key = _KEPT.setdefault(plant_planner, {}), ("flower", plant_planner.context.as_of)
    if key not in kept:
        found = bloom_of(plant_planner)
        kept[key] = (
            [(0.0, found.early, max(found.late or found.early, plant_planner.context.as_of) + ASKED_DAYS)]
            if found is not None and found.early is not None
            else []
        )
    return kept[key]


_KEPT: WeakKeyDictionary[PlantPlanner, dict[tuple[str, int], list[tuple[float, int, int]]]] = (
    WeakKeyDictionary()
)
