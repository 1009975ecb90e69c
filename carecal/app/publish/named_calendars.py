"""Calendars that have a name and a secret address: added, listed, found, revoked. It renders nothing."""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING

from carecal.calendars import subscriptions
from carecal.catalog.names import near
from carecal.collection.database import storage_errors, transaction
from carecal.errors import UnknownName

if TYPE_CHECKING:
    from datetime import datetime

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.calendars.options import CalendarOptions
    from carecal.calendars.subscriptions import NamedCalendar

__all__ = [
    "add_calendar",
    "calendar_named",
    "calendars_of",
    "file_name",
    "find_calendar",
    "note_of",
    "record_fetch",
    "revoke_calendar",
    "token_of",
]

LONGEST_NAME = 40  # our choice, because an address is typed by hand at times


def add_calendar(collection: Collection, now: Now, name: str, options: CalendarOptions) -> str:
    """Add a named calendar and return its secret path, which is shown this once and kept only as a digest.

    Raises:
        Refused: The name cannot stand in a calendar, or a calendar of that name lives.
        StorageError: The file cannot be written.
    """
    with transaction(collection.journal.connection) as connection:
        token = subscriptions.add(connection, name, options, now.written)
    return f"/calendar/{token}/{file_name(collection, now)}.ics"


def file_name(collection: Collection, now: Now) -> str:
    """Return the collection's name as a file's: some programs call a calendar by the last part of its address."""
    name = collection.timeline(now.day, plants=set()).facts.name
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:LONGEST_NAME] or "orchids"


def token_of(address: str) -> str:
    """Return the secret in a calendar's address, with the house's name behind it or, as it was, without."""
    parts = address.removesuffix(".ics").rstrip("/").split("/")
    return parts[-2] if len(parts) > 1 and parts[-2] not in {"", "calendar"} else parts[-1]


def calendars_of(collection: Collection) -> list[NamedCalendar]:
    """Return the named calendars that live, in the order they were added."""
    with storage_errors(collection.journal.connection):
        return [known for known in subscriptions.listing(collection.journal.connection) if known.is_live]


def calendar_named(collection: Collection, name: str) -> NamedCalendar:
    """Return the living calendar of a name.

    Raises:
        UnknownName: None of that name lives; names the near ones.
    """
    live = calendars_of(collection)
    found = next((known for known in live if known.name.casefold() == name.casefold()), None)
    if found is None:
        raise UnknownName("calendar", name, near(name, [known.name for known in live]))
    return found


def note_of(collection: Collection, calendar: NamedCalendar) -> str:
    """Return what went wrong when a calendar was last published, or ''."""
    with storage_errors(collection.journal.connection):
        row = collection.journal.connection.execute(
            "select note from published where calendar = ?", (calendar.id,)
        ).fetchone()
    return str(row[0]) if row else ""


def revoke_calendar(collection: Collection, now: Now, name: str) -> NamedCalendar:
    """Revoke the calendar of a name; whoever asks for it is told that it is gone.

    Raises:
        UnknownName: No calendar of that name lives.
        StorageError: The file cannot be written.
    """
    with transaction(collection.journal.connection) as connection:
        return subscriptions.revoke(connection, name, now.written)


def find_calendar(collection: Collection, token: str) -> NamedCalendar | None:
    """Return the calendar of a token, living or revoked; None for a token that never was."""
    with storage_errors(collection.journal.connection):
        return subscriptions.find(collection.journal.connection, token)


def record_fetch(collection: Collection, calendar: NamedCalendar, when: datetime, user_agent: str) -> None:
    """Remember when a calendar was fetched and by what kind of program."""
    with transaction(collection.journal.connection) as connection:
        subscriptions.note_fetch(connection, calendar.id, when, user_agent)
