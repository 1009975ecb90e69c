"""A collection's calendar made from plans and its ledger, some plants at a time; it knows no subscriber."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING
from uuid import UUID

from carecal.app.garbage import collect_young, uncollected
from carecal.app.lazy import LazyModule
from carecal.app.store import secret
from carecal.calendars.ledger import Ledger
from carecal.calendars.write import Draft
from carecal.collection.database import storage_errors, transaction
from carecal.errors import StorageError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import date

    from carecal.app import engine
    from carecal.app.door import Collection
    from carecal.app.publish.kept_plans import KeptPlans
    from carecal.calendars.options import CalendarOptions
    from carecal.calendars.write import Rendered
    from carecal.plan.model import Plan

    Progress = Callable[[int], None]
else:
    engine = LazyModule("carecal.app.engine")

__all__ = ["make_calendar", "public_address"]

MOST_TRIES = 3  # a plan is made anew when an entry comes in between
PLANTS_AT_ONCE = 200  # planned and written together; our choice, because more take memory and fewer more time


def make_calendar(
    collection: Collection,
    options: CalendarOptions,
    day: date,
    named: str | None,
    progress: Progress | None,
    keep: Callable[[Rendered, int], None] = lambda _, __: None,
    kept: KeptPlans | None = None,
) -> Rendered:
    """Return a calendar, its ledger brought up to it; made anew where an entry or another writer comes in between.

    Args:
        collection: The collection.
        options: What the calendar shows.
        day: Day of the plan.
        named: Key of a named calendar; None for a nameless one.
        progress: Called with how many plants are planned.
        keep: Called in the same transaction with what was made and the newest entry it rests on.
        kept: What plants gave to the plan before; None: all of them are planned.

    Raises:
        Refused: The time of day does not exist, or comes twice, on a day of the calendar.
        StorageError: The file cannot be written, or others kept writing the same calendar.
    """
    connection = collection.journal.connection
    with uncollected():
        for tries_left in reversed(range(MOST_TRIES)):
            head = collection.journal.head()
            draft = _draft(collection, options, day, named, kept)
            for plan in _plans(collection, options, day, progress, kept):
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


def _draft(
    collection: Collection, options: CalendarOptions, day: date, named: str | None, kept: KeptPlans | None
) -> Draft:
    connection, public_url = collection.journal.connection, public_address(collection, day)
    with storage_errors(connection):
        return Draft(
            options,
            Ledger(connection, named or options.key()),
            namespace=UUID(collection.id),
            generation=int(secret(connection, "generation") or 1),
            calendar=named,
            public_url=public_url,
            refresh_event=named is not None,
            cautions={code: row.text for code, row in collection.catalog.cautions.items()},
            look_for={stage: row.look_for for stage, row in collection.catalog.stage_looks.items()},
            made=kept.parts(options, public_url) if kept is not None else None,
        )


def _plans(
    collection: Collection,
    options: CalendarOptions,
    day: date,
    progress: Progress | None,
    kept: KeptPlans | None,
) -> Iterator[Plan]:
    """Yield the plans of a calendar: plants in turn where each stands for itself, else all of them at once.

    What a plan took is let go before the next one is made.
    """
    if kept is not None and options.plant is None:
        whole = kept.plan(collection, day, options.grouping)
        if whole is not None:
            yield whole
            return
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


def public_address(collection: Collection, day: date) -> str:
    """Return the address under which phones reach the page and the calendars; '' while none is set."""
    value = collection.timeline(day, plants=set()).facts.setting("public-address", "")
    return "" if value == "none" else value
