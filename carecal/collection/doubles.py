"""Entries that say once more what another one has said: told apart from what may be said twice. It writes nothing."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from carecal.collection.records import Record, effective, taken_back

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

__all__ = ["old_doubles", "said_already"]

TICKS = frozenset({"done", "left"})
ANSWERS = TICKS | {"excepted"}
AT_ONCE = timedelta(seconds=2)
"""Two like entries written within this time were one tap sent twice. [s] Source: our choice, because nobody says a
thing, is asked whether a second time is meant and answers within it."""


def said_already(mine: Sequence[Record], others: Sequence[Record]) -> tuple[Record, Record] | None:
    """Return the first record that says again what another one has said meanwhile, with that one; None without any.

    A task is answered once; a care without one is done once a day; all else is said again where every field is equal.

    Args:
        mine: Records about to be written.
        others: The records written since what `mine` rests on was read, what was taken back again included.
    """
    undone = taken_back(others)
    standing = [record for record in others if record.command not in undone]
    return next(((new, old) for new in mine for old in standing if _is_again(new, old)), None)


def _is_again(new: Record, old: Record) -> bool:
    if new.plant != old.plant:
        return False
    if new.kind in ANSWERS and new.kind != "excepted" and old.kind == "excepted":
        return False  # put off, and done after all
    if new.kind in ANSWERS and old.kind in ANSWERS:
        task = new.data.get("task")
        return (task is not None and task == old.data.get("task")) or _is_same_care(new, old)
    return (new.kind, new.on, new.data) == (old.kind, old.on, old.data)


def _is_same_care(new: Record, old: Record) -> bool:
    return (new.kind, new.on) == (old.kind, old.on) and _care(new) == _care(old) != (None, None)


def _care(record: Record) -> tuple[object, object]:
    return record.data.get("care"), record.data.get("aid")


def old_doubles(records: Sequence[Record]) -> Iterator[tuple[Record, Record]]:
    """Yield each care that stands in a journal twice by a tap that arrived twice, with the one it says again.

    These are answers to one task on one day, and like cares of a day written at the same moment by two commands.

    Args:
        records: A whole journal by entry number.
    """
    seen: dict[tuple[int | None, date], list[Record]] = {}
    for record in sorted(effective(records, date.max), key=lambda record: record.n):
        if record.kind not in TICKS:
            continue
        before = seen.setdefault((record.plant, record.on), [])
        first = next((old for old in before if _is_old_double(record, old)), None)
        if first is not None:
            yield record, first
        before.append(record)


def _is_old_double(new: Record, old: Record) -> bool:
    if new.command == old.command:
        return False
    task = new.data.get("task")
    if task is not None and task == old.data.get("task"):
        return True
    return (new.kind, new.data) == (old.kind, old.data) and _instant(new) - _instant(old) <= AT_ONCE


def _instant(record: Record) -> datetime:
    return datetime.fromisoformat(record.clock or record.written)
