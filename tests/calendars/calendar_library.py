"""Contents as the icalendar library writes them: the oracle of the bytes that we write ourselves."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import cast
from zoneinfo import ZoneInfo

from icalendar import (
    Alarm,
    Component,
    Event,
    Todo,
    vCategory,
    vDDDLists,
    vDDDTypes,
    vDuration,
    vInt,
    vRecur,
    vText,
    vUri,
)

from carecal.calendars.content import Content

ALLDAY_ALARM = timedelta(hours=9)  # interface 5: at 09:00 of a whole day


def library_bytes(content: Content, uid: str, sequence: int, stamp: datetime, zone: ZoneInfo) -> bytes:
    """Return one component as the library writes it: sorted, folded, lines ended by CRLF."""
    return cast("bytes", component(content, uid, sequence, stamp, zone).to_ical())


def component(content: Content, uid: str, sequence: int, stamp: datetime, zone: ZoneInfo) -> Component:
    """Return one component of the library, its values set by item and typed."""
    item: Component = Event() if content.kind == "VEVENT" else Todo()
    item["UID"] = vText(uid)
    item["SEQUENCE"] = vInt(sequence)
    item["DTSTAMP"] = item["LAST-MODIFIED"] = vDDDTypes(stamp)
    item["SUMMARY"] = vText(content.summary)
    if content.description:
        item["DESCRIPTION"] = vText(content.description)
    if content.categories:
        item["CATEGORIES"] = vCategory(list(content.categories))
    if content.url:
        item["URL"] = vUri(content.url)
    if content.plant:
        item["X-CARECAL-PLANT"] = vText(content.plant)
    if content.window:
        item["X-CARECAL-WINDOW"] = vText(content.window)
    (_fill_event if content.kind == "VEVENT" else _fill_todo)(item, content, zone)
    if content.alarm_minutes is not None:
        item.add_component(_alarm(content, content.alarm_minutes))
    return item


def _fill_event(item: Component, content: Content, zone: ZoneInfo) -> None:
    """Set what only events have: days or times, rule, status, transparency."""
    start = _moment(content, zone)
    item["DTSTART"] = vDDDTypes(start(content.day))
    item["DTEND"] = vDDDTypes(_end(content, zone))
    item["STATUS"] = vText("CONFIRMED")
    item["TRANSP"] = vText("TRANSPARENT")
    if content.every_days is not None and content.until is not None:
        count = (content.until - content.day).days // content.every_days + 1
        item["RRULE"] = vRecur({"FREQ": "DAILY", "INTERVAL": content.every_days, "COUNT": count})
    if content.skip:
        item["EXDATE"] = _dates([start(day) for day in content.skip])


def _fill_todo(item: Component, content: Content, zone: ZoneInfo) -> None:
    """Set what only to-dos have: due and earliest day, progress, priority."""
    moment = _moment(content, zone)
    item["DUE"] = vDDDTypes(moment(content.day))
    if content.start is not None:
        item["DTSTART"] = vDDDTypes(moment(content.start))
    if content.priority:
        item["PRIORITY"] = vInt(content.priority)
    done = content.completed is not None
    item["STATUS"] = vText("COMPLETED" if done else "NEEDS-ACTION")
    item["PERCENT-COMPLETE"] = vInt(100 if done else 0)
    if content.completed is not None:
        item["COMPLETED"] = vDDDTypes(content.completed.astimezone(UTC))


def _moment(content: Content, zone: ZoneInfo) -> Callable[[date], date]:
    """Return what turns a day into the value written for it: the day, or the local time on it."""
    at = content.at
    if at is None:
        return lambda day: day
    return lambda day: datetime.combine(day, at, zone)


def _end(content: Content, zone: ZoneInfo) -> date:
    """Return DTEND: the next day, or the start and so many real minutes."""
    if content.at is None:
        return content.day + timedelta(days=1)  # RFC 5545 3.6.1: not included
    start = datetime.combine(content.day, content.at, zone)
    return (start.astimezone(UTC) + timedelta(minutes=content.minutes)).astimezone(zone)


def _dates(days: list[date]) -> vDDDLists:
    """Return days as one EXDATE of DTSTART's type."""
    whole = not isinstance(days[0], datetime)
    return vDDDLists(days, params={"VALUE": "DATE"} if whole else None)


def _alarm(content: Content, lead_minutes: int) -> Alarm:
    """Return the alarm: so long before the time, or before 09:00 of a whole day."""
    offset = (ALLDAY_ALARM if content.at is None else timedelta(0)) - timedelta(minutes=lead_minutes)
    alarm = Alarm()
    alarm["ACTION"] = vText("DISPLAY")
    alarm["DESCRIPTION"] = vText(content.summary)
    alarm["TRIGGER"] = vDuration(offset)
    if content.kind == "VTODO":
        alarm["TRIGGER"].params["RELATED"] = "END"
    return alarm
