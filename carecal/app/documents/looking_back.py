"""What was written, and what it changed: the journal in lines, and the plan of a day against an earlier one's."""

from __future__ import annotations

import json
from datetime import date
from typing import TYPE_CHECKING, Any

from carecal.app.consequences import differences
from carecal.app.setup.plants import plants_of
from carecal.collection.journal_lines import journal_lines
from carecal.collection.records import taken_back
from carecal.planning.wettings.assumed import assumed_of
from carecal.wording.assumed import logged_as
from carecal.wording.entries import entry_sentence

if TYPE_CHECKING:
    from collections.abc import Mapping

    from carecal.app.door import Collection
    from carecal.app.now import Now

__all__ = ["assumed_in", "changes_of", "line_of", "log_of"]


def log_of(
    collection: Collection, now: Now, *, plant: str | None = None, since: date | None = None
) -> list[dict[str, Any]]:
    """Return the journal's entries as its lines have them, by entry number, with whether each was taken back.

    Args:
        collection: The collection.
        now: The moment of the command; entries dated later are left out.
        plant: Only the entries that name this plant.
        since: Only those dated on this day or later.

    Raises:
        UnknownName: No plant has that id.
    """
    number = collection.number_of(plant) if plant is not None else None
    records = collection.journal.records()
    undone = taken_back(records)
    found = []
    for record, line in zip(records, journal_lines(records), strict=True):
        names = number is None or record.plant == number or number in (record.data.get("plants") or ())
        if not names or record.on > now.day or (since is not None and record.on < since):
            continue
        found.append({**json.loads(line), "taken_back": record.command in undone})
    return found


def assumed_in(collection: Collection, now: Now, plant: str) -> list[str]:
    """Return what the log of a plant says of wettings that were taken as done, each with its day.

    Raises:
        UnknownName: No plant has that id.
    """
    number = collection.number_of(plant)
    plant_planner = collection.planner(now.day, plants={number}).plant_planners.get(number)
    slots = assumed_of(plant_planner.chain) if plant_planner is not None else []
    return [f"{date.fromordinal(slot.day)}  {plant}  {logged_as(slot.care)}" for slot in slots]


def line_of(entry: Mapping[str, Any]) -> str:
    """Return one entry as a line for people."""
    head = f"{entry['entry']:>5}  {entry['on']}  {entry.get('plant') or '-'}  {entry_sentence(entry)}"
    by = f"  by {entry['by']}" if entry["by"] != "owner" else ""
    return f"{head}{by}{'  (taken back)' if entry.get('taken_back') else ''}"


def changes_of(collection: Collection, now: Now, since: date) -> dict[str, Any]:
    """Return what was written since a day and how the plan of today differs from the one of that day.

    Args:
        collection: The collection.
        now: The moment of the command.
        since: The day; its own entries count as before.
    """
    before, after = collection.plan(since), collection.plan(now.day)
    entries = [entry for entry in log_of(collection, now) if entry["on"] > since.isoformat()]
    known = bool(before.plants) or bool(plants_of(collection, now))
    return {
        "since": since.isoformat(),
        "as_of": now.day.isoformat(),
        "entries": entries,
        "changes": differences(before, after) if known else [],
    }
