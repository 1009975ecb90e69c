"""What cold, heat and a dry rest give to the round of a day, plant by plant, as plain values; it puts none together."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from carecal.planning.held import held_back
from carecal.planning.places.tonight import night_row, order_of, tonight
from carecal.planning.places.weather import day_high, spells_of
from carecal.planning.rhythm.situations import situation_at
from carecal.planning.spans import day_of
from carecal.wording.rhythm import STOPS
from carecal.wording.season import little_water

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.planning.planner import Planner
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["cold_row", "heat_row", "held_row", "stopped"]

HEAT_AHEAD_DAYS = 2  # our choice, because shade and a cooler room are made ready in a day or two [d]


def stopped(planner: Planner, plant_planner: PlantPlanner) -> Iterator[str]:
    """Yield why nothing is wetted from today on, where it was yesterday."""
    today, stretches = planner.context.as_of, plant_planner.stretches
    if not stretches or plant_planner.line.entered >= today:
        return
    gap, former = (situation_at(stretches, day).gap for day in (today, today - 1))
    if gap != former and gap in STOPS:
        yield f"{plant_planner.line.name}: {STOPS[gap]}"


def cold_row(plant_planner: PlantPlanner) -> dict[str, Any] | None:
    """Return the limit that the plant falls under tonight, with where it stands among others."""
    found = next(iter(tonight([plant_planner])), None)
    if found is None:
        return None
    rank, below, number = order_of(found)
    return {"order": [rank, below, number], "told": night_row(found, plant_planner.line.id)}


def heat_row(plant_planner: PlantPlanner) -> dict[str, Any] | None:
    """Return the hot spell that holds today or that a forecast has for the next two days, and what it asks."""
    line, context = plant_planner.line, plant_planner.context
    state = line.state_at(context.as_of)
    for day in range(context.as_of, context.as_of + HEAT_AHEAD_DAYS + 1):
        spells = [s for s in spells_of(state, context) if s.start <= day <= s.until]
        high = day_high(context, state.place or "", day)
        if not spells or high is None or high < min(s.day_from_c for s in spells):
            continue
        return {
            "place": context.facts.places[state.place or ""].spec_at(day).name,
            "on": day_of(day).isoformat(),
            "is_today": day == context.as_of,
            "high_c": high,
            "does": "; ".join(dict.fromkeys(s.row.does for s in spells)),
            "name": line.name,
        }
    return None


def held_row(plant_planner: PlantPlanner) -> str | None:
    """Return the offer of a little water where a wetting is held back for cold or rest and today is mild."""
    held = held_back(plant_planner)
    line = plant_planner.line
    if held is None or not held.is_offered:
        return None
    return little_water(line.name, line.latest.place, held.why)
