"""Publishes calendars elsewhere, again with each refresh, and takes them away; a password is never kept."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import partial
from typing import TYPE_CHECKING

from carecal.app.publish import calendars, named_calendars
from carecal.app.publish.passwords import login_of
from carecal.app.publish.publications import (
    Publication,
    account_at,
    forget_publication,
    keep_publication,
    publications,
)
from carecal.calendars.caldav_objects import objects_of
from carecal.calendars.publishing import new_file_name, parse_target, shown_events
from carecal.errors import CarecalError, ConfirmationNeeded, Refused, option

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.calendars.caldav_push import CalendarAccount
    from carecal.calendars.options import Form
    from carecal.calendars.subscriptions import NamedCalendar, Published

    Sending = Callable[[int, int], None]

__all__ = ["PublishResult", "Refreshed", "publish_to", "refresh_targets", "stop"]

KEPT_EVERY = 25  # objects; our choice, because so few requests are soon asked again where a push was killed


@dataclass(frozen=True, slots=True)
class PublishResult:
    """What publishing did.

    Args:
        publication: Calendar and target, as they are remembered now.
        is_new: Whether the target is new, and its file's name to be shown.
        is_sent: Whether anything was sent.
        counts: Objects created, changed, deleted, left, or found as they should be, at a calendar server.
        notes: What somebody should know, one line each.
        form: Whether it shows events or to-dos.
    """

    publication: Publication
    is_new: bool
    is_sent: bool
    counts: dict[str, int] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    form: Form = "events"


@dataclass(frozen=True, slots=True)
class Refreshed:
    """What became of one target of a refresh.

    Args:
        calendar: The calendar's name, or 'revoked'.
        target: Where it is published.
        fault: What went wrong, or ''.
        result: What was sent; None where it went wrong or was taken away.
    """

    calendar: str
    target: str
    fault: str = ""
    result: PublishResult | None = None

    @property
    def notes(self) -> tuple[str, ...]:
        """What somebody should know, one line each."""
        return self.result.notes if self.result is not None else ()


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
    progress: Sending | None = None,
    planning: Callable[[int], None] | None = None,
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
        progress: Called with how many objects were sent to a calendar server, and how many are to be.
        planning: Called with how many plants are planned.

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
    body = calendars.published(collection, known, now, progress=planning)
    send = partial(
        _publish,
        collection,
        body,
        known,
        found,
        is_new=is_new,
        may_be_empty=may_be_empty,
        ask=ask,
        progress=progress,
    )
    if not is_new or not found.file_name:
        return send()
    # Remembered before it is sent, so that who is killed in between leaves no file nobody knows.
    keep_publication(collection, found)
    try:
        return send()
    except CarecalError:
        forget_publication(collection, found)
        raise


def refresh_targets(collection: Collection, now: Now, *, progress: Sending | None = None) -> list[Refreshed]:
    """Publish again wherever a calendar is published; return what became of each target.

    Where a calendar was revoked, what was published of it is taken away.
    """
    live = {known.id: known for known in named_calendars.calendars_of(collection)}
    told = []
    for each in publications(collection):
        known = live.get(each.calendar)
        fault, result = "", None
        try:
            if known is None:
                _take_away(collection, each, None)
            else:
                body = calendars.published(collection, known, now)
                result = _publish(collection, body, known, each, is_new=False, progress=progress)
        except ConfirmationNeeded as needed:
            fault = f"{needed.question} then do so by hand, with {option('yes')}"
            keep_publication(collection, each, fault)
        except CarecalError as error:
            fault = str(error)
            keep_publication(collection, each, fault)
        told.append(Refreshed(known.name if known else "revoked", str(each.target), fault, result))
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
    made: Published,
    known: NamedCalendar,
    found: Publication,
    *,
    is_new: bool,
    may_be_empty: bool = False,
    ask: Callable[[str], str] | None = None,
    progress: Sending | None = None,
) -> PublishResult:
    """Send a calendar where something has changed, and remember what was sent."""
    events = shown_events(made.body)
    if found.events and not events and not may_be_empty:
        raise ConfirmationNeeded(
            f"{known.name} is empty and showed {found.events} events before; publish it so?"
        )
    notes: tuple[str, ...] = (made.note,) if made.note else ()
    login = login_of(found, ask)
    if found.kind == "caldav":
        account = account_at(found, known.name, login)
        _push(collection, found, account, objects_of(made.body), progress)
        counts = dict(account.counts)
        notes += tuple(account.notes)
    else:
        counts = {}
    is_sent = bool(counts)
    if found.kind == "folder" or (found.kind == "store" and (is_new or found.digest != made.validators.etag)):
        is_sent = found.target.write(found.file_name, made.body, login, private=found.private)
    found.digest, found.events = made.validators.etag, events
    keep_publication(collection, found)
    return PublishResult(found, is_new, is_sent, counts, notes, known.options.form)


def _push(
    collection: Collection,
    found: Publication,
    account: CalendarAccount,
    objects: dict[str, bytes],
    progress: Sending | None,
) -> None:
    """Send objects to a calendar server and remember every few of them what stands there, also if it is broken off."""

    def told(count: int, total: int) -> None:
        if count % KEPT_EVERY == 0:
            keep_publication(collection, found)
        if progress is not None:
            progress(count, total)

    try:
        account.push(objects, told)
    except BaseException:
        if found.sent:
            keep_publication(collection, found)
        raise


def _take_away(collection: Collection, found: Publication, ask: Callable[[str], str] | None) -> None:
    login = login_of(found, ask)
    if found.kind == "caldav":
        account_at(found, "", login).push({})
    else:
        found.target.remove(found.file_name, login, private=found.private)
    forget_publication(collection, found)
