"""What a calendar last published: digest, sequence, stamp and bytes of each component. It reads no plan."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta

__all__ = [
    "Ledger",
    "Row",
    "Wanted",
    "forget_ledger",
    "instant_text",
    "load_ledger",
    "next_stamp",
    "save_ledger",
]


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the ledger; without a digest it is what is left of a component that has gone.

    Args:
        digest: Digest of the content; empty once the component has gone.
        sequence: SEQUENCE last published.
        stamp: DTSTAMP and LAST-MODIFIED last published; UTC, whole seconds.
        start: Day it is sorted by.
        body: Bytes last published.
    """

    digest: str
    sequence: int
    stamp: datetime
    start: str
    body: bytes

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


@dataclass(slots=True)
class Ledger:
    """The rows of one calendar by UID, and which of them changed since they were read."""

    rows: dict[str, Row] = field(default_factory=dict)
    changed: set[str] = field(default_factory=set)

    @property
    def modified(self) -> datetime | None:
        """The newest stamp, of what is published and of what has gone; None while nothing ever was."""
        return max((row.stamp for row in self.rows.values()), default=None)

    def settle(self, wanted: Iterable[Wanted], as_of: date) -> list[tuple[str, Row]]:
        """Bring the ledger to what shall be published, and return it sorted by (start, uid).

        Unchanged content keeps its row to the byte. Changed content gets sequence + 1 and the latest of: old stamp and
        a second, written instant of its basis, as_of 00:00 UTC. What is no longer wanted keeps a row without bytes, so
        that its SEQUENCE goes on should it come back. The same ledger and the same wants give the same bytes.
        """
        kept: list[tuple[str, Row]] = []
        seen: set[str] = set()
        for want in wanted:
            seen.add(want.uid)
            kept.append((want.uid, self._settle_one(want, as_of)))
        for uid in self.rows.keys() - seen:
            if not self.rows[uid].is_gone:
                self._put(uid, self._gone(self.rows[uid], as_of))
        return sorted(kept, key=lambda item: (item[1].start, item[0]))

    def _settle_one(self, want: Wanted, as_of: date) -> Row:
        """Return the row of one component, new if its content changed."""
        old = self.rows.get(want.uid)
        if old is not None and old.digest == want.digest:
            return old
        sequence = 0 if old is None else old.sequence + 1
        stamp = next_stamp(old.stamp if old else None, want.basis, as_of)
        row = Row(want.digest, sequence, stamp, want.start, want.build(sequence, stamp))
        self._put(want.uid, row)
        return row

    def _gone(self, row: Row, as_of: date) -> Row:
        """Return what is left of a row; its stamp says when the calendar changed."""
        return replace(row, digest="", stamp=next_stamp(row.stamp, "", as_of), body=b"")

    def _put(self, uid: str, row: Row) -> None:
        """Set a row and remember that it changed."""
        self.rows[uid] = row
        self.changed.add(uid)


def next_stamp(old: datetime | None, basis: str, as_of: date) -> datetime:
    """Return the stamp of changed content: never the clock, always later than the old one."""
    candidates = [datetime.combine(as_of, time(0), UTC)]
    if old is not None:
        candidates.append(old + timedelta(seconds=1))
    if basis:
        candidates.append(datetime.fromisoformat(basis).astimezone(UTC).replace(microsecond=0))
    return max(candidates)


def instant_text(when: datetime) -> str:
    """Return an instant as text: ISO, UTC, whole seconds, as '2026-11-25T18:03:00Z'."""
    return f"{when.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"


def load_ledger(connection: sqlite3.Connection, calendar: str) -> Ledger:
    """Return the ledger of one calendar; empty for one that was never published."""
    rows = connection.execute(
        "select uid, digest, sequence, stamp, start, body from ledger where calendar = ?", (calendar,)
    )
    return Ledger({r[0]: Row(r[1], r[2], datetime.fromisoformat(r[3]), r[4], r[5]) for r in rows})


def save_ledger(connection: sqlite3.Connection, calendar: str, ledger: Ledger) -> int:
    """Write the rows that changed and return their number; the caller's transaction holds them."""
    rows: Mapping[str, Row] = ledger.rows
    values = [
        (calendar, uid, r.digest, r.sequence, instant_text(r.stamp), r.start, r.body)
        for uid in sorted(ledger.changed)
        for r in (rows[uid],)
    ]
    connection.executemany(
        "insert into ledger (calendar, uid, digest, sequence, stamp, start, body) values (?, ?, ?, ?, ?, ?, ?)"
        " on conflict (calendar, uid) do update set digest = excluded.digest, sequence = excluded.sequence,"
        " stamp = excluded.stamp, start = excluded.start, body = excluded.body",
        values,
    )
    ledger.changed.clear()
    return len(values)


def forget_ledger(connection: sqlite3.Connection, calendar: str) -> None:
    """Delete the ledger of a calendar that will never be published again."""
    connection.execute("delete from ledger where calendar = ?", (calendar,))
