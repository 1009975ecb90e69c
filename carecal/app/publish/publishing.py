"""Calendars published elsewhere: what was sent where is remembered, so that a refresh sends them again.

Remembered are the target, the file's unguessable name, the user and the password's file; a password never.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

from carecal.app.publish import calendars, named_calendars
from carecal.app.publish.passwords import login_of
from carecal.app.store import set_secret
from carecal.calendars.addresses import parse_address
from carecal.calendars.caldav_push import CalendarAccount, Sent, objects_of
from carecal.calendars.publishing import Target, new_file_name, parse_target, shown_events
from carecal.calendars.web_client import Client, Login
from carecal.collection.database import storage_errors, transaction
from carecal.errors import CarecalError, ConfirmationNeeded, Refused, option

if TYPE_CHECKING:
    from collections.abc import Callable

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.calendars.subscriptions import NamedCalendar

__all__ = [
    "Publication",
    "PublishResult",
    "places_of",
    "publications",
    "publish_to",
    "refresh_targets",
    "stop",
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

    @property
    def target(self) -> Target:
        """The place."""
        return Target(self.kind, self.address)  # type: ignore[arg-type]  # written from a Target

    @property
    def key(self) -> str:
        """Under which it is remembered."""
        return f"{_PREFIX}{self.calendar}/{sha256(str(self.target).encode()).hexdigest()[:16]}"


@dataclass(frozen=True, slots=True)
class PublishResult:
    """What publishing did.

    Args:
        publication: Calendar and target, as they are remembered now.
        is_new: Whether the target is new, and its file's name to be shown.
        is_sent: Whether anything was sent.
        counts: Objects created, changed, deleted, left, at a calendar server.
        notes: What somebody should know, one line each.
    """

    publication: Publication
    is_new: bool
    is_sent: bool
    counts: dict[str, int] = field(default_factory=dict)
    notes: tuple[str, ...] = ()


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


def publish_to(
    collection: Collection,
    now: Now,
    name: str,
    place: str,
    *,
    user: str = "",
    password_file: Path | None = None,
    private: bool = False,
    may_be_empty: bool = False,
    ask: Callable[[str], str] | None = None,
) -> PublishResult:
    """Publish a named calendar at a target, and remember it for each refresh.

    Args:
        collection: The collection.
        now: The moment of the command.
        name: Name of the calendar.
        place: A folder, a store's address, or `caldav+https://…`.
        user: Who logs in; '' the one in the address, or the one remembered.
        password_file: File whose first line is the password.
        private: Whether an address of the own network is meant.
        may_be_empty: Whether an empty calendar may take the place of a full one.
        ask: Asks for the password on a terminal; None: nobody is there.

    Raises:
        UnknownName: There is no such calendar.
        ConfirmationNeeded: An empty calendar would take the place of a full one.
        Refused: The target is not allowed, refuses, or needs a password.
        StorageError: The folder, the password's file or the collection cannot be read or written.
    """
    known = named_calendars.calendar_named(collection, name)
    target = parse_target(place)
    wanted = Publication(known.id, target.kind, target.address, user or target.user)
    old = next((each for each in publications(collection) if each.key == wanted.key), None)
    found = old or wanted
    found.user = wanted.user or found.user
    found.private = private or found.private
    found.password_file = str(password_file.absolute()) if password_file else found.password_file
    if target.kind != "caldav":
        found.file_name = found.file_name or new_file_name()
    is_new = old is None or not old.digest  # remembered, but nobody came to tell that it was sent
    if not is_new or not found.file_name:
        return _publish(collection, now, known, found, is_new=is_new, may_be_empty=may_be_empty, ask=ask)
    _keep(
        collection, found
    )  # before it is sent, so that who is killed in between leaves no file nobody knows
    try:
        return _publish(collection, now, known, found, is_new=True, may_be_empty=may_be_empty, ask=ask)
    except CarecalError:
        _forget(collection, found)
        raise


def refresh_targets(collection: Collection, now: Now) -> list[tuple[str, str, str, tuple[str, ...]]]:
    """Publish again wherever a calendar is published; return calendar, target, what went wrong or '', and notes.

    Where a calendar was revoked, what was published of it is taken away.
    """
    live = {known.id: known for known in named_calendars.calendars_of(collection)}
    told = []
    for each in publications(collection):
        known = live.get(each.calendar)
        note, notes = "", tuple[str, ...]()
        try:
            if known is None:
                _take_away(collection, each, None)
            else:
                notes = _publish(collection, now, known, each, is_new=False).notes
        except ConfirmationNeeded as needed:
            note = f"{needed.question} then do so by hand, with {option('yes')}"
            _keep(collection, each, note)
        except CarecalError as error:
            note = str(error)
            _keep(collection, each, note)
        told.append((known.name if known else "revoked", str(each.target), note, notes))
    return told


def stop(
    collection: Collection,
    name: str,
    place: str,
    *,
    password_file: Path | None = None,
    ask: Callable[[str], str] | None = None,
) -> Publication:
    """Take away what is published of a calendar at a target, and forget the target.

    Raises:
        UnknownName: There is no such calendar.
        Refused: It is not published there, or the target refuses.
        StorageError: The folder or the collection cannot be written.
    """
    known, target = named_calendars.calendar_named(collection, name), parse_target(place)
    key = Publication(known.id, target.kind, target.address).key
    found = next((each for each in publications(collection) if each.key == key), None)
    if found is None:
        there = (
            ", ".join(str(p.target) for p in publications(collection) if p.calendar == known.id) or "nowhere"
        )
        raise Refused(f"{known.name} is not published at {target}; it is published: {there}")
    found.password_file = str(password_file.absolute()) if password_file else found.password_file
    _take_away(collection, found, ask)
    return found


def _publish(
    collection: Collection,
    now: Now,
    known: NamedCalendar,
    found: Publication,
    *,
    is_new: bool,
    may_be_empty: bool = False,
    ask: Callable[[str], str] | None = None,
) -> PublishResult:
    """Make a calendar, send it where something has changed, and remember what was sent."""
    made = calendars.published(collection, known, now)
    events = shown_events(made.body)
    if found.events and not events and not may_be_empty:
        raise ConfirmationNeeded(
            f"{known.name} is empty and showed {found.events} events before; publish it so?"
        )
    notes: tuple[str, ...] = (made.note,) if made.note else ()
    login = login_of(found, ask)
    if found.kind == "caldav":
        account = _account(found, known.name, login)
        try:
            account.push(objects_of(made.body))
        except CarecalError:
            if found.sent:
                _keep(collection, found)  # what was sent before the break stays remembered
            raise
        counts = dict(account.counts)
        notes += tuple(account.notes)
    else:
        counts = {}
    is_sent = bool(counts)
    if found.kind == "folder" or (found.kind == "store" and (is_new or found.digest != made.validators.etag)):
        is_sent = found.target.write(found.file_name, made.body, login, private=found.private)
    found.digest, found.events = made.validators.etag, events
    _keep(collection, found)
    return PublishResult(found, is_new, is_sent, counts, notes)


def _take_away(collection: Collection, found: Publication, ask: Callable[[str], str] | None) -> None:
    login = login_of(found, ask)
    if found.kind == "caldav":
        _account(found, "", login).push({})
    else:
        found.target.remove(found.file_name, login, private=found.private)
    _forget(collection, found)


def _forget(collection: Collection, found: Publication) -> None:
    with transaction(collection.journal.connection) as connection:
        connection.execute("delete from secret where key = ?", (found.key,))


def _account(found: Publication, name: str, login: Login | None) -> CalendarAccount:
    return CalendarAccount(
        Client(login, private=found.private), parse_address(found.address), name, found.sent
    )


def _keep(collection: Collection, found: Publication, note: str = "") -> None:
    found.note = note
    set_secret(collection.journal.connection, found.key, json.dumps(asdict(found), sort_keys=True))


def _read(data: dict[str, Any]) -> Publication:
    return Publication(**{**data, "sent": {uid: Sent(*sent) for uid, sent in data["sent"].items()}})
