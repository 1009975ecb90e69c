"""A time zone's VTIMEZONE from the zone's own transitions, and times of day that it lacks or has twice.

The library's generated VTIMEZONE sets some onsets an hour late; this one is made from `zoneinfo` for the years needed.
"""

from __future__ import annotations

from calendar import monthrange
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from typing import cast
from zoneinfo import ZoneInfo

from icalendar import (
    Component,
    Event,
    Timezone,
    TimezoneDaylight,
    TimezoneStandard,
    vDDDLists,
    vDDDTypes,
    vRecur,
    vText,
    vUTCOffset,
)

from carecal.errors import Refused

__all__ = [
    "YEARS",
    "LocalTimes",
    "Transition",
    "check_time",
    "local_times",
    "timezone_component",
    "to_bytes",
    "transitions",
]

YEARS = 8
"""Years that a VTIMEZONE covers from the year of the plan on. Source: our choice, because copies grow old."""

_WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")


@dataclass(frozen=True, slots=True)
class Transition:
    """One change of a zone's offset from UTC.

    Args:
        instant: The moment, UTC.
        before: Offset until then.
        after: Offset from then on.
        name: Abbreviation from then on.
        is_dst: True if that is summer time.
    """

    instant: datetime
    before: timedelta
    after: timedelta
    name: str
    is_dst: bool

    @property
    def onset(self) -> datetime:
        """Local time of the change by the offset before it, without a zone. Source: RFC 5545 3.6.5."""
        return (self.instant + self.before).replace(tzinfo=None)


@dataclass(frozen=True, slots=True)
class LocalTimes:
    """How local times of a zone are written.

    Args:
        zone: The zone.
        parameter: What stands between a property's name and its first value, as ';TZID=Europe/Vienna:'.
        suffix: What ends each value: 'Z' where the library takes the zone for UTC.
    """

    zone: ZoneInfo
    parameter: str
    suffix: str


@lru_cache(maxsize=16)
def local_times(zone: str) -> LocalTimes:
    """Return how local times of a zone are written, as the library writes one of them."""
    tz = ZoneInfo(zone)
    event = Event()
    event["DTSTART"] = vDDDTypes(datetime(2000, 1, 1, tzinfo=tz))
    line = to_bytes(event).decode().split("\r\n")[1].removeprefix("DTSTART")
    parameter, _, suffix = line.partition("20000101T000000")
    return LocalTimes(tz, parameter, suffix)


def to_bytes(item: Component) -> bytes:
    """Return a component serialised by the library: sorted, folded, lines ended by CRLF."""
    return cast("bytes", item.to_ical())


@lru_cache(maxsize=16)
def transitions(zone: str, first_year: int, last_year: int) -> tuple[Transition, ...]:
    """Return the changes of a zone from the start of the first year to the end of the last, in UTC."""
    tz = ZoneInfo(zone)
    day, end = datetime(first_year, 1, 1, tzinfo=UTC), datetime(last_year + 1, 1, 1, tzinfo=UTC)
    found = []
    state = _state(tz, day)
    while day < end:
        after = _state(tz, day + timedelta(days=1))
        if after != state:
            instant = _bisect(tz, day, day + timedelta(days=1))
            found.append(Transition(instant, state[0], after[0], after[1], after[2]))
        day, state = day + timedelta(days=1), after
    return tuple(found)


def check_time(zone: str, at: time, start: date, until: date) -> None:
    """Refuse a local time that the zone lacks or has twice on some day from start to until, both included.

    Raises:
        Refused: Clocks are set forward over the time, or back over it, within the span.

    Source: RFC 5545 3.3.5 and 3.3.10; programs disagree on such times.
    """
    for change in transitions(zone, start.year - 1, until.year + 1):
        a, b = change.onset, (change.instant + change.after).replace(tzinfo=None)
        low, high = min(a, b), max(a, b)
        for day in {low.date(), high.date()}:
            if start <= day <= until and low <= datetime.combine(day, at) < high:
                how = "does not exist" if b > a else "comes twice"
                raise Refused(
                    f"time {at:%H:%M} {how} on {day.isoformat()} in {zone}; allowed: a time outside"
                    f" {low:%H:%M} to {high:%H:%M}"
                )


def timezone_component(zone: str, year: int) -> Timezone:
    """Return the VTIMEZONE of a zone for `YEARS` years from the start of one on, with the year before it.

    A change that falls on the same weekday of the same month each year becomes a rule, any other a date of its own
    each year: of a list in one property some readers see the first alone.
    """
    changes = transitions(zone, year - 1, year + YEARS - 1)
    item = Timezone()
    item["TZID"] = vText(zone)
    start = datetime(year, 1, 1, tzinfo=UTC)
    if not changes or changes[0].instant > start:
        item.add_component(_observance_in_force(ZoneInfo(zone), datetime(year - 1, 1, 1, tzinfo=UTC)))
    groups: dict[tuple[timedelta, timedelta, str, bool], list[Transition]] = {}
    for change in changes:
        groups.setdefault((change.before, change.after, change.name, change.is_dst), []).append(change)
    for group in groups.values():
        item.add_component(_observance(group, YEARS + 1))
    return item


def _state(tz: ZoneInfo, instant: datetime) -> tuple[timedelta, str, bool]:
    """Return offset, abbreviation and summer time at an instant."""
    local = instant.astimezone(tz)
    return local.utcoffset() or timedelta(0), local.tzname() or "", bool(local.dst())


def _bisect(tz: ZoneInfo, low: datetime, high: datetime) -> datetime:
    """Return the first second of the new state between two instants that differ."""
    old = _state(tz, low)
    while high - low > timedelta(seconds=1):
        middle = low + (high - low) // 2
        middle = middle.replace(microsecond=0)
        low, high = (middle, high) if _state(tz, middle) == old else (low, middle)
    return high


def _observance_in_force(tz: ZoneInfo, since: datetime) -> Component:
    """Return what holds from an instant on until the first change."""
    offset, name, is_dst = _state(tz, since)
    return _sub(Transition(since, offset, offset, name, is_dst))


def _observance(group: list[Transition], years: int) -> Component:
    """Return the component of changes of one kind."""
    item = _sub(group[0])
    rule = _yearly(group, years)
    if rule is not None:
        item["RRULE"] = rule
    elif len(group) > 1:
        item["RDATE"] = [vDDDLists([change.onset]) for change in group[1:]]
    return item


def _sub(change: Transition) -> Component:
    """Return the bare component of a change."""
    item = TimezoneDaylight() if change.is_dst else TimezoneStandard()
    item["DTSTART"] = vDDDTypes(change.onset)
    item["TZOFFSETFROM"] = vUTCOffset(change.before)
    item["TZOFFSETTO"] = vUTCOffset(change.after)
    item["TZNAME"] = vText(change.name)
    return item


def _yearly(group: list[Transition], years: int) -> vRecur | None:
    """Return the yearly rule of changes on one weekday of one month at one time, else None."""
    onsets = [change.onset for change in group]
    alike = {(o.month, o.weekday(), o.time()) for o in onsets}
    if len(onsets) != years or len(alike) != 1 or len({o.year for o in onsets}) != years:
        return None
    month, weekday, _ = alike.pop()
    nth = {(o.day - 1) // 7 + 1 for o in onsets}
    if all(o.day + 7 > monthrange(o.year, o.month)[1] for o in onsets):
        place = -1
    elif len(nth) == 1:
        place = nth.pop()
    else:
        return None
    return vRecur({"FREQ": "YEARLY", "BYDAY": f"{place}{_WEEKDAYS[weekday]}", "BYMONTH": month})
