"""Calendars read by other programs' readers: the same events on the same days and minutes as the readers in Python.

Oracles: libical, KDE's KCalendarCore, iCal::Parser and ical.js, which share next to no code. KDE's is asked twice,
since what it lists over a span and what it finds on a day are two pieces of its code.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from pathlib import Path
from typing import Any, cast
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar

from carecal.app import Collection
from carecal.calendars.options import CalendarOptions
from tests.calendars.calendar_plans import AS_OF, UNTIL, plan_of, waterings, written
from tests.calendars.calendar_readers import Occurrence, by_vobject, components
from tests.calendars.outside_readers import OUTSIDE, as_told, found_by, missing
from tests.stories.quay import TODAY

pytestmark = pytest.mark.servers

SPAN = date(2026, 1, 1), date(2028, 6, 1)
HOUSE = {
    "each": CalendarOptions(grouping="each"),
    "each at eight": CalendarOptions(grouping="each", at=time(8)),
    "rounds at half past five": CalendarOptions(at=time(17, 30)),
    "to-dos of each": CalendarOptions(grouping="each", form="todos"),
}
SLOW = {
    ("iCal::Parser", "each"),
    ("iCal::Parser", "rounds at half past five"),
}  # at eight it is asked the same
ASKED = [(reader, name) for reader in OUTSIDE for name in HOUSE if (reader, name) not in SLOW]
HOME = "Europe/Berlin"
ZONES = ["America/Santiago", "Australia/Lord_Howe", "Africa/Casablanca"]
MISREAD = {
    ("kcalendarcore by days", "America/Santiago")
}  # theirs: an event more on the day that has no midnight
CLOCKS = [(reader, z) for reader in ("vobject", *OUTSIDE) for z in ZONES if (reader, z) not in MISREAD]
Ask = Callable[[str, bytes, str], list[Occurrence]]


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory, quay_once: Path) -> Callable[[str], bytes]:
    """Return how to get a calendar of the house by the harbour, each planned once."""
    folder = Path(shutil.copytree(quay_once, tmp_path_factory.mktemp("outside") / "home"))

    @cache
    def body(name: str) -> bytes:
        options = HOUSE[name]
        with Collection.open(folder) as collection:
            return written(collection.plan(TODAY, grouping=options.grouping), options).body

    return body


@pytest.fixture
def ask(request: pytest.FixtureRequest) -> Ask:
    """Return what asks a reader, or skips."""
    built = request.config.cache.mkdir("readers")

    def found(reader: str, body: bytes, zone: str) -> list[Occurrence]:
        if why := missing(reader, built):
            pytest.skip(why)
        return found_by(reader, body, zone, SPAN, built)

    return found


@pytest.mark.parametrize(("reader", "name"), ASKED)
def test_a_house_reads_the_same(house: Callable[[str], bytes], ask: Ask, reader: str, name: str) -> None:
    """A year of five plants and what was done before it: events as vobject finds them, to-dos as icalendar does."""
    body = house(name)
    wanted = [*by_vobject(body, *SPAN), *_todos(body)]
    assert len(wanted) > 4
    assert ask(reader, body, HOME) == as_told(reader, wanted, HOME)


@pytest.mark.parametrize(("reader", "zone"), CLOCKS)
def test_eight_in_the_morning_stays_eight(ask: Ask, reader: str, zone: str) -> None:
    """Changes of the clock at midnight, by half an hour, twice round Ramadan; days left out. Oracle: zoneinfo."""
    gaps = [AS_OF + timedelta(days=18), AS_OF + timedelta(days=27)]
    series, tasks = waterings(AS_OF, 9, UNTIL, gaps)
    of = plan_of((series, tasks), timezone=zone)
    body = written(of, CalendarOptions(grouping="each", at=time(8))).body
    (uid,) = {str(event["UID"]) for event in components(body)}
    found = by_vobject(body, *SPAN) if reader == "vobject" else ask(reader, body, zone)
    morning = [datetime.combine(task.on, time(8), ZoneInfo(zone)).astimezone(UTC) for task in tasks]
    assert found == as_told(reader, [(uid, at.isoformat()) for at in morning], zone)


def _todos(body: bytes) -> list[Occurrence]:
    """Return the to-dos of a calendar with their DUE, whole days all of them."""
    found = cast("list[Any]", Calendar.from_ical(body).walk("VTODO"))
    return [(str(todo["UID"]), todo["DUE"].dt.isoformat()) for todo in found]
