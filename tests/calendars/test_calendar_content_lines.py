"""Components written line by line are those of the icalendar library, byte for byte. Oracle: the library."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from typing import Any, Literal
from uuid import UUID
from zoneinfo import ZoneInfo, available_timezones

import icalendar
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from icalendar.parser import Contentline

from carecal.calendars.build import component_bytes
from carecal.calendars.content import Content
from carecal.calendars.content_lines import duration_value, folded, text_value
from carecal.calendars.zones import local_times
from carecal.wording.clean import clean
from tests.calendars.calendar_library import library_bytes

_LINE: Any = Contentline  # untyped in the library
_DURATION: Any = icalendar.vDuration
UID = "5f1d2c3b-4a59-4687-9706-1524334251ab"
STAMP = datetime(2026, 11, 25, 18, 3, 7, tzinfo=UTC)
_AWKWARD = st.text(
    '\\^;,:"nN\n\t aé–✓\U0001f331', max_size=400
)  # 1 to 4 octets each, and all that is escaped
_TEXTS = st.one_of(st.text(max_size=300), _AWKWARD, st.sampled_from(["", "x" * 66, "x" * 67, "ä" * 200]))
_LINES = st.text(st.characters(exclude_characters="\r\n", exclude_categories=["Cs"]), max_size=400)
_DAYS = st.dates(date(1970, 1, 2), date(2199, 12, 30))
_INSTANTS = st.integers(0, 7 * 10**9).map(lambda second: datetime.fromtimestamp(second, UTC))
_ZONES = st.sampled_from(sorted(available_timezones()))
_URLS = st.sampled_from(["", "https://plants.example/", f"https://plants.example/plants/{'%C5%81' * 30}"])
_SHARED: dict[str, Any] = {
    "summary": _TEXTS,
    "description": _TEXTS,
    "at": st.none() | st.times(),
    "minutes": st.integers(0, 3000),
    "categories": st.lists(_TEXTS.map(clean), max_size=8).map(tuple),
    "plant": _TEXTS,
    "window": st.sampled_from(["", "2026-11-24/2026-11-27"]),
    "url": _URLS,
    "alarm_minutes": st.none() | st.integers(0, 7 * 24 * 60),
}
_EVENTS = st.builds(
    Content,
    kind=st.just("VEVENT"),
    start=_DAYS,
    every_days=st.none() | st.integers(1, 400),
    until=st.none() | _DAYS,
    skip=st.lists(_DAYS, max_size=12).map(tuple),
    **_SHARED,
)
_TODOS = st.builds(
    Content,
    kind=st.just("VTODO"),
    start=st.none() | _DAYS,
    due=_DAYS,
    priority=st.integers(0, 9),
    completed=st.none() | _INSTANTS,
    **_SHARED,
)


@given(
    content=st.one_of(_EVENTS, _TODOS),
    uid=st.uuids().map(str),
    sequence=st.integers(0, 10**6),
    stamp=_INSTANTS,
    zone=_ZONES,
)
def test_a_component_has_the_librarys_bytes(
    content: Content, uid: str, sequence: int, stamp: datetime, zone: str
) -> None:
    """All texts, folds, escapes, zones, rules and alarms of events and to-dos."""
    ours = component_bytes(content, uid, sequence, stamp, local_times(zone))
    assert ours == library_bytes(content, uid, sequence, stamp, ZoneInfo(zone))


@given(_LINES)
@example("x" * 74)
@example("x" * 75)
@example("x" * 73 + "\\,")
@example("x" * 72 + "\\\\\\\\")
@example("é" * 37 + "é")
@example("\U0001f331" * 18 + "ab\U0001f331")
def test_a_line_is_folded_where_the_library_folds_it(line: str) -> None:
    """RFC 5545 3.1: by octets, never inside a character; the library parts no escape either."""
    assert folded(line).encode() == _LINE(line).to_ical() + b"\r\n"


@given(_TEXTS)
def test_cleaned_text_is_escaped_as_the_library_escapes_it(text: str) -> None:
    """RFC 5545 3.3.11: what `clean` lets through holds no backslash before N, the one thing the library changes."""
    assert text_value(clean(text)).encode() == icalendar.vText(clean(text)).to_ical()


@given(st.integers(-(10**6), 10**6))
@example(0)
@example(-24 * 60)
@example(25 * 60)
def test_a_duration_is_the_librarys(minutes: int) -> None:
    """RFC 5545 3.3.6, whole minutes before and after."""
    span = timedelta(minutes=minutes)
    assert duration_value(span).encode() == _DURATION(span).to_ical()


@pytest.mark.parametrize(
    "zone", ["Europe/Vienna", "UTC", "Etc/GMT+1", "Atlantic/Reykjavik", "America/St_Johns"]
)
@pytest.mark.parametrize("kind", ["VEVENT", "VTODO"])
def test_times_of_a_zone_are_the_librarys(zone: str, kind: Literal["VEVENT", "VTODO"]) -> None:
    """A rule over both changes of the clock, with days left out and an alarm; UTC has no TZID."""
    days = (date(2026, 12, 4), date(2027, 4, 2))
    content = Content(
        kind,
        "Water Tide",
        date(2026, 10, 2),
        due=date(2026, 10, 3),
        every_days=7,
        until=date(2027, 9, 24),
        skip=days,
        at=time(18, 30),
        minutes=45,
        alarm_minutes=30,
        completed=STAMP,
    )
    ours = component_bytes(content, UID, 3, STAMP, local_times(zone))
    assert ours == library_bytes(content, UID, 3, STAMP, ZoneInfo(zone))
    assert (b"TZID" in component_bytes(content, UID, 3, STAMP, local_times(zone))) == (
        zone not in {"UTC", "Atlantic/Reykjavik"}
    )


def test_a_uid_is_written_as_it_is() -> None:
    """UIDs are made by us: a UUID holds nothing to escape or fold (worked by hand)."""
    content = Content("VEVENT", "Water Tide", date(2026, 11, 25))
    assert f"\r\nUID:{UUID(UID)}\r\n".encode() in component_bytes(content, UID, 0, STAMP, local_times("UTC"))
