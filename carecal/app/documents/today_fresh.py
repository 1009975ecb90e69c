"""The round of a day worked out anew for all plants: only what the next days need becomes a task."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

from carecal.app.near.document import NEAR_DAYS, round_document
from carecal.app.near.rows import collection_row, plant_row
from carecal.planning.plan_context import horizon_of

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from carecal.app.door import Collection
    from carecal.collection.records import Record

__all__ = ["fresh_today"]


def fresh_today(
    collection: Collection, as_of: date, days: int = 1, *, records: Sequence[Record] | None = None
) -> dict[str, Any]:
    """Return the round of a day and of the days after it.

    Args:
        collection: The collection.
        as_of: The day.
        days: How many days, the first included. [d]
        records: Records to plan from instead of the journal's own.
    """
    last = as_of + timedelta(days=days - 1)
    until = last + timedelta(days=NEAR_DAYS)
    planner = collection.planner(as_of, until=max(until, horizon_of(as_of)), records=records)
    rows = {
        number: plant_row(planner, plant_planner, last, until)
        for number, plant_planner in planner.plant_planners.items()
    }
    told = {number: row for number, row in rows.items() if row is not None}
    return round_document(collection_row(planner), told, as_of, days)
