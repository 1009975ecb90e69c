"""What is poured: the technique of a care, and what it takes from the can. It knows no tasks and no days."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.horticulture.drydown import pot_volume_l
from carecal.horticulture.rounding import significant

if TYPE_CHECKING:
    from carecal.collection.plants import PlantState
    from carecal.planning.plan_context import PlanContext

__all__ = ["held_l", "litres_of", "technique_of"]

UNSIZED_CM = 12.0  # our choice, because a mount without a size takes what a 12 cm pot takes


def technique_of(care: str, plain: str) -> str:
    """Return the technique of a care whose plain wetting is done by `plain`."""
    if care == "flushing":
        return "soak" if plain == "soak" else "pour-through"
    if care == "feeding" and plain == "refill":
        return "fill-and-drain"
    return plain


def litres_of(technique: str, state: PlantState, context: PlanContext) -> float:
    """Return what a technique takes from the can for one plant (models D6). [L]."""
    key = technique, state.size_cm, state.medium
    if key not in context.kept_litres:
        context.kept_litres[key] = _litres_of(technique, state, context)
    return context.kept_litres[key]


def _litres_of(technique: str, state: PlantState, context: PlanContext) -> float:
    row = context.catalog.techniques.get(technique)
    if row is None:
        return 0.0
    if row.of_held:
        return significant(row.of_held * held_l(state, context), 3)
    if row.of_volume:
        return significant(row.of_volume * pot_volume_l(state.size_cm or UNSIZED_CM), 3)
    return row.litres


def held_l(state: PlantState, context: PlanContext) -> float:
    """Return the water a plant's medium holds: pot volume times the mean water of the medium (models D5). [L]."""
    medium = context.catalog.media[state.medium or "bark"]
    return pot_volume_l(state.size_cm or UNSIZED_CM) * (medium.water_pct_low + medium.water_pct_high) / 200
