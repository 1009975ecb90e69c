"""Named calendars: their secret addresses, what was published of them, who fetched it. It renders nothing.

All functions take part in the caller's transaction; none commits.
"""

from __future__ import annotations

import re
import secrets
import sqlite3
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from gzip import decompress
from hashlib import sha256
from hmac import compare_digest

from carecal.calendars.ledger import forget_ledger, instant_text
from carecal.calendars.options import CalendarOptions
from carecal.calendars.packing import Packer
from carecal.catalog.names import near
from carecal.errors import Refused, UnknownName
from carecal.wording.clean import check_calendar_name, clean_line

__all__ = [
    "NamedCalendar",
    "Published",
    "Validators",
    "add",
    "client_family",
    "find",
    "listing",
    "note_fetch",
    "read_published",
    "read_validators",
    "revoke",
    "store_published",
]

TOKEN_BYTES = 24
"""Random bytes of a token: 192 bits. Source: our choice, because guessing 128 bits is already hopeless."""
MOST_PLAIN = 1_000_000
"""Larger calendars are kept compressed alone. [bytes] Source: our choice, because almost everybody asks for them so,
and writing and reading so much takes longer than unpacking it."""
_FAMILY = re.compile(r"[^A-Za-z0-9 ._-]+")
_COLUMNS = "id, name, options, created, revoked, fetched, fetched_by"


@dataclass(frozen=True, slots=True)
class NamedCalendar:
    """One named calendar; its token is known to the subscriber alone.

    Args:
        id: Number in the collection.
        name: Name people read; unique among those not revoked.
        options: What it shows.
        created: Instant it was added.
        revoked: Instant it was revoked, or None while it lives.
        fetched: Instant it was last fetched.
        fetched_by: Kind of program that fetched it.
    """

    id: int
    name: str
    options: CalendarOptions
    created: datetime
    revoked: datetime | None = None
    fetched: datetime | None = None
    fetched_by: str = ""

    @property
    def key(self) -> str:
        """Key of its ledger and its UIDs."""
        return f"name/{self.id}"

    @property
    def is_live(self) -> bool:
        """True until it is revoked."""
        return self.revoked is None


@dataclass(frozen=True, slots=True)
class Validators:
    """What answers a conditional request without reading a body.

    Args:
        etag: SHA-256 of the plain bytes, in hexadecimal.
        modified: LAST-MODIFIED of the calendar.
        as_of: Day of the plan it shows.
        head: Number of the newest journal entry it shows.
    """

    etag: str
    modified: datetime
    as_of: date
    head: int


@dataclass(frozen=True, slots=True)
class Published:
    """What a subscriber gets: bytes compressed, and the same plain where they are at hand.

    Args:
        validators: What they are known by.
        gzip: The bytes compressed.
        note: What went wrong while refreshing, if anything.
        plain: The plain bytes; empty where they are only kept compressed.
    """

    validators: Validators
    gzip: bytes
    note: str
    plain: bytes = field(default=b"", compare=False, repr=False)

    @property
    def body(self) -> bytes:
        """The plain bytes."""
        return self.plain or decompress(self.gzip)

    @property
    def size(self) -> int:
        """Length of the plain bytes, read from the last four compressed ones (RFC 1952 section 2.3.1). [bytes]"""
        return int.from_bytes(self.gzip[-4:], "little")


def add(connection: sqlite3.Connection, name: str, options: CalendarOptions, now: datetime) -> str:
    """Add a named calendar and return its token, which is stored nowhere but as a digest.

    The name is also the title that people read in it.

    Raises:
        Refused: The name cannot stand in a calendar, or a calendar of that name lives.
    """
    name = check_calendar_name(name)
    if any(known.name.casefold() == name.casefold() for known in listing(connection) if known.is_live):
        raise Refused(f"calendar '{name}' exists; allowed: another name, or revoke it first")
    token = secrets.token_urlsafe(TOKEN_BYTES)
    connection.execute(
        "insert into calendar (name, token_hash, options, created) values (?, ?, ?, ?)",
        (name, _hash(token), replace(options, name=name).to_json(), instant_text(now)),
    )
    return token


def listing(connection: sqlite3.Connection) -> list[NamedCalendar]:
    """Return all named calendars in the order they were added, revoked ones included."""
    return [_calendar(row) for row in connection.execute(f"select {_COLUMNS} from calendar order by id")]  # noqa: S608 - columns are a constant


def revoke(connection: sqlite3.Connection, name: str, now: datetime) -> NamedCalendar:
    """Revoke the living calendar of a name, drop what was published of it, and return it as it was.

    Raises:
        UnknownName: No calendar of that name lives.
    """
    live = [known for known in listing(connection) if known.is_live]
    found = next((known for known in live if known.name.casefold() == name.casefold()), None)
    if found is None:
        raise UnknownName("calendar", clean_line(name), near(name, (known.name for known in live)))
    connection.execute("update calendar set revoked = ? where id = ?", (instant_text(now), found.id))
    connection.execute("delete from published where calendar = ?", (found.id,))
    forget_ledger(connection, found.key)
    return found


def find(connection: sqlite3.Connection, token: str) -> NamedCalendar | None:
    """Return the calendar of a token, living or revoked; None for a token that never was.

    Each known digest is compared in constant time, and all of them always.
    """
    wanted, found = _hash(token), None
    for row in connection.execute(f"select {_COLUMNS}, token_hash from calendar order by id"):  # noqa: S608 - columns are a constant
        if compare_digest(wanted, row[-1]):
            found = _calendar(row[:-1])
    return found


def store_published(
    connection: sqlite3.Connection,
    calendar: int,
    body: bytes,
    *,
    modified: datetime,
    as_of: date,
    head: int,
    note: str = "",
    packer: Packer | None = None,
) -> Published:
    """Keep what subscribers of a calendar get from now on, and return it.

    Args:
        connection: The collection's database.
        calendar: Number of the named calendar.
        body: The calendar's bytes.
        modified: Its LAST-MODIFIED.
        as_of: Day of the plan it shows.
        head: Number of the newest journal entry it shows.
        note: What went wrong while refreshing, if anything.
        packer: What compressed the calendar before; None: all of it is compressed.
    """
    validators = Validators(sha256(body).hexdigest(), modified, as_of, head)
    packed = (packer or Packer()).pack(body)
    plain = body if len(body) <= MOST_PLAIN else b""
    connection.execute(
        "insert into published (calendar, as_of, head, etag, modified, body, gzip, note)"
        " values (?, ?, ?, ?, ?, ?, ?, ?) on conflict (calendar) do update set as_of = excluded.as_of,"
        " head = excluded.head, etag = excluded.etag, modified = excluded.modified, body = excluded.body,"
        " gzip = excluded.gzip, note = excluded.note",
        (calendar, as_of.isoformat(), head, validators.etag, instant_text(modified), plain, packed, note),
    )
    return Published(validators, packed, note, body)


def read_published(connection: sqlite3.Connection, calendar: int) -> Published | None:
    """Return what was last published of a calendar; None before the first time."""
    row = connection.execute(
        "select etag, modified, as_of, head, body, gzip, note from published where calendar = ?", (calendar,)
    ).fetchone()
    return Published(_validators(row), row[5], row[6] or "", row[4]) if row else None


def read_validators(connection: sqlite3.Connection, calendar: int) -> Validators | None:
    """Return the validators of what was last published, without reading a body; None before the first time."""
    row = connection.execute(
        "select etag, modified, as_of, head from published where calendar = ?", (calendar,)
    ).fetchone()
    return _validators(row) if row else None


def note_fetch(connection: sqlite3.Connection, calendar: int, when: datetime, user_agent: str) -> None:
    """Remember when a calendar was last fetched and by what kind of program; the full name is not kept."""
    connection.execute(
        "update calendar set fetched = ?, fetched_by = ? where id = ?",
        (instant_text(when), client_family(user_agent), calendar),
    )


def client_family(user_agent: str) -> str:
    """Return the kind of program of a User-Agent: its first word before the version, cleaned, at most 40 characters."""
    first = clean_line(user_agent).split("/")[0]
    return _FAMILY.sub("", first).strip()[:40].strip() or "unknown"


def _validators(row: tuple[str, str, str, int]) -> Validators:
    """Return the validators of a row."""
    return Validators(row[0], datetime.fromisoformat(row[1]), date.fromisoformat(row[2]), row[3])


def _calendar(row: tuple[int, str, str, str, str | None, str | None, str | None]) -> NamedCalendar:
    """Return the named calendar of a row."""
    revoked, fetched = (datetime.fromisoformat(text) if text else None for text in (row[4], row[5]))
    options = CalendarOptions.from_json(row[2])
    return NamedCalendar(
        row[0], row[1], options, datetime.fromisoformat(row[3]), revoked, fetched, row[6] or ""
    )


def _hash(token: str) -> str:
    """Return the digest under which a token is stored; a random token needs no salt."""
    return sha256(token.encode("utf-8", "surrogatepass")).hexdigest()
