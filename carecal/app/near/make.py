"""How rows of rounds are made, for the coming days and for a day as it stood in the morning."""

from __future__ import annotations

import json
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from carecal.app.near.document import NEAR_DAYS
from carecal.app.near.kept_making import Recipe
from carecal.app.near.rows import collection_row, plant_row
from carecal.app.store import cached, keep
from carecal.collection.concerns import mothers_of
from carecal.planning.plan_context import horizon_of

if TYPE_CHECKING:
    from collections.abc import Set as AbstractSet

    from carecal.app.near.source import Source
    from carecal.planning.planner import Planner
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["STRIP_DAYS", "recipe", "rows_without"]

STRIP_DAYS = 7  # our choice, because most plants are cared for within a week [d]
MOST_STRIPS = 1_000  # our choice, because more plants would keep many megabytes for days to come


def recipe(days: int, plants: int) -> Recipe:
    """Return how rows are made for rounds that show so many days.

    Args:
        days: How many days a round shows. [d]
        plants: How many plants there are; of very many only the day's own rows are made.
    """

    def until(as_of: date) -> date:
        return max(as_of + timedelta(days=days - 1 + NEAR_DAYS + STRIP_DAYS), horizon_of(as_of))

    strip = STRIP_DAYS if plants <= MOST_STRIPS else 1
    return Recipe(
        strip, until, collection_row, lambda planner, plant_planner: _row(planner, plant_planner, days)
    )


def _row(planner: Planner, plant_planner: PlantPlanner, days: int) -> dict[str, Any] | None:
    last = planner.timeline.as_of + timedelta(days=days - 1)
    return plant_row(planner, plant_planner, last, last + timedelta(days=NEAR_DAYS))


def rows_without(
    collection: Source, as_of: date, commands: frozenset[int], plants: AbstractSet[int], stamp: str
) -> dict[int, dict[str, Any]]:
    """Return what plants give to the round of a day, as if some commands had never been written; kept by plant.

    Args:
        collection: The collection.
        as_of: The day.
        commands: Numbers of the commands.
        plants: Numbers of the plants.
        stamp: What kept rows rest on besides the entries.
    """
    of_plants = mothers_of(collection.journal.records(plants))
    kin = {mother for number in plants for mother in of_plants.get(number, ())}
    records = [
        record
        for record in collection.journal.records(plants | kin)
        if record.command not in commands
        and not (record.kind == "undone" and int(record.data["command"]) in commands)
    ]
    connection, found, missing = collection.journal.connection, {}, {}
    for number in plants:
        near = {None, number, *of_plants.get(number, ())}
        near |= {other for other, mothers in of_plants.items() if number in mothers}
        mine = [record.n for record in records if record.plant in near]
        stamped = f"{stamp}|{as_of}|{len(mine)}|{max(mine, default=0)}"
        kept = cached(connection, f"morning/{number}", stamped)
        if kept is None:
            missing[number] = stamped
        else:
            found[number] = json.loads(kept)
    if missing:
        planner = collection.planner(as_of, records=records)
        for number, stamped in missing.items():
            plant_planner = planner.plant_planners.get(number)
            row = {
                "mothers": sorted(of_plants.get(number, ())),
                "row": _row(planner, plant_planner, 1) if plant_planner is not None else None,
            }
            keep(connection, f"morning/{number}", stamped, json.dumps(row, ensure_ascii=False))
            found[number] = row
    return found
