"""What follows a potting by day (after_potting.toml): shade, the way back to light, a tug after six weeks."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.planning.sick.rot import UNROOTED, dry_spans
from carecal.planning.spans import day_of
from carecal.wording.sick import potted_text

if TYPE_CHECKING:
    from carecal.catalog.tables import AfterPotting
    from carecal.collection.plants import PlantHistory, PlantState
    from carecal.planning.plan_context import PlanContext

__all__ = ["aftercare", "first_wetting", "tug_asks"]

SHADE, WETTING, LIGHT, TUG = "shade", "first-wetting", "normal-light", "tug-test"
ASKED_DAYS = (
    28  # our choice, because a rooted plant is looked over every four weeks: it is asked at one of them [d]
)


def aftercare(line: PlantHistory, day: int, context: PlanContext) -> str:
    """Return what a plant potted within the week is kept from, '' for others and where its place is dim enough.

    Args:
        line: The plant.
        day: The day (ordinal).
        context: The collection.

    Source: after_potting.toml.
    """
    state, rows = line.state_at(day), context.catalog.after_potting
    if state.potted is None or state.mother is not None or state.is_wrapped or state.potting < 2:
        return ""
    light, most = context.air(state.place, day), rows[SHADE].light_mol_max
    until = state.potted + _day(rows[LIGHT], state)
    if not state.potted <= day < until or light is None or most is None:
        return ""
    mol = light.at("light_mol", day)
    if mol <= most:
        return ""
    is_dry = not any(
        e.day >= (state.potted or 0) and (e.kind == "wet" or (e.kind == "potted" and e.watered))
        for e in line.told
    )
    first = first_wetting(state, context, line.number)
    return potted_text(
        rows[SHADE].does,
        (mol, most),
        (rows[WETTING].does, day_of(first)) if is_dry and day < first else None,
        (rows[LIGHT].does, day_of(until)),
    )


def first_wetting(state: PlantState, context: PlanContext, plant: int) -> int:
    """Return the day (ordinal) of the first wetting of a plant that was potted and left dry, after any dry days of rot.

    Args:
        state: The plant, potted.
        context: The collection.
        plant: Its number.

    Source: after_potting.toml first-wetting; rot_courses.toml dry_days.
    """
    first = (state.potted or state.day) + _day(context.catalog.after_potting[WETTING], state)
    for start, until in sorted(dry_spans(state, context, plant)):
        first = until + 1 if start <= first <= until else first
    return first


def tug_asks(state: PlantState, day: int, context: PlanContext) -> str:
    """Return that a plant is tugged at softly some weeks after its potting, '' for others.

    Source: after_potting.toml tug-test.
    """
    row = context.catalog.after_potting[TUG]
    if state.potted is None or state.potting < 2 or state.mother is not None or state.is_wrapped:
        return ""
    first = state.potted + _day(row, state)
    return row.does.removesuffix("?") if first <= day < first + ASKED_DAYS else ""


def _day(row: AfterPotting, state: PlantState) -> int:
    """Return the day of a row after a potting: by pruned or converted roots, or by the stage. [d]."""
    if state.waits_long:
        return int(row.day_pruned)
    return int(row.day_unrooted if state.stage in UNROOTED else row.day)
