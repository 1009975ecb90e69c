"""A filled reservoir whose nights grow cold: it is emptied, and until then poured through, never filled."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.planning.places.safe_starts import cold_runs
from carecal.planning.places.warmth import warm_night_c
from carecal.planning.rhythm.terms import profile_of
from carecal.planning.spans import covers
from carecal.planning.steps.case import limits_for

if TYPE_CHECKING:
    from carecal.collection.plants import PlantState
    from carecal.planning.plan_context import PlanContext

__all__ = ["FILLING", "is_reservoir_cold"]

FILLING = frozenset({"refill", "fill-and-drain"})


def is_reservoir_cold(state: PlantState, day: int, context: PlanContext, plant: int) -> bool:
    """Return whether the nights of a filled reservoir are so cold on a day that it is to be emptied, not filled.

    Args:
        state: The plant.
        day: The day (ordinal).
        context: The collection.
        plant: Its number, for the side it takes.

    Source: steps.toml emptying-the-reservoir.
    """
    if state.reservoir != "filled" or state.place is None or state.container is None:
        return False
    row = context.catalog.steps["emptying-the-reservoir"]
    warm_c = warm_night_c(profile_of(state, context.catalog), state, context, plant)
    limit = limits_for(row, warm_c).night_c or 0.0
    return covers(cold_runs(context, state.place, limit, day, state.container), day)
