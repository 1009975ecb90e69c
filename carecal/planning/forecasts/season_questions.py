"""What a look asks for the season's sake: a rest's signs, pests that come after heat. It decides nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.planning.places.weather import asks_after_heat
from carecal.planning.rhythm.resting import rest_on
from carecal.planning.rhythm.situations import situation_at
from carecal.planning.rhythm.terms import profile_of
from carecal.planning.spans import day_of
from carecal.wording.season import MITES, rest_begins_question, rest_question

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.collection.plants import PlantState
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["season_questions"]

BEGIN_DAYS = 42  # our choice, because growths ripen some weeks before the usual month [d]


def season_questions(plant_planner: PlantPlanner, state: PlantState, on: int) -> Iterator[str]:
    """Yield what a look on a day asks of heat and rest.

    A rest's end is asked for from rests.toml ask_from_days on, not within ask_days of an answer.
    """
    if asks_after_heat(state, on, plant_planner.context):
        yield MITES
    if not plant_planner.stretches:
        return
    stretch, tables = situation_at(plant_planner.stretches, on), plant_planner.context.catalog
    profile = profile_of(state, tables)
    begins = profile.rest_begins_sign
    if begins and any(on < rest.start <= on + BEGIN_DAYS for rest in plant_planner.rests):
        yield rest_begins_question(begins)
        return
    told = state.rest_told if state.rest is not None else None
    if not stretch.asks_rest or (told is not None and told <= on < told + tables.rests["any"].ask_days):
        return
    rest = rest_on(plant_planner.rests, on)
    half = day_of(rest.half_from) if rest is not None and on > rest.usual_end else None
    yield rest_question(profile.rest_ends_sign or "new growth", half)
