"""Independent readers of calendars: the occurrences that each finds, in one form.

Those of other programs are asked by `outside_readers.py`.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

import recurring_ical_events
import vobject
from ical.calendar_stream import IcsCalendarStream
from icalendar import Calendar

Occurrence = tuple[str, str]  # (UID, day or UTC time in ISO)

ZONE = ZoneInfo("Europe/Vienna")


def by_recurring(body: bytes, start: date, stop: date) -> list[Occurrence]:
    """Return what recurring-ical-events finds from start to stop, stop not included."""
    a, b = (datetime.combine(day, time(0), ZONE) for day in (start, stop))
    found = recurring_ical_events.of(Calendar.from_ical(body)).between(a, b)
    return sorted((str(event["UID"]), _plain(event["DTSTART"].dt)) for event in found)


def by_ical(body: bytes, start: date, stop: date) -> list[Occurrence]:
    """Return what ical finds from start to stop, stop not included."""
    calendar = IcsCalendarStream.calendar_from_ics(body.decode())
    a, b = (datetime.combine(day, time(0), ZONE) for day in (start, stop))
    found = calendar.timeline_tz(ZONE).overlapping(a, b)
    return sorted((str(event.uid), _plain(event.dtstart)) for event in found if event.dtstart)


def by_vobject(body: bytes, start: date, stop: date) -> list[Occurrence]:
    """Return what vobject finds from start to stop, stop not included."""
    found: list[Occurrence] = []
    for calendar in vobject.readComponents(body.decode()):
        for event in getattr(calendar, "vevent_list", []):
            found += [(event.uid.value, _plain(day)) for day in _vobject_days(event, start, stop)]
    return sorted(found)


def _vobject_days(event: Any, start: date, stop: date) -> list[date]:
    """Return the starts of one of vobject's events within the span."""
    first = event.dtstart.value
    rules = event.getrruleset(addRDate=True) if hasattr(event, "rrule") else None
    days = [first] if rules is None else list(rules)
    if not isinstance(first, datetime):
        days = [day.date() if isinstance(day, datetime) else day for day in days]
    return [day for day in days if start <= _day(day) < stop]


def _day(value: date) -> date:
    """Return the day of a value."""
    return value.date() if isinstance(value, datetime) else value


def _plain(value: date) -> str:
    """Return a day as it is, a time in UTC."""
    return (value.astimezone(UTC) if isinstance(value, datetime) else value).isoformat()


READERS = {"recurring-ical-events": by_recurring, "ical": by_ical, "vobject": by_vobject}


def days_of(body: bytes, start: date = date(2026, 1, 1), stop: date = date(2031, 1, 1)) -> list[str]:
    """Return the days on which all three readers agree; an AssertionError names the one that does not."""
    answers = {name: reader(body, start, stop) for name, reader in READERS.items()}
    first = answers["recurring-ical-events"]
    for name, answer in answers.items():
        assert answer == first, name
    return sorted(day for _, day in first)


def components(body: bytes) -> list[Any]:
    """Return the events and to-dos of a calendar, in the order written, none with an error."""
    calendar = Calendar.from_ical(body)
    assert not calendar.errors
    found = [item for item in calendar.subcomponents if item.name in {"VEVENT", "VTODO"}]
    assert all(not item.errors for item in found)
    return found


def descriptions(body: bytes) -> dict[str, str]:
    """Return the description of a calendar's only event as each of three readers gives it."""
    (event,) = components(body)
    (other,) = IcsCalendarStream.calendar_from_ics(body.decode()).events
    (third,) = next(vobject.readComponents(body.decode())).vevent_list
    return {
        "icalendar": str(event["DESCRIPTION"]),
        "ical": str(other.description),
        "vobject": str(third.description.value),
    }
