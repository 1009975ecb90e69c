"""VTIMEZONEs against `zoneinfo`, hour by hour; times that are missing or doubled. Oracle: the zone's own data."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from carecal.calendars.zones import YEARS, check_time, timezone_component, to_bytes, transitions
from carecal.errors import Refused

YEAR = 2026
REGULAR = ["Europe/Vienna", "Europe/Dublin", "America/New_York", "Australia/Sydney", "Australia/Lord_Howe"]
STEADY = ["UTC", "Asia/Tokyo", "Asia/Kolkata", "America/Sao_Paulo"]
IRREGULAR = ["Africa/Casablanca", "America/Santiago"]


@pytest.mark.parametrize("zone", REGULAR + STEADY + IRREGULAR)
def test_offsets_are_those_of_the_zone_in_each_hour(zone: str) -> None:
    """Eight years in steps of an hour, by a plain reading of the component (RFC 5545 3.6.5)."""
    onsets = _onsets(timezone_component(zone, YEAR))
    tz, instant, wrong = ZoneInfo(zone), datetime(YEAR, 1, 1, tzinfo=UTC), 0
    at = 0
    while instant.year < YEAR + YEARS:
        while at + 1 < len(onsets) and onsets[at + 1][0] <= instant:
            at += 1
        wrong += onsets[at][1] != instant.astimezone(tz).utcoffset()
        instant += timedelta(hours=1)
    assert wrong == 0


@pytest.mark.parametrize("zone", REGULAR)
def test_a_regular_zone_is_two_rules(zone: str) -> None:
    """Same weekday of the same month each year; no list of dates."""
    text = to_bytes(timezone_component(zone, YEAR))
    assert text.count(b"RRULE:FREQ=YEARLY") == 2
    assert b"RDATE" not in text


def test_vienna_is_as_short_as_it_can_be() -> None:
    """Worked by hand: last Sundays, onset by the offset before (RFC 5545 3.6.5)."""
    lines = to_bytes(timezone_component("Europe/Vienna", 2026)).decode().split("\r\n")
    assert "DTSTART:20250330T020000" in lines
    assert "DTSTART:20251026T030000" in lines
    assert "RRULE:FREQ=YEARLY;BYDAY=-1SU;BYMONTH=3" in lines
    assert len("\r\n".join(lines)) < 350


@pytest.mark.parametrize("zone", IRREGULAR)
def test_a_date_of_a_change_stands_on_a_line_of_its_own(zone: str) -> None:
    """RFC 5545 3.8.5.2 allows a list; vobject and ical.js take the first of it alone, later ones are an hour off."""
    lines = to_bytes(timezone_component(zone, YEAR)).decode().split("\r\n")
    dates = [line for line in lines if line.startswith("RDATE")]
    assert len(dates) >= 2 * YEARS
    assert not [line for line in dates if "," in line]


@pytest.mark.parametrize("zone", STEADY)
def test_a_steady_zone_is_one_observance(zone: str) -> None:
    """Without a change the offset in force stands alone."""
    component = timezone_component(zone, YEAR)
    assert [item.name for item in component.subcomponents] == ["STANDARD"]


@pytest.mark.parametrize("zone", IRREGULAR)
def test_an_irregular_zone_lists_its_dates(zone: str) -> None:
    """Casablanca's clocks follow Ramadan, Santiago's the first Sunday from the 2nd on: no rule of n-th weekdays."""
    text = to_bytes(timezone_component(zone, YEAR))
    assert b"RDATE" in text
    assert b"RRULE" not in text


def test_transitions_name_instants_and_offsets() -> None:
    """Worked by hand for Vienna in 2027."""
    spring, autumn = transitions("Europe/Vienna", 2027, 2027)
    assert spring.instant == datetime(2027, 3, 28, 1, tzinfo=UTC)
    assert (spring.before, spring.after, spring.is_dst) == (timedelta(hours=1), timedelta(hours=2), True)
    assert autumn.onset == datetime(2027, 10, 31, 3)  # noqa: DTZ001 - local time without a zone is what an onset is


@pytest.mark.parametrize(
    ("zone", "at", "day", "message"),
    [
        ("Europe/Vienna", time(2, 0), date(2027, 3, 28), "time 02:00 does not exist on 2027-03-28"),
        ("Europe/Vienna", time(2, 59), date(2027, 3, 28), "outside 02:00 to 03:00"),
        ("Europe/Vienna", time(2, 0), date(2027, 10, 31), "time 02:00 comes twice on 2027-10-31"),
        ("America/Santiago", time(0, 0), date(2027, 9, 5), "time 00:00 does not exist on 2027-09-05"),
        ("America/Santiago", time(23, 30), date(2027, 4, 3), "time 23:30 comes twice on 2027-04-03"),
        ("Australia/Lord_Howe", time(2, 15), date(2027, 10, 3), "outside 02:00 to 02:30"),
    ],
)
def test_a_missing_or_doubled_time_is_refused_on_its_day_only(
    zone: str, at: time, day: date, message: str
) -> None:
    """Both ends of the span count; the days beside it do not."""
    week = timedelta(days=7)
    for start, until in ((day, day), (day - week, day), (day, day + week)):
        with pytest.raises(Refused, match=message):
            check_time(zone, at, start, until)
    check_time(zone, at, day - week, day - timedelta(days=1))
    check_time(zone, at, day + timedelta(days=1), day + week)


@pytest.mark.parametrize("at", [time(1, 59), time(3, 0), time(8, 0)])
def test_other_times_pass(at: time) -> None:
    """Just before and just after the gap and the overlap of Vienna."""
    check_time("Europe/Vienna", at, date(2027, 1, 1), date(2027, 12, 31))


def _onsets(component: Any) -> list[tuple[datetime, timedelta]]:
    """Return each onset as an instant with the offset from then on, by the plain text of the standard."""
    found = []
    for item in component.subcomponents:
        before, after = item["TZOFFSETFROM"].td, item["TZOFFSETTO"].td
        locals_ = [item["DTSTART"].dt]
        if "RRULE" in item:
            locals_ = [
                _nth(year, item["RRULE"]["BYDAY"], locals_[0]) for year in range(YEAR - 1, YEAR + YEARS)
            ]
        if "RDATE" in item:
            locals_ += [dates.dts[0].dt for dates in item["RDATE"]]
        found += [((local - before).replace(tzinfo=UTC), after) for local in locals_]
    return sorted(found)


def _nth(year: int, byday: str, first: datetime) -> datetime:
    """Return the n-th or last weekday of a month in a year, at the first onset's time."""
    place, weekday = int(byday[:-2]), ("MO", "TU", "WE", "TH", "FR", "SA", "SU").index(byday[-2:])
    days = [first.replace(year=year, day=1) + timedelta(days=n) for n in range(31)]
    fit = [day for day in days if day.month == first.month and day.weekday() == weekday]
    return fit[place - 1 if place > 0 else place]
