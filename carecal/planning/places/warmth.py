"""How warm a kind wants its medium for feed and steps, by the side taken where growers differ; it knows no place."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from carecal.catalog.tables import Profile
    from carecal.collection.plants import PlantState
    from carecal.planning.plan_context import PlanContext

__all__ = ["warm_night_c"]


def warm_night_c(profile: Profile, state: PlantState, context: PlanContext, plant: int) -> float:
    """Return the night temperature that gates of warmth are reckoned from [°C].

    Args:
        profile: The kind.
        state: The plant.
        context: The collection, for the side taken.
        plant: Its number.

    Source: night_min_c of the profile; for Miltoniopsis the sides of milt-night (trade-facts D28).
    """
    if profile.warm_night_c is None:
        return profile.night_min_c
    if context.side("milt-night", state, plant) == "b" and profile.warm_night_other_c is not None:
        return profile.warm_night_other_c
    return profile.warm_night_c
