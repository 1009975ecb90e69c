"""The process that expands somebody's calendar under limits: bytes on standard input, spans of days as JSON on output.

It knows no collection and writes nothing. A calendar from elsewhere may be broken or made to harm, so nothing of it is
parsed in the program itself: `carecal.app.people.away_read` starts this one, and ends it when it takes too long.
"""

from __future__ import annotations

import importlib
import json
import sys
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from carecal.errors import option

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["HostileCalendar", "expand", "main"]

CPU_SECONDS = 10  # our choice, because ten years of a busy calendar take about two
MEMORY_BYTES = 1_000_000_000  # our choice, because a calendar of 5 MB takes about a third
MOST_EVENTS = 20_000
MOST_OCCURRENCES = 200  # our choice, because nobody leaves more often than every other day
LONGEST_DAYS = 366  # a longer absence is a mistake
LONGEST_SUMMARY = 80
LAST_YEAR = 2150  # as of all dates of a collection
REFUSED = 3
_FINER = frozenset({"SECONDLY", "MINUTELY", "HOURLY"})
_TELLS_WHEN = frozenset({"DTSTART", "DTEND", "DURATION", "RRULE", "RDATE", "EXDATE", "RECURRENCE-ID"})
_PARTS_OF_A_DAY = ("BYHOUR", "BYMINUTE", "BYSECOND")


class HostileCalendar(Exception):  # noqa: N818 - named by what it is, as the other refusals
    """Raised when a calendar is broken, or asks for more than an absence ever needs; its text is one line."""


@dataclass(slots=True)
class Found:
    """What was found: spans of whole days, both included, and why events were left out."""

    spans: list[tuple[str, str, str]] = field(default_factory=list)
    left_out: Counter[str] = field(default_factory=Counter)


def main() -> int:
    """Read a request from standard input and print the answer; 0 when it was read, 3 when it was refused."""
    asked = json.loads(sys.stdin.buffer.readline())  # our own words; the calendar comes after them
    _limit(asked["seconds"], asked["bytes"])
    body = sys.stdin.buffer.read()
    start, until = date.fromisoformat(asked["from"]), date.fromisoformat(asked["until"])
    try:
        found = expand(body, start, until, asked["zone"], asked["matching"])
    except HostileCalendar as error:
        sys.stdout.write(json.dumps({"refused": error.args[0]}))
        return REFUSED
    except MemoryError:
        sys.stdout.write(json.dumps({"refused": "it takes more memory than is allowed"}))
        return REFUSED
    sys.stdout.write(json.dumps({"spans": found.spans, "left_out": dict(found.left_out)}))
    return 0


def _limit(seconds: int, memory: int) -> None:
    """Bound processor time, memory and files; where the system has no such limits the caller's clock alone holds."""
    with suppress(ImportError):
        resource: Any = importlib.import_module("resource")
        for name, most in (("CPU", seconds), ("AS", memory), ("FSIZE", 0), ("CORE", 0)):
            with suppress(ValueError, OSError):
                resource.setrlimit(getattr(resource, f"RLIMIT_{name}"), (most, most))


def expand(body: bytes, start: date, until: date, zone: str, matching: str = "") -> Found:
    """Return the whole days that a calendar holds between two days, both included.

    An event counts when it is of whole days, or lasts 24 hours and more: then from its first day to its last.

    Args:
        body: The calendar.
        start: First day wanted.
        until: Last day wanted.
        zone: Time zone in which times of day are read.
        matching: Only events whose summary holds this text, in whatever case; '' takes all.

    Raises:
        HostileCalendar: It cannot be read, a rule is finer than daily or has no step, or there is too much of it.
    """
    found, kept = Found(), []
    for calendar in _parsed(body):
        events = [event for event in calendar.walk("VEVENT") if _is_wanted(event, matching, found.left_out)]
        for event in events:
            _check_rules(event)
        kept.append((calendar, events))
    if sum(len(events) for _, events in kept) > MOST_EVENTS:
        raise HostileCalendar(
            f"it holds more than {MOST_EVENTS} events; narrow them down with {option('matching')} TEXT"
        )
    for calendar, events in kept:
        zones = [c for c in calendar.subcomponents if c.name == "VTIMEZONE"]
        for occurrence in _occurrences(calendar, zones, events, (start, until), found.left_out):
            _take(found, occurrence, start, until, ZoneInfo(zone))
    found.spans = sorted(set(found.spans))
    return found


def _occurrences(
    calendar: Any, zones: list[Any], events: list[Any], span: tuple[date, date], left_out: Counter[str]
) -> list[Any]:
    """Return the occurrences within a span; an event that cannot be expanded is left out alone, and counted."""
    calendar.subcomponents = zones + events
    try:
        return list(_between(calendar, *span))
    except HostileCalendar:
        pass
    by_uid: dict[str, list[Any]] = {}
    for event in events:
        by_uid.setdefault(str(event.get("UID", "")), []).append(event)
    found: list[Any] = []
    for together in by_uid.values():
        calendar.subcomponents = zones + together
        try:
            found += _between(calendar, *span)
        except HostileCalendar:
            left_out["cannot be read"] += len(together)
    return found


def _parsed(body: bytes) -> list[Any]:
    import icalendar  # noqa: PLC0415 - only after the limits are set

    try:
        calendars = icalendar.Calendar.from_ical(body, multiple=True)
    except (ValueError, KeyError, IndexError, AttributeError, TypeError, RecursionError) as error:
        raise HostileCalendar(f"it is not a calendar that can be read: {_short(error)}") from error
    found = [calendar for calendar in calendars if calendar.name == "VCALENDAR"]
    if not found:
        raise HostileCalendar("it holds no calendar; a calendar file begins with BEGIN:VCALENDAR")
    return found


def _is_wanted(event: Any, matching: str, left_out: Counter[str]) -> bool:
    """Whether an event can be an absence; counts why not."""
    if matching and matching.casefold() not in str(event.get("SUMMARY", "")).casefold():
        left_out["does not match"] += 1
        return False
    if str(event.get("STATUS", "")).upper() == "CANCELLED":
        left_out["cancelled"] += 1
        return False
    if any(name in _TELLS_WHEN for name, _ in event.errors) or not _is_whole(event) or _has_empty_rule(event):
        left_out["cannot be read"] += 1
        return False
    if event["DTSTART"].dt.year > LAST_YEAR:
        left_out["too far away"] += 1
        return False
    first, last = event["DTSTART"].dt, event["DTEND"].dt if "DTEND" in event else None
    if last is not None and _comes_before(last, first):
        left_out["ends before it begins"] += 1
        return False
    return True


def _is_whole(event: Any) -> bool:
    """Whether an event has one start, and at most one end, each of them a day or a time."""
    ends = [event[name] for name in ("DTSTART", "DTEND") if name in event]
    return "DTSTART" in event and all(isinstance(getattr(end, "dt", None), date) for end in ends)


def _has_empty_rule(event: Any) -> bool:
    """Whether an event has a rule that says nothing, as some programs write it."""
    values = [event[name] for name in ("RRULE", "EXRULE") if name in event]
    return any(not rule for value in values for rule in (value if isinstance(value, list) else [value]))


def _comes_before(one: date, other: date) -> bool:
    """Whether an end comes before its start, or is of another kind."""
    if not isinstance(one, datetime) or not isinstance(other, datetime):
        return isinstance(one, datetime) != isinstance(other, datetime) or one < other
    if (one.tzinfo is None) != (other.tzinfo is None):
        return one.replace(tzinfo=None) < other.replace(tzinfo=None)
    return one < other


def _check_rules(event: Any) -> None:
    """Refuse rules that would not end, or that ask for more than a day at most.

    Raises:
        HostileCalendar: A rule is finer than daily, has no step, or there are several.
    """
    name = _summary(event)
    for rule in _rules(event):
        step = rule.get("INTERVAL", [1])
        if not isinstance(step, list) or len(step) != 1 or not isinstance(step[0], int) or step[0] < 1:
            raise HostileCalendar(f"'{name}' repeats with INTERVAL {_short(step)}; allowed is 1 or more")
        frequency = [str(f).upper() for f in rule.get("FREQ", [])]
        is_finer = bool(_FINER & set(frequency)) or any(
            len(rule.get(part, [])) > 1 for part in _PARTS_OF_A_DAY
        )
        if len(frequency) != 1 or is_finer:
            raise HostileCalendar(
                f"'{name}' repeats more than once a day; allowed is daily, weekly, monthly or yearly"
            )


def _rules(event: Any) -> list[Any]:
    """Return the only rule of an event, or none.

    Raises:
        HostileCalendar: There are several.
    """
    found = []
    for name in ("RRULE", "EXRULE"):
        value = event.get(name)
        found += value if isinstance(value, list) else [value] if value is not None else []
    if len(found) > 1:
        raise HostileCalendar(f"'{_summary(event)}' has {len(found)} rules; allowed is one")
    return found


def _between(calendar: Any, start: date, until: date) -> Sequence[Any]:
    """Return the occurrences of a calendar that touch the span.

    Raises:
        HostileCalendar: A rule cannot be expanded.
    """
    import recurring_ical_events  # noqa: PLC0415 - only after the limits are set

    try:
        found: Sequence[Any] = recurring_ical_events.of(calendar).between(start, until + timedelta(days=1))
    except (
        ValueError,
        KeyError,
        IndexError,
        AttributeError,
        TypeError,
        OverflowError,
        RecursionError,
    ) as error:
        raise HostileCalendar(f"a rule of it cannot be expanded: {_short(error)}") from error
    return found


def _take(found: Found, event: Any, start: date, until: date, zone: ZoneInfo) -> None:
    """Add an occurrence as a span of days, or count why it is left out."""
    try:
        days = _days(event, zone)
    except (OverflowError, ValueError):  # at the ends of what a calendar can count
        found.left_out["cannot be read"] += 1
        return
    if days is None:
        found.left_out["shorter than a day"] += 1
    elif (days[1] - days[0]).days >= LONGEST_DAYS:
        found.left_out["longer than a year"] += 1
    elif days[1] >= start and days[0] <= until:
        found.spans.append((days[0].isoformat(), days[1].isoformat(), _summary(event)))
        if len(found.spans) > MOST_OCCURRENCES:
            raise HostileCalendar(
                f"more than {MOST_OCCURRENCES} absences; narrow them down with {option('matching')} TEXT"
            )


def _days(event: Any, zone: ZoneInfo) -> tuple[date, date] | None:
    """Return first and last day of an occurrence, both included; None when it is shorter than a day."""
    first, last = event["DTSTART"].dt, event["DTEND"].dt
    if not isinstance(first, datetime):
        return first, max(first, last - timedelta(days=1))
    begin, end = _local(first, zone), _local(last, zone)
    if end - begin < timedelta(days=1):
        return None
    closing = end.date() - timedelta(days=1) if end.time() == time(0) else end.date()
    return begin.date(), closing


def _local(moment: datetime, zone: ZoneInfo) -> datetime:
    """Return a time in the collection's zone; one without a zone is meant there."""
    return moment.replace(tzinfo=zone) if moment.tzinfo is None else moment.astimezone(zone)


def _summary(event: Any) -> str:
    """Return an event's summary on one line, as it can be shown."""
    return _short(event.get("SUMMARY", ""), LONGEST_SUMMARY)


def _short(value: object, length: int = 100) -> str:
    text = "".join(sign if sign.isprintable() else " " for sign in str(value))
    return " ".join(text.split())[:length].rstrip(".")


if __name__ == "__main__":
    sys.exit(main())
