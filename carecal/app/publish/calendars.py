"""Calendars of a collection: rendered from plans with their ledger, kept for subscribers; it speaks no HTTP.

What subscribers get is kept beside the journal's head, the day and the digest of all files it rests on, so that whoever
asks again is answered without a plan.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING
from uuid import UUID

from carecal import __version__
from carecal.app.command_context import CommandContext, check_clock, clock_doubt, one_of
from carecal.app.garbage import collect_young, uncollected
from carecal.app.lazy import LazyModule
from carecal.app.publish.named_calendars import calendars_of, public_address
from carecal.app.store import cached, secret
from carecal.calendars import subscriptions
from carecal.calendars.ledger import Ledger
from carecal.calendars.options import CalendarOptions
from carecal.calendars.write import Draft, Rendered
from carecal.catalog.cache import files_digest
from carecal.collection.database import storage_errors, transaction
from carecal.errors import CarecalError, StorageError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import date, time

    from carecal.app import engine
    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.calendars.options import Form, Grouping
    from carecal.calendars.subscriptions import NamedCalendar, Published, Validators
    from carecal.plan.model import Plan

    Progress = Callable[[int], None]
else:
    engine = LazyModule("carecal.app.engine")

__all__ = [
    "current",
    "options_of",
    "publish",
    "published",
    "refresh",
    "render_calendar",
]

CARES = ("watering", "refilling", "feeding", "flushing", "moistening", "inspection")
MOST_TRIES = 3  # a plan is made anew when an entry comes in between
PLANTS_AT_ONCE = 200  # planned and written together; our choice, because more take memory and fewer more time


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
    return _publish(collection, options, now.day, None, progress)


def _publish(
    collection: Collection,
    options: CalendarOptions,
    day: date,
    named: str | None,
    progress: Progress | None,
    keep: Callable[[Rendered, int], None] = lambda _, __: None,
) -> Rendered:
    """Return a calendar, its ledger brought up to it; made anew where an entry or another writer comes in between.

    Args:
        collection: The collection.
        options: What the calendar shows.
        day: Day of the plan.
        named: Key of a named calendar; None for a nameless one.
        progress: Called with how many plants are planned.
        keep: Called in the same transaction with what was made and the newest entry it rests on.

    Raises:
        Refused: The time of day does not exist, or comes twice, on a day of the calendar.
        StorageError: The file cannot be written, or others kept writing the same calendar.
    """
    connection = collection.journal.connection
    with uncollected():
        for tries_left in reversed(range(MOST_TRIES)):
            head = collection.journal.head()
            draft = _draft(collection, options, day, named)
            for plan in _plans(collection, options, day, progress):
                with storage_errors(connection):
                    draft.add(plan)
            with transaction(connection):
                if draft.is_current() and (collection.journal.head() == head or not tries_left):
                    found = draft.finish()
                    keep(found, head)
                    return found
    raise StorageError(
        "this calendar is being written by another program; wait until it is done and try again"
    )


def _draft(collection: Collection, options: CalendarOptions, day: date, named: str | None) -> Draft:
    connection = collection.journal.connection
    with storage_errors(connection):
        return Draft(
            options,
            Ledger(connection, named or options.key()),
            namespace=UUID(collection.id),
            generation=int(secret(connection, "generation") or 1),
            calendar=named,
            public_url=public_address(collection, day),
            refresh_event=named is not None,
            cautions={code: row.text for code, row in collection.catalog.cautions.items()},
        )


def _plans(
    collection: Collection, options: CalendarOptions, day: date, progress: Progress | None
) -> Iterator[Plan]:
    """Yield the plans of a calendar: plants in turn where each stands for itself, else all of them at once.

    What a plan took is let go before the next one is made.
    """
    if options.grouping != "each" or options.form != "events" or options.plant is not None:
        plants = None if options.plant is None else {options.plant}
        yield collection.planner(day, plants=plants, progress=progress).plan(
            options.grouping, with_gates=False
        )
        return  # no calendar shows gates
    timeline = collection.timeline(day)
    numbers = sorted(timeline.plants)
    for begin in range(0, max(len(numbers), 1), PLANTS_AT_ONCE):
        told = None if progress is None else partial(_told_on, progress, begin)
        planner = engine.Planner(timeline, collection.catalog, collection.id, None, told)
        yield planner.plan("each", plants=set(numbers[begin : begin + PLANTS_AT_ONCE]), with_gates=False)
        del planner
        collect_young()


def _told_on(progress: Progress, before: int, done: int) -> None:
    progress(before + done)


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


def published(collection: Collection, calendar: NamedCalendar, now: Now) -> Published:
    """Return what a subscriber gets: as kept while nothing has changed, else published anew.

    Where it cannot be made anew, what was published last is returned, with a note of what went wrong.

    Raises:
        CarecalError: It cannot be made, and never was.
    """
    connection = collection.journal.connection
    with storage_errors(connection):
        known = subscriptions.read_published(connection, calendar.id)
    if known is not None and current(collection, calendar, now) is not None:
        return known
    try:
        return publish(collection, calendar, now)
    except CarecalError as error:
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
    collection: Collection, calendar: NamedCalendar, now: Now, *, progress: Progress | None = None
) -> Published:
    """Plan a named calendar anew and keep what subscribers get, its ledger and validators in one transaction.

    Raises:
        ClockError: The real clock cannot be believed; nothing is published by it.
        Refused: The calendar cannot be made, as at a time of day that comes twice.
        StorageError: The file cannot be written.
    """
    check_clock(collection, now)
    connection, kept = collection.journal.connection, []

    def keep(found: Rendered, head: int) -> None:
        """Keep what was made, with the stamp of the files it rests on."""
        kept.append(
            subscriptions.store_published(
                connection, calendar.id, found.body, modified=found.modified, as_of=now.day, head=head
            )
        )
        connection.execute(
            "insert into cache (key, stamp, value) values (?, ?, ?)"
            " on conflict (key) do update set stamp = excluded.stamp",
            (_key(calendar), _stamp(collection), b""),
        )

    _publish(collection, calendar.options, now.day, calendar.key, progress, keep)
    return kept[0]


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
