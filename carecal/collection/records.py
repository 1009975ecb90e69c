"""Plain records of the journal, as the fold reads them: no pydantic, no SQLite."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

__all__ = ["Record", "effective"]


@dataclass(frozen=True, slots=True)
class Record:
    """One line of the journal.

    `on` is when the thing happened, `written` the instant it counts as written (ISO, UTC), `data` the fields of
    its entry model but `on` and `plant`, as JSON values (dates as ISO text).
    """

    n: int
    command: int
    kind: str
    plant: int | None  # the plant number
    on: date
    written: str
    by: str
    data: Mapping[str, Any]


def effective(records: Iterable[Record], as_of: date) -> list[Record]:
    """Return what counts on a day: dated no later, undone commands left out, amendments applied; by (on, n).

    An undo ('undone', data.command) takes back every entry of that command, an undo itself included. An
    amendment ('amended', data.entry, data.changes, data.on_day) replaces fields of one entry.
    """
    known = {record.n: record for record in records if record.on <= as_of}
    taken_back: set[int] = set()
    for record in sorted(known.values(), key=lambda r: r.n, reverse=True):
        if record.kind == "undone" and record.command not in taken_back:
            taken_back.add(int(record.data["command"]))
    kept = {n: record for n, record in known.items() if record.command not in taken_back}
    for record in sorted(kept.values(), key=lambda r: r.n):
        if record.kind == "amended" and int(record.data["entry"]) in kept:
            old = kept[int(record.data["entry"])]
            on = date.fromisoformat(record.data["on_day"]) if record.data.get("on_day") else old.on
            kept[old.n] = replace(old, on=on, data={**old.data, **record.data.get("changes", {})})
    rest = [r for r in kept.values() if r.kind not in {"undone", "amended"} and r.on <= as_of]
    return sorted(rest, key=lambda r: (r.on, r.n))
