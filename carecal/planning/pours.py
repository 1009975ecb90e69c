"""What is poured: the technique of a care, and what it takes from the can. It knows no tasks and no days."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.horticulture.drydown import pot_volume_l
from carecal.horticulture.rounding import significant

if TYPE_CHECKING:
    from carecal.collection.plants import PlantState
    from carecal.planning.plan_context import PlanContext

__all__ = ["POUR_THROUGH_OF_HELD", "held_l", "litres_of", "technique_of"]

OF_VOLUME = {
    "drench": 0.5,
    "soak": 1.0,
    "fill-and-drain": 0.45,
    "refill": 0.2,
}  # models D6; twice through wets a coarse medium
POUR_THROUGH_OF_HELD = 2.2
SURFACE_L, MIST_L = 0.03, 0.02  # [L]
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
    volume = pot_volume_l(state.size_cm or UNSIZED_CM)
    if technique == "pour-through":
        return significant(POUR_THROUGH_OF_HELD * held_l(state, context), 3)
    if technique in OF_VOLUME:
        return significant(OF_VOLUME[technique] * volume, 3)
    return {"surface": SURFACE_L, "mist": MIST_L}.get(technique, 0.0)


def held_l(state: PlantState, context: PlanContext) -> float:
    """Return the water a plant's medium holds: pot volume times the mean water of the medium (models D5). [L]."""
    medium = context.catalog.media[state.medium or "bark"]
    return pot_volume_l(state.size_cm or UNSIZED_CM) * (medium.water_pct_low + medium.water_pct_high) / 200
