"""The round of a day put together from what is kept of each plant; only what is not kept is planned."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from carecal.app.lazy import LazyModule
from carecal.app.near.document import round_document
from carecal.app.near.kept_rows import KeptRows, stale_among
from carecal.app.near.source import WHOLE
from carecal.planning.rounds.one_can import Asked, mixed_on

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from carecal.app.near import make as near_make
    from carecal.app.near.kept_making import Planned
    from carecal.app.near.kept_rows import Rows
    from carecal.app.near.source import Source
    from carecal.collection.records import Record
else:
    near_make = LazyModule("carecal.app.near.make")

__all__ = ["follow", "kept_rounds", "near_round", "poured_today", "round_without", "told_rows"]

FORMAT = 28  # of the rows; another number throws kept ones away
MOST_FOLLOWED = 12  # our choice, because more plants are planned sooner by the round that asks for them


def kept_rounds(collection: Source, days: int = 1) -> KeptRows:
    """Return what is kept of each plant for rounds that show so many days. [d]."""
    return KeptRows(
        collection, f"near/{days}", FORMAT, lambda: near_make.recipe(days, collection.journal.most_plants())
    )


def near_round(collection: Source, as_of: date, days: int = 1) -> dict[str, Any]:
    """Return the round of a day and of the days after it, planning only what no kept row tells.

    Args:
        collection: The collection.
        as_of: The day.
        days: How many days, the first included. [d]
    """
    return _document(kept_rounds(collection, days).brought_up(as_of), as_of, days)


def told_rows(collection: Source, as_of: date) -> list[dict[str, Any]]:
    """Return what each plant of which something is to be told gives to the round of a day, by its number."""
    rows = kept_rounds(collection).brought_up(as_of)
    told = (row["row"] for number, row in sorted(rows.items()) if number != WHOLE)
    return [row for row in told if row is not None]


def poured_today(collection: Source, as_of: date, plant: int) -> float | None:
    """Return the strength of the day's can, where a plant by itself would be fed at another one. [mg/L of N].

    Args:
        collection: The collection.
        as_of: The day.
        plant: Number of the plant; None is also the answer where no feed is mixed that day.
    """
    on = as_of.isoformat()
    told = (Asked(*values) for row in told_rows(collection, as_of) for values in row.get("asked", ()))
    asked = [each for each in told if each.on == on]
    mixed = mixed_on(asked, on)
    own = next((each.ppm_n for each in asked if each.plant == plant and not each.is_given), None)
    return mixed if mixed != own else None


def round_without(
    collection: Source, as_of: date, commands: Mapping[int, Sequence[Record]]
) -> dict[str, Any]:
    """Return the round of a day as if some commands had never been written, nor what takes them back.

    Args:
        collection: The collection.
        as_of: The day.
        commands: The records of each command; each is about a plant.
    """
    kept = kept_rounds(collection)
    rows = kept.brought_up(as_of)
    touched = {r.plant for records in commands.values() for r in records if r.plant is not None}
    stale = stale_among(rows, touched)
    former = near_make.rows_without(collection, as_of, frozenset(commands), stale, kept.stamp)
    return _document(rows | former, as_of, 1)


def follow(collection: Source, as_of: date, planned: Planned) -> None:
    """Bring what is kept up to an entry that was just written, where a round is kept and few plants are concerned.

    Args:
        collection: The collection.
        as_of: The day.
        planned: What was planned with the entry; its planner may be moved on to later days.
    """
    if len(planned.plants) <= MOST_FOLLOWED:
        kept = kept_rounds(collection)
        if kept.is_begun:
            kept.brought_up(as_of, planned, most=MOST_FOLLOWED)


def _document(rows: Rows, as_of: date, days: int) -> dict[str, Any]:
    told = {number: rows[number]["row"] for number in sorted(rows)}
    whole = told.pop(WHOLE)
    return round_document(whole, {n: row for n, row in told.items() if row is not None}, as_of, days)
