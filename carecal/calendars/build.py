"""Contents as the bytes of components: what the icalendar library would write, written line by line without it."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from carecal.calendars.content import Content
from carecal.calendars.content_lines import day_value, duration_value, folded, instant_value, text_value
from carecal.calendars.zones import LocalTimes

__all__ = ["ALLDAY_ALARM", "component_bytes"]

ALLDAY_ALARM = timedelta(hours=9)
"""Where the alarm of a whole day stands without a lead, from 00:00. Source: our choice, because it is morning."""


def component_bytes(content: Content, uid: str, sequence: int, stamp: datetime, times: LocalTimes) -> bytes:
    """Return one component serialised.

    Args:
        content: What it says.
        uid: Its UID, a UUID.
        sequence: Its SEQUENCE.
        stamp: Its DTSTAMP and LAST-MODIFIED; UTC.
        times: How times of the collection's zone are written.
    """
    write = _event if content.kind == "VEVENT" else _todo
    return write(content, uid, sequence, instant_value(stamp), times).encode()


def _event(content: Content, uid: str, sequence: int, stamp: str, times: LocalTimes) -> str:
    """Return a VEVENT: first what the library holds to lead, in its order, then the others by name."""
    return (
        f"BEGIN:VEVENT\r\n{_text('SUMMARY', content.summary)}"
        f"DTSTART{_days(content, times, content.day)}\r\nDTEND{_end(content, times)}\r\n"
        f"DTSTAMP:{stamp}\r\nUID:{uid}\r\nSEQUENCE:{sequence}\r\n"
        f"{_rule(content, times)}{_categories(content)}{_text_if('DESCRIPTION', content.description)}"
        f"LAST-MODIFIED:{stamp}\r\nSTATUS:CONFIRMED\r\nTRANSP:TRANSPARENT\r\n"
        f"{_about(content)}{_alarm(content)}END:VEVENT\r\n"
    )


def _todo(content: Content, uid: str, sequence: int, stamp: str, times: LocalTimes) -> str:
    """Return a VTODO, all its properties by name."""
    done = content.completed
    completed = f"COMPLETED:{instant_value(done.astimezone(UTC))}\r\n" if done is not None else ""
    start = f"DTSTART{_days(content, times, content.start)}\r\n" if content.start is not None else ""
    priority = f"PRIORITY:{content.priority}\r\n" if content.priority else ""
    return (
        f"BEGIN:VTODO\r\n{_categories(content)}{completed}{_text_if('DESCRIPTION', content.description)}"
        f"DTSTAMP:{stamp}\r\n{start}DUE{_days(content, times, content.day)}\r\nLAST-MODIFIED:{stamp}\r\n"
        f"PERCENT-COMPLETE:{0 if done is None else 100}\r\n{priority}SEQUENCE:{sequence}\r\n"
        f"STATUS:{'NEEDS-ACTION' if done is None else 'COMPLETED'}\r\n{_text('SUMMARY', content.summary)}"
        f"UID:{uid}\r\n{_about(content)}{_alarm(content)}END:VTODO\r\n"
    )


def _text(name: str, text: str) -> str:
    """Return a line of TEXT."""
    return folded(f"{name}:{text_value(text)}")


def _text_if(name: str, text: str) -> str:
    """Return a line of TEXT, or nothing where the text is empty."""
    return _text(name, text) if text else ""


def _categories(content: Content) -> str:
    """Return CATEGORIES, each of them escaped, parted by commas."""
    return folded(f"CATEGORIES:{','.join(map(text_value, content.categories))}") if content.categories else ""


def _about(content: Content) -> str:
    """Return where to read more, the plant and its window."""
    link = folded(f"URL:{content.url}") if content.url else ""
    return f"{link}{_text_if('X-CARECAL-PLANT', content.plant)}{_text_if('X-CARECAL-WINDOW', content.window)}"


def _days(content: Content, times: LocalTimes, *days: date) -> str:
    """Return days of a content, or its local time on them, as parameter and values of a property."""
    if content.at is None:
        return f";VALUE=DATE:{','.join(map(day_value, days))}"
    clock = f"T{content.at:%H%M%S}{times.suffix}"
    return times.parameter + ",".join(f"{day_value(day)}{clock}" for day in days)


def _end(content: Content, times: LocalTimes) -> str:
    """Return DTEND: the next day, or the start and so many real minutes."""
    if content.at is None:
        return f";VALUE=DATE:{day_value(content.day + timedelta(days=1))}"  # RFC 5545 3.6.1: not included
    start = datetime.combine(content.day, content.at, times.zone)
    end = (start.astimezone(UTC) + timedelta(minutes=content.minutes)).astimezone(times.zone)
    return f"{times.parameter}{day_value(end)}T{end:%H%M%S}{times.suffix}"


def _rule(content: Content, times: LocalTimes) -> str:
    """Return RRULE and EXDATE of what comes again; nothing for a single day."""
    skipped = folded(f"EXDATE{_days(content, times, *content.skip)}") if content.skip else ""
    if content.every_days is None or content.until is None:
        return skipped
    count = (content.until - content.day).days // content.every_days + 1  # those left out are counted too
    return f"RRULE:FREQ=DAILY;COUNT={count};INTERVAL={content.every_days}\r\n{skipped}"


def _alarm(content: Content) -> str:
    """Return the alarm, if any: so long before the time, or before 09:00 of a whole day."""
    if content.alarm_minutes is None:
        return ""
    offset = (ALLDAY_ALARM if content.at is None else timedelta(0)) - timedelta(minutes=content.alarm_minutes)
    related = ";RELATED=END" if content.kind == "VTODO" else ""
    return (
        f"BEGIN:VALARM\r\nACTION:DISPLAY\r\n{_text('DESCRIPTION', content.summary)}"
        f"TRIGGER{related}:{duration_value(offset)}\r\nEND:VALARM\r\n"
    )
