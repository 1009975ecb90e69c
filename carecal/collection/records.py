"""Plain records of the journal, as the fold reads them: no pydantic, no SQLite."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any, NamedTuple

__all__ = ["Record", "effective", "taken_back"]


class Record(NamedTuple):
    """One line of the journal.

    `on` is when the thing happened, `written` the instant it counts as written (ISO, UTC), `data` the fields of
    its entry model but `on` and `plant`, as JSON values (dates as ISO text, plants as their numbers; an 'added'
    also holds its `id`). `clock` is the real clock where it differs from `written`, else ''.
    """

    n: int
    command: int
    kind: str
    plant: int | None  # the plant number
    on: date
    written: str
    by: str
    data: Mapping[str, Any]
    clock: str = ""


def taken_back(records: Iterable[Record]) -> frozenset[int]:
    """Return the commands that were undone and still are; an undo that was itself undone takes nothing back.

    Args:
        records: The journal, or at least its 'undone' entries.
    """
    undone: set[int] = set()
    for record in sorted((r for r in records if r.kind == "undone"), key=lambda r: r.n, reverse=True):
        if record.command not in undone:
            undone.add(int(record.data["command"]))
    return frozenset(undone)


def effective(records: Iterable[Record], as_of: date) -> list[Record]:
    """Return what counts on a day: dated no later, undone commands left out, amendments applied; by (on, n).

    An undo ('undone', data.command) takes back every entry of that command, an undo itself included. An
    amendment ('amended', data.entry, data.changes, data.on_day) replaces fields of one entry.
    """
    known = [record for record in records if record.on <= as_of]
    undone = taken_back(known)
    kept = {record.n: record for record in known if record.command not in undone}
    for record in sorted((r for r in kept.values() if r.kind == "amended"), key=lambda r: r.n):
        entry = int(record.data["entry"])
        if entry in kept:
            old = kept[entry]
            on = date.fromisoformat(record.data["on_day"]) if record.data.get("on_day") else old.on
            kept[entry] = old._replace(on=on, data={**old.data, **record.data.get("changes", {})})
    rest = [r for r in kept.values() if r.kind not in {"undone", "amended"} and r.on <= as_of]
    return sorted(rest, key=lambda r: (r.on, r.n))
