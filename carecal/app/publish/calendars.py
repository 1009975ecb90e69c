"""Calendars of a collection: rendered from plans with their ledger, kept for subscribers; it speaks no HTTP.

What subscribers get is kept beside the journal's head, the day and the digest of all files it rests on, so that whoever
asks again is answered without a plan.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal import __version__
from carecal.app.command_context import CommandContext, check_clock, clock_doubt, one_of
from carecal.app.publish.drafts import make_calendar
from carecal.app.publish.named_calendars import calendars_of
from carecal.app.store import cached
from carecal.calendars import subscriptions
from carecal.calendars.options import CalendarOptions
from carecal.calendars.write import Rendered
from carecal.catalog.cache import files_digest
from carecal.collection.database import storage_errors, transaction
from carecal.errors import CarecalError

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import time

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.app.publish.kept_plans import KeptPlans
    from carecal.calendars.options import Form, Grouping
    from carecal.calendars.subscriptions import NamedCalendar, Published, Validators

    Progress = Callable[[int], None]

__all__ = [
    "current",
    "kept_bytes",
    "options_of",
    "publish",
    "published",
    "refresh",
    "render_calendar",
]

CARES = ("watering", "refilling", "feeding", "flushing", "moistening", "inspection")


def options_of(
    collection: Collection,
    now: Now,
    *,
    grouping: Grouping | None = None,
    form: Form = "events",
    plant: str | None = None,
    place: str | None = None,
    care: str | None = None,
    at: time | None = None,
    alarm_minutes: int | None = None,
    days: int | None = None,
    name: str = "",
) -> CalendarOptions:
    """Return the options of a calendar; without a grouping `each` for one plant, `rounds` for all else.

    Raises:
        UnknownName: The plant or place is not known.
        Refused: A value is outside what is allowed.
    """
    number = CommandContext(collection, now, (plant,)).lines[0].number if plant is not None else None
    if place is not None:
        CommandContext(collection, now, ()).place(place)
    if care is not None:
        one_of("care", care, CARES)
    return CalendarOptions(
        grouping=grouping or ("each" if plant is not None else "rounds"),
        form=form,
        plant=number,
        place=place,
        care=care,
        at=at,
        alarm_minutes=alarm_minutes,
        days=days,
        name=name,
    )


def render_calendar(
    collection: Collection, options: CalendarOptions, now: Now, *, progress: Progress | None = None
) -> Rendered:
    """Return a nameless calendar and bring the ledger of its options up to it, in one transaction.

    Raises:
        ClockError: The real clock cannot be believed; nothing is published by it.
        Refused: The time of day does not exist, or comes twice, on a day of the calendar.
        StorageError: The file cannot be written.
    """
    check_clock(collection, now)
    return make_calendar(collection, options, now.day, None, progress)


def current(collection: Collection, calendar: NamedCalendar, now: Now) -> Validators | None:
    """Return the validators of what was published if nothing has changed since; it never plans.

    While the clock cannot be believed, what was published last stays as it is (design §3 rule 23).
    """
    connection = collection.journal.connection
    with storage_errors(connection):
        known = subscriptions.read_validators(connection, calendar.id)
    if known is None:
        return None
    if clock_doubt(collection, now):
        return known
    is_fresh = known.head == collection.journal.head() and known.as_of == now.day
    return known if is_fresh and cached(connection, _key(calendar), _stamp(collection)) is not None else None


def kept_bytes(collection: Collection, calendar: NamedCalendar) -> Published | None:
    """Return what was last published, current or not; None before the first time."""
    connection = collection.journal.connection
    with storage_errors(connection):
        return subscriptions.read_published(connection, calendar.id)


def published(
    collection: Collection,
    calendar: NamedCalendar,
    now: Now,
    *,
    progress: Progress | None = None,
    kept: KeptPlans | None = None,
) -> Published:
    """Return what a subscriber gets: as kept while nothing has changed, else published anew.

    Where it cannot be made anew, what was published last is returned, with a note of what went wrong.

    Args:
        collection: The collection.
        calendar: The calendar.
        now: The moment.
        progress: Called with how many plants are planned.
        kept: What plants gave to plans before; None: all of them are planned.

    Raises:
        CarecalError: It cannot be made, and never was.
    """
    connection = collection.journal.connection
    if current(collection, calendar, now) is not None:
        known = kept_bytes(collection, calendar)
        if known is not None:
            return known
    try:
        return publish(collection, calendar, now, progress=progress, kept=kept)
    except CarecalError as error:
        known = kept_bytes(collection, calendar)
        if known is None:
            raise
        with transaction(connection):
            return subscriptions.store_published(
                connection,
                calendar.id,
                known.body,
                modified=known.validators.modified,
                as_of=known.validators.as_of,
                head=known.validators.head,
                note=str(error),
            )


def publish(
    collection: Collection,
    calendar: NamedCalendar,
    now: Now,
    *,
    progress: Progress | None = None,
    kept: KeptPlans | None = None,
) -> Published:
    """Plan a named calendar anew and keep what subscribers get, its ledger and validators in one transaction.

    Raises:
        ClockError: The real clock cannot be believed; nothing is published by it.
        Refused: The calendar cannot be made, as at a time of day that comes twice.
        StorageError: The file cannot be written.
    """
    check_clock(collection, now)
    connection = collection.journal.connection
    made: list[Published] = []

    def keep(found: Rendered, head: int) -> None:
        """Keep what was made, with the stamp of the files it rests on."""
        made.append(
            subscriptions.store_published(
                connection,
                calendar.id,
                found.body,
                modified=found.modified,
                as_of=now.day,
                head=head,
                packer=kept.packer(calendar.id) if kept is not None else None,
            )
        )
        connection.execute(
            "insert into cache (key, stamp, value) values (?, ?, ?)"
            " on conflict (key) do update set stamp = excluded.stamp",
            (_key(calendar), _stamp(collection), b""),
        )

    make_calendar(collection, calendar.options, now.day, calendar.key, progress, keep, kept)
    return made[0]


def refresh(
    collection: Collection, now: Now, *, progress: Progress | None = None
) -> list[tuple[NamedCalendar, str]]:
    """Publish every living calendar anew where something has changed; return each with what went wrong, or ''."""
    told = []
    for calendar in calendars_of(collection):
        note = ""
        if current(collection, calendar, now) is None:
            try:
                publish(collection, calendar, now, progress=progress)
            except CarecalError as error:
                note = str(error)
        told.append((calendar, note))
    return told


def _key(calendar: NamedCalendar) -> str:
    return f"published/{calendar.id}"


def _stamp(collection: Collection) -> str:
    """Return what a calendar rests on beside journal and day: the files and the program."""
    return f"{__version__}|{files_digest(collection.folder)}"
