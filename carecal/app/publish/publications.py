"""Where calendars are published: target, file's unguessable name, user, password's file and what was sent are kept."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from carecal.app.store import set_secret
from carecal.calendars.addresses import parse_address
from carecal.calendars.caldav_push import CalendarAccount, Sent
from carecal.calendars.publishing import Target
from carecal.calendars.web_client import Client
from carecal.collection.database import storage_errors, transaction

if TYPE_CHECKING:
    from carecal.app.door import Collection
    from carecal.calendars.web_client import Login

__all__ = [
    "Publication",
    "account_at",
    "forget_publication",
    "keep_publication",
    "places_of",
    "publications",
]

_PREFIX = "publish/"


@dataclass(slots=True)
class Publication:
    """One calendar at one target.

    Args:
        calendar: Number of the named calendar.
        kind: Kind of the target.
        address: Its address, without user and password.
        user: Who logs in, or ''.
        password_file: File that holds the password, or ''.
        private: Whether an address of the own network is meant.
        file_name: The unguessable name of its file; '' at a calendar server.
        digest: SHA-256 of what was last sent.
        events: How many events it showed then.
        sent: ETag and digest of each object at a calendar server, by UID.
        note: What went wrong the last time, or ''.
        heard: ETag of each object that was changed there and listened to, by UID.
    """

    calendar: int
    kind: str
    address: str
    user: str = ""
    password_file: str = ""
    private: bool = False
    file_name: str = ""
    digest: str = ""
    events: int = 0
    sent: dict[str, Sent] = field(default_factory=dict)
    note: str = ""
    heard: dict[str, str] = field(default_factory=dict)

    @property
    def target(self) -> Target:
        """The place."""
        return Target(self.kind, self.address)  # type: ignore[arg-type]  # written from a Target

    @property
    def key(self) -> str:
        """Under which it is remembered."""
        return f"{_PREFIX}{self.calendar}/{sha256(str(self.target).encode()).hexdigest()[:16]}"


def publications(collection: Collection) -> list[Publication]:
    """Return what is published where, by calendar and target."""
    with storage_errors(collection.journal.connection):
        rows = collection.journal.connection.execute(
            "select value from secret where key glob ? order by key", (f"{_PREFIX}*",)
        ).fetchall()
    return [_read(json.loads(row[0])) for row in rows]


def places_of(collection: Collection, calendar: int) -> list[str]:
    """Return where a named calendar is published, each with what went wrong the last time."""
    found = [each for each in publications(collection) if each.calendar == calendar]
    return [f"{each.target} ({each.note})" if each.note else str(each.target) for each in found]


def account_at(found: Publication, name: str, login: Login | None) -> CalendarAccount:
    """Return the calendar on a server at which something is published."""
    client = Client(login, private=found.private)
    return CalendarAccount(client, parse_address(found.address), name, found.sent, found.heard)


def keep_publication(collection: Collection, found: Publication, note: str = "") -> None:
    """Remember what was sent where, and what went wrong."""
    found.note = note
    set_secret(collection.journal.connection, found.key, json.dumps(asdict(found), sort_keys=True))


def _read(data: dict[str, Any]) -> Publication:
    return Publication(**{**data, "sent": {uid: Sent(*sent) for uid, sent in data["sent"].items()}})


def forget_publication(collection: Collection, found: Publication) -> None:
    """Forget a target."""
    with transaction(collection.journal.connection) as connection:
        connection.execute("delete from secret where key = ?", (found.key,))
