"""Digests by which a change from outside is found: a chain over the entries, and seals over the lines of ledgers.

They hold no secret: who changes a row and its digest alike is not found. What a disk, a stray program or a hand in the
database did to a row is.
"""

from __future__ import annotations

import json
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from carecal.collection.database import storage_errors

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterable, Iterator, Sequence

__all__ = ["add_link", "fill_links", "ledger_faults", "link_faults", "seal_ledger"]

_BEGIN = b""
_ENTRY = "select n, command, kind, plant, on_day, written, clock, author, data from entry"
_LINE = "select uid, digest, sequence, stamp, start, body, seal from ledger where calendar = ?"


def _link(before: bytes, row: Sequence[Any]) -> bytes:
    """Return the digest of an entry, chained to that of the one before. Source: our choice; SHA-256 is FIPS 180-4."""
    return sha256(before + json.dumps(list(row), ensure_ascii=False, separators=(",", ":")).encode()).digest()


def add_link(connection: sqlite3.Connection, n: int) -> None:
    """Chain one new entry to the one before it; the caller's transaction holds both."""
    before = connection.execute("select link from entry_link where n = ?", (n - 1,)).fetchone()
    row = connection.execute(_ENTRY + " where n = ?", (n,)).fetchone()
    connection.execute(
        "insert into entry_link values (?, ?)", (n, _link(before[0] if before else _BEGIN, row))
    )


def fill_links(connection: sqlite3.Connection) -> None:
    """Chain every entry of a file that has no chain yet."""
    before = _BEGIN
    for row in connection.execute(_ENTRY + " order by n").fetchall():
        before = _link(before, row)
        connection.execute("insert into entry_link values (?, ?)", (row[0], before))


def link_faults(connection: sqlite3.Connection) -> Iterator[tuple[int, str]]:
    """Yield by its number each entry that is not what was written, came in otherwise, or was taken out.

    Raises:
        StorageError: The file cannot be read.
    """
    with storage_errors(connection):
        links: dict[int, bytes] = dict(connection.execute("select n, link from entry_link"))
        rows = {row[0]: row for row in connection.execute(_ENTRY)}
    for n in sorted(links.keys() | rows.keys()):
        if n not in rows:
            yield n, "it was written, and is not there any more"
        elif n not in links:
            yield n, "it did not come in through carecal"
        elif links[n] != _link(links.get(n - 1, _BEGIN), rows[n]):
            yield n, "it is not what was written: something else has changed it"


def _seal(calendar: str, row: Sequence[Any]) -> bytes:
    return sha256(b"\0".join(_bytes(value) for value in (calendar, *row[:6]))).digest()


def _bytes(value: object) -> bytes:
    return value if isinstance(value, bytes) else str(value).encode()


def _whole(seals: Iterable[tuple[str, bytes]]) -> bytes:
    return sha256(b"".join(uid.encode() + b"\0" + seal for uid, seal in sorted(seals))).digest()


def seal_ledger(connection: sqlite3.Connection, calendar: str, changed: Iterable[str] = ()) -> None:
    """Seal the lines of a ledger that changed and those that have no seal yet, and the ledger as a whole.

    Args:
        connection: A writing connection; the caller's transaction holds lines and seals.
        calendar: The ledger's name.
        changed: UIDs of lines just written.
    """
    anew, seals = set(changed), {}
    for row in connection.execute(_LINE, (calendar,)).fetchall():
        is_sealed = row[6] is not None and row[0] not in anew
        seals[row[0]] = row[6] if is_sealed else _seal(calendar, row)
        if not is_sealed:
            values = (seals[row[0]], calendar, row[0])
            connection.execute("update ledger set seal = ? where calendar = ? and uid = ?", values)
    connection.execute(
        "insert into ledger_seal values (?, ?) on conflict (calendar) do update set seal = excluded.seal",
        (calendar, _whole(seals.items())),
    )


def ledger_faults(connection: sqlite3.Connection) -> Iterator[str]:
    """Yield what was changed in ledgers from outside; a ledger that was never sealed is passed over.

    Raises:
        StorageError: The file cannot be read.
    """
    with storage_errors(connection):
        sealed = connection.execute("select calendar, seal from ledger_seal order by calendar").fetchall()
        lines = {name: connection.execute(_LINE, (name,)).fetchall() for name, _ in sealed}
    for name, whole in sealed:
        wrong = [row[0] for row in lines[name] if row[6] is not None and row[6] != _seal(name, row)]
        yield from (f"ledger {name}: {uid}: something else has changed it" for uid in wrong)
        present = [(row[0], row[6]) for row in lines[name] if row[6] is not None]
        if not wrong and lines[name] and _whole(present) != whole:
            yield f"ledger {name}: lines were taken out or put in by something else"
