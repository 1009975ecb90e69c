"""Subscribe: the collection's calendar, read back by two other libraries, says what the plan says."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import recurring_ical_events
from ical.calendar_stream import IcsCalendarStream
from icalendar import Calendar

from carecal.app import Collection
from carecal.app.publish.calendars import options_of, render_calendar
from carecal.plan.model import Grouping, Plan
from tests.stories.quay import TODAY, moment

ZONE = ZoneInfo("Europe/Berlin")
OTHERS = {"DONE", "STEP", "REFRESH"}

# What a reader finds: day, plant (of `each`), cares, UID.
Found = tuple[date, str, tuple[str, ...], str]


def by_recurring(body: bytes, first: date, last: date) -> Iterator[Found]:
    """Yield what recurring-ical-events finds on the days, both included."""
    for event in recurring_ical_events.of(Calendar.from_ical(body)).between(first, last + timedelta(days=1)):
        cares = tuple(sorted(str(care) for care in event["CATEGORIES"].cats))
        yield event["DTSTART"].dt, str(event.get("X-CARECAL-PLANT", "")), cares, str(event["UID"])


def by_ical(body: bytes, first: date, last: date) -> Iterator[Found]:
    """Yield what ical finds on the days, both included."""
    calendar = IcsCalendarStream.calendar_from_ics(body.decode())
    start, end = (datetime.combine(day, time(0), ZONE) for day in (first, last + timedelta(days=1)))
    for event in calendar.timeline_tz(ZONE).overlapping(start, end):
        plants = [extra.value for extra in event.extras if extra.name.lower() == "x-carecal-plant"]
        assert isinstance(event.dtstart, date)
        yield event.dtstart, plants[0] if plants else "", tuple(sorted(event.categories)), str(event.uid)


READERS: dict[str, Callable[[bytes, date, date], Iterator[Found]]] = {
    "recurring-ical-events": by_recurring,
    "ical": by_ical,
}


def written(folder: Path, grouping: Grouping) -> tuple[bytes, Plan]:
    """Return the calendar of the whole collection and the plan it was made from."""
    with Collection.open(folder) as collection:
        body = render_calendar(
            collection, options_of(collection, moment(TODAY), grouping=grouping), moment(TODAY)
        ).body
        return body, collection.plan(TODAY, grouping=grouping)


def ahead(body: bytes, reader: str, plan: Plan) -> list[Found]:
    """Return what a reader finds of care to come, up to the horizon."""
    found = READERS[reader](body, plan.as_of, plan.until)
    return [event for event in found if not OTHERS & set(event[2])]


@pytest.mark.parametrize("reader", READERS)
def test_each_occurrence_is_a_task_of_the_plan(quay: Path, reader: str) -> None:
    """A subscriber who sees each plant sees each care of each plant on the day the plan has it, up to the horizon."""
    body, plan = written(quay, "each")
    tasks = [
        task for task in plan.tasks if task.status in {"planned", "open", "overdue"} and task.care != "step"
    ]
    wanted = Counter((task.on, plan.plant(task.plant).id, task.care.upper()) for task in tasks)
    found: Counter[Any] = Counter(
        (day, plant, cares[0]) for day, plant, cares, _ in ahead(body, reader, plan)
    )
    assert len(wanted) > 300
    assert found == wanted


@pytest.mark.parametrize("reader", READERS)
def test_each_event_of_a_care_day_is_a_round_of_the_plan(quay: Path, reader: str) -> None:
    """A subscriber who sees care days sees one event a round, with the cares of its tasks, up to the horizon."""
    body, plan = written(quay, "rounds")
    wanted = {
        round_.on: tuple(sorted({plan.task(name).care.upper() for name in round_.tasks}))
        for round_ in plan.rounds
    }
    found = [(day, cares) for day, _, cares, _ in ahead(body, reader, plan)]
    assert len(found) == len(wanted) > 50
    assert dict(found) == wanted


def test_writing_twice_on_a_day_changes_no_byte(quay: Path) -> None:
    """A phone that looks twice a day gets the same bytes."""
    assert written(quay, "rounds")[0] == written(quay, "rounds")[0]
