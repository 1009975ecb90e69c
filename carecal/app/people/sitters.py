"""Sitters: who looks after the plants for some days, by an address of their own that ends by itself."""

from __future__ import annotations

import re
import secrets
from dataclasses import dataclass
from datetime import UTC, date, datetime
from hashlib import sha256
from hmac import compare_digest
from typing import TYPE_CHECKING

from carecal.catalog.names import near
from carecal.collection.database import storage_errors, transaction
from carecal.errors import Refused, UnknownName

if TYPE_CHECKING:
    from carecal.app.door import Collection
    from carecal.app.now import Now

__all__ = ["Sitter", "add_sitter", "end_sitter", "find_sitter", "sitters_of"]

TOKEN_BYTES = 24  # 192 bits, as the addresses of calendars
MOST_DAYS = 120  # our choice, because who minds the plants longer than a season is no sitter
_NAME = re.compile(r"[\w][\w .'’-]{0,39}")
_OWNER = "owner"
_ALL = "select id, name, start, until, ended from sitter order by start, id"
_ALL_WITH_HASH = "select id, name, start, until, ended, token_hash from sitter order by id"


@dataclass(frozen=True, slots=True)
class Sitter:
    """Somebody who looks after the plants from `start` up to and including `until`."""

    id: int
    name: str
    start: date
    until: date
    ended: str | None = None

    def is_over(self, day: date) -> bool:
        """Return whether the address answers no more."""
        return self.ended is not None or day > self.until


def add_sitter(collection: Collection, now: Now, name: str, start: date, until: date) -> str:
    """Add a sitter and return the secret path of the sheet, which is shown this once and kept only as a digest.

    Raises:
        Refused: The name cannot be written, is taken, or the days do not fit.
        StorageError: The file cannot be written.
    """
    name = name.strip()
    if not _NAME.fullmatch(name) or name.casefold() == _OWNER:
        raise Refused(
            f"sitter '{name}' has no name that fits; allowed are up to 40 letters, digits, spaces, - and '"
        )
    if until < start:
        raise Refused(f"the last day {until} is before the first, {start}; the last day is included")
    if until < now.day:
        raise Refused(f"{start} to {until} is past; allowed are days from {now.day} on")
    if (until - start).days >= MOST_DAYS:
        raise Refused(
            f"{start} to {until} are {(until - start).days + 1} days; allowed are up to {MOST_DAYS}"
        )
    if any(s.name.casefold() == name.casefold() for s in sitters_of(collection, now)):
        raise Refused(f"a sitter '{name}' has an address already; end it first, or give another name")
    token = secrets.token_urlsafe(TOKEN_BYTES)
    with transaction(collection.journal.connection) as connection:
        connection.execute(
            "insert into sitter (name, token_hash, start, until, created) values (?, ?, ?, ?, ?)",
            (name, _digest(token), start.isoformat(), until.isoformat(), _stamp(now.written)),
        )
    return f"/sitter/{token}"


def sitters_of(collection: Collection, now: Now) -> list[Sitter]:
    """Return the sitters whose address answers, by their first day."""
    with storage_errors(collection.journal.connection):
        rows = collection.journal.connection.execute(_ALL).fetchall()
    return [sitter for sitter in map(_sitter, rows) if not sitter.is_over(now.day)]


def end_sitter(collection: Collection, now: Now, name: str) -> Sitter:
    """End a sitter's address before its last day.

    Raises:
        UnknownName: No sitter of that name has one; names the near ones.
        StorageError: The file cannot be written.
    """
    living = sitters_of(collection, now)
    found = next((s for s in living if s.name.casefold() == name.strip().casefold()), None)
    if found is None:
        raise UnknownName("sitter", name, near(name, [s.name for s in living]))
    with transaction(collection.journal.connection) as connection:
        connection.execute("update sitter set ended = ? where id = ?", (_stamp(now.written), found.id))
    return found


def find_sitter(collection: Collection, token: str) -> Sitter | None:
    """Return the sitter of a token, ended or not; None for a token that never was.

    Each known digest is compared in constant time, and all of them always.
    """
    wanted, found = _digest(token), None
    with storage_errors(collection.journal.connection):
        rows = collection.journal.connection.execute(_ALL_WITH_HASH).fetchall()
    for row in rows:
        if compare_digest(wanted, row[-1]):
            found = _sitter(row[:-1])
    return found


def _sitter(row: tuple[int, str, str, str, str | None]) -> Sitter:
    return Sitter(row[0], row[1], date.fromisoformat(row[2]), date.fromisoformat(row[3]), row[4])


def _stamp(instant: datetime) -> str:
    return instant.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _digest(token: str) -> str:
    return sha256(token.encode("utf-8", "surrogatepass")).hexdigest()
