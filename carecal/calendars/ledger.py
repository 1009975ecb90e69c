"""What a calendar last published: digest, sequence, stamp and bytes of each component. It reads no plan.

Rows are read without their bytes, and the bytes of changed components lie in a temporary table until they are saved, so
that a calendar of any size is made without holding its components, and without keeping others from writing.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from sys import intern

__all__ = ["HEAD", "Ledger", "Row", "Wanted", "forget_ledger", "instant_text", "next_stamp"]

HEAD = "VCALENDAR"
"""Where the ledger remembers a calendar's head, so that its change is dated too; no component has this UID."""
_STAGED = """create temp table if not exists staged (
    uid text not null, digest text not null, sequence integer not null, stamp text not null, start text not null,
    body blob not null
) strict"""
_ROWS = "select uid, digest, sequence, stamp, start from ledger where calendar = ?"
_STAGE = "insert into temp.staged (uid, digest, sequence, stamp, start, body) values (?, ?, ?, ?, ?, ?)"
_SAVE = """insert into ledger (calendar, uid, digest, sequence, stamp, start, body)
    select ?, uid, digest, sequence, stamp, start, body from temp.staged where true order by uid
    on conflict (calendar, uid) do update set digest = excluded.digest, sequence = excluded.sequence,
    stamp = excluded.stamp, start = excluded.start, body = excluded.body"""
_SHOWN = "select uid from ledger where calendar = ? and digest <> '' and uid <> ? order by start, uid"
_BODY = "select body from ledger where calendar = ? and uid = ?"


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the ledger; without a digest it is what is left of a component that has gone.

    Args:
        digest: Digest of the content; empty once the component has gone.
        sequence: SEQUENCE last published.
        stamp: DTSTAMP and LAST-MODIFIED last published; UTC, whole seconds.
        start: Day it is sorted by.
    """

    digest: str
    sequence: int
    stamp: datetime
    start: str

    @property
    def is_gone(self) -> bool:
        """True for a component that is no longer published."""
        return not self.digest


@dataclass(frozen=True, slots=True)
class Wanted:
    """One component that shall be published, and how to build it if it changed.

    Args:
        uid: Its UID.
        digest: Digest of its content.
        start: Day it is sorted by; ISO.
        basis: Written instant of the newest entry it rests on; ISO, UTC, or empty.
        build: Makes its bytes from SEQUENCE and stamp.
    """

    uid: str
    digest: str
    start: str
    basis: str
    build: Callable[[int, datetime], bytes]


class Ledger:
    """The rows of one calendar by UID, brought step by step to what shall be published.

    Unchanged content keeps its row to the byte. Changed content gets sequence + 1 and the latest of: old stamp and a
    second, written instant of its basis, as_of 00:00 UTC. What is no longer wanted keeps a row without bytes, so that
    its SEQUENCE goes on should it come back. The same ledger and the same wants give the same bytes.

    Args:
        connection: The collection's database; only `save` writes to its file.
        calendar: Key of the calendar.
    """

    def __init__(self, connection: sqlite3.Connection, calendar: str) -> None:
        self._connection, self._calendar = connection, calendar
        self._version = self._data_version()
        self.rows = self._read()
        self.changed: set[str] = set()
        self._former: dict[str, Row] = {}  # rows that changed, as they were read
        self._wanted: set[str] = set()
        connection.execute(_STAGED)
        connection.execute("delete from temp.staged")

    @property
    def modified(self) -> datetime:
        """The newest stamp, of what is published and of what has gone; the head is always one of them."""
        return max(row.stamp for row in self.rows.values())

    @property
    def shown(self) -> int:
        """How many components shall be published, the head not counted."""
        return len(self._wanted) - (HEAD in self._wanted)

    def settle(self, wanted: Iterable[Wanted], as_of: date) -> None:
        """Take up what shall be published, building what changed; of a UID that comes twice the first one counts."""
        self._stage(self._settled(wanted, as_of))

    def retire(self, as_of: date) -> None:
        """Let go what nobody wanted since the ledger was read; the stamp says when the calendar changed."""
        self._stage(self._gone(as_of))

    def is_current(self) -> bool:
        """True while the file holds the rows that were read; asked in the transaction that saves."""
        if self._data_version() == self._version:
            return True
        kept = {uid: row for uid, row in self.rows.items() if uid not in self.changed}
        return self._read() == kept | self._former

    def save(self) -> None:
        """Write the rows that changed; the caller's transaction holds them."""
        self._connection.execute(_SAVE, (self._calendar,))
        self._connection.execute("delete from temp.staged")
        self._former.clear()
        self._wanted.clear()
        self.changed.clear()

    def bodies(self) -> Iterator[bytes]:
        """Yield the saved bytes of all that is published but the head, by (start, uid)."""
        names = self._connection.execute(_SHOWN, (self._calendar, HEAD)).fetchall()
        for (name,) in names:  # one by one, so that the database sorts names without their bytes
            yield self._connection.execute(_BODY, (self._calendar, name)).fetchone()[0]

    def _read(self) -> dict[str, Row]:
        rows = self._connection.execute(_ROWS, (self._calendar,))
        return {uid: Row(digest, n, _instant(stamp), intern(start)) for uid, digest, n, stamp, start in rows}

    def _data_version(self) -> int:
        """Return a number that changes when another connection has written."""
        return int(self._connection.execute("pragma data_version").fetchone()[0])

    def _settled(self, wanted: Iterable[Wanted], as_of: date) -> Iterator[tuple[str, Row, bytes]]:
        """Yield the components that changed, with their bytes."""
        for want in wanted:
            if want.uid in self._wanted:
                continue
            self._wanted.add(want.uid)
            old = self.rows.get(want.uid)
            if old is not None and old.digest == want.digest:
                continue
            sequence = 0 if old is None else old.sequence + 1
            stamp = next_stamp(old.stamp if old else None, want.basis, as_of)
            row = Row(want.digest, sequence, stamp, intern(want.start))
            yield want.uid, row, want.build(sequence, stamp)

    def _gone(self, as_of: date) -> Iterator[tuple[str, Row, bytes]]:
        """Yield what is left of the components that have gone."""
        for uid in self.rows.keys() - self._wanted:
            row = self.rows[uid]
            if not row.is_gone:
                yield uid, replace(row, digest="", stamp=next_stamp(row.stamp, "", as_of)), b""

    def _stage(self, changes: Iterable[tuple[str, Row, bytes]]) -> None:
        """Take up rows that changed; their bytes go to the temporary table, in one step outside any transaction."""
        is_alone = not self._connection.in_transaction
        if is_alone:
            self._connection.execute("begin")
        try:
            self._connection.executemany(_STAGE, map(self._staged, changes))
        finally:
            if is_alone:
                self._connection.execute("commit")

    def _staged(self, change: tuple[str, Row, bytes]) -> tuple[str, str, int, str, str, bytes]:
        uid, row, body = change
        former = self.rows.get(uid)
        if former is not None:
            self._former[uid] = former
        self.rows[uid] = row
        self.changed.add(uid)
        return uid, row.digest, row.sequence, instant_text(row.stamp), row.start, body


def next_stamp(old: datetime | None, basis: str, as_of: date) -> datetime:
    """Return the stamp of changed content: never the clock, always later than the old one."""
    candidates = [datetime.combine(as_of, time(0), UTC)]
    if old is not None:
        candidates.append(old + timedelta(seconds=1))
    if basis:
        candidates.append(_instant(basis).astimezone(UTC).replace(microsecond=0))
    return max(candidates)


@lru_cache(maxsize=4096)
def instant_text(when: datetime) -> str:
    """Return an instant as text: ISO, UTC, whole seconds, as '2026-11-25T18:03:00Z'."""
    return f"{when.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"


@lru_cache(maxsize=4096)
def _instant(text: str) -> datetime:
    """Return the instant of a text; many rows share one."""
    return datetime.fromisoformat(text)


def forget_ledger(connection: sqlite3.Connection, calendar: str) -> None:
    """Delete the ledger of a calendar that will never be published again."""
    connection.execute("delete from ledger where calendar = ?", (calendar,))
