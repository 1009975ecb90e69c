"""What was written, and what it changed: the journal in lines, and the plan of a day against an earlier one's."""

from __future__ import annotations

import json
from datetime import date
from typing import TYPE_CHECKING, Any

from carecal.app.consequences import differences
from carecal.app.setup.plants import plants_of
from carecal.collection.journal_lines import journal_lines
from carecal.collection.records import taken_back

if TYPE_CHECKING:
    from collections.abc import Mapping

    from carecal.app.door import Collection
    from carecal.app.now import Now

__all__ = ["changes_of", "line_of", "log_of", "said_of"]

_HEAD = frozenset({"entry", "command", "kind", "on", "written", "by", "clock", "plant"})
_UNSHOWN = frozenset({"prior_mean", "prior_sd", "days", "climate"})
_UNITS = {
    "_g_per_l": "g/L", "_ms_cm": "mS/cm", "_hours": "h", "_days": "days", "_ppfd": "µmol/m²/s", "_pct": "%",
    "_cm": "cm", "_mm": "mm", "_g": "g", "_c": "°C", "_m": "m",
}  # fmt: skip


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


def line_of(entry: Mapping[str, Any]) -> str:
    """Return one entry as a line for people."""
    head = f"{entry['entry']:>5}  {entry['on']}  {entry.get('plant') or '-'}  {entry['kind']}"
    said = said_of(entry)
    by = f"  by {entry['by']}" if entry["by"] != "owner" else ""
    return f"{head}{': ' if said else ''}{said}{by}{'  (taken back)' if entry.get('taken_back') else ''}"


def said_of(entry: Mapping[str, Any]) -> str:
    """Return what an entry said beside its day, its plant and its kind."""
    return ", ".join(_said(key, value) for key, value in entry.items() if _is_shown(key, value))


def _is_shown(key: str, value: object) -> bool:
    is_said = value is not None and value is not False and value not in ("", [])
    return is_said and key not in _HEAD | _UNSHOWN and key != "taken_back"


def _said(key: str, value: object) -> str:
    ending = next((ending for ending in _UNITS if key.endswith(ending)), "")
    unit = f" {_UNITS[ending]}" if ending else ""
    name = key.removeprefix("of_").removesuffix(ending).replace("_", " ")
    if value is True:
        return name
    if isinstance(value, list):
        value = " ".join(map(str, value))
    if isinstance(value, dict):
        value = " ".join(f"{k}={v}" for k, v in value.items())
    shown = f"{value:g}" if isinstance(value, float) else str(value)
    return f"{name} {' '.join(shown.split())}{unit}"


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
