"""The twenty boundary cases a calendar must hold, each with the section of the standard that decides it.

Oracles: the days are worked by hand from RFC 5545; recurring-ical-events, ical and vobject must agree with them.
"""

from __future__ import annotations

import tracemalloc
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar

from carecal.calendars.components import parts_of
from carecal.calendars.options import CalendarOptions
from carecal.calendars.subscriptions import read_validators, store_published
from carecal.errors import Refused
from carecal.wording.clean import check_calendar_name, clean
from tests.calendars.calendar_library import component
from tests.calendars.calendar_plans import (
    AS_OF,
    EACH,
    database,
    fact,
    new_ledger,
    plan_of,
    plant,
    waterings,
    wetting,
    written,
)
from tests.calendars.calendar_readers import READERS, components, days_of, descriptions

AT_EIGHT = CalendarOptions(grouping="each", at=time(8))


def iso(*days: str) -> list[str]:
    """Return the days as given."""
    return list(days)


def test_01_an_empty_calendar_holds_one_timezone_and_no_occurrence() -> None:
    """RFC 5545 3.6: a calendar needs at least one component."""
    body = written(plan_of()).body
    calendar = Calendar.from_ical(body)
    assert [item.name for item in calendar.subcomponents] == ["VTIMEZONE"]
    assert days_of(body) == []


def test_02_one_date_left_writes_no_rule_and_keeps_the_uid() -> None:
    """RFC 5545 3.3.10: a rule of one date says nothing."""
    series, tasks = waterings(date(2026, 11, 26), 9, date(2026, 12, 5))
    before = written(plan_of((series, tasks)))
    after = written(plan_of((series, tasks), as_of=date(2026, 12, 1)))
    (old,), (new,) = components(before.body), components(after.body)
    assert "RRULE" in old
    assert "RRULE" not in new
    assert new["UID"] == old["UID"]
    assert days_of(after.body) == iso("2026-12-05")


@pytest.mark.parametrize(
    ("until", "last"),
    [
        pytest.param(date(2026, 12, 14), "2026-12-14", id="UNTIL is included when it is a date of the rule"),
        pytest.param(date(2026, 12, 13), "2026-12-05", id="the rule ends before an UNTIL between dates"),
        pytest.param(date(2026, 12, 22), "2026-12-14", id="nothing lies between the last date and UNTIL"),
    ],
)
def test_03_until_is_included_and_ends_the_rule(until: date, last: str) -> None:
    """RFC 5545 3.3.10: UNTIL bounds the rule inclusively."""
    body = written(plan_of(waterings(date(2026, 11, 26), 9, until))).body
    assert days_of(body)[-1] == last


def test_04_the_year_end_resets_nothing() -> None:
    """RFC 5545 3.3.10: INTERVAL counts days from DTSTART, not from the year."""
    body = written(plan_of(waterings(date(2026, 12, 22), 14, date(2027, 1, 31)))).body
    assert days_of(body) == iso("2026-12-22", "2027-01-05", "2027-01-19")


def test_05_a_skipped_first_date_moves_the_start() -> None:
    """RFC 5545 3.8.5.1: an EXDATE on DTSTART is read differently by programs, so none is written."""
    series = waterings(date(2026, 11, 26), 9, date(2026, 12, 31), skip=[date(2026, 11, 26)])
    body = written(plan_of(series)).body
    (event,) = components(body)
    assert event["DTSTART"].dt == date(2026, 12, 5)
    assert "EXDATE" not in event
    assert days_of(body) == iso("2026-12-05", "2026-12-14", "2026-12-23")


def test_06_a_series_with_all_dates_skipped_is_left_out() -> None:
    """RFC 5545 3.8.5.1: a set of no dates is no event."""
    skipped = [date(2026, 11, 26), date(2026, 12, 5)]
    body = written(plan_of(waterings(date(2026, 11, 26), 9, date(2026, 12, 5), skip=skipped))).body
    assert components(body) == []


def test_07_two_skipped_dates_stand_sorted_on_one_line() -> None:
    """RFC 5545 3.8.5.1: EXDATE is of DTSTART's type; one line or two mean the same set."""
    skip = [date(2027, 1, 1), date(2026, 12, 23)]
    body = written(plan_of(waterings(date(2026, 11, 26), 9, date(2027, 1, 10), skip=skip))).body
    assert b"\r\nEXDATE;VALUE=DATE:20261223,20270101\r\n" in body
    split = body.replace(b":20261223,20270101", b":20261223\r\nEXDATE;VALUE=DATE:20270101")
    assert days_of(body) == days_of(split) == iso("2026-11-26", "2026-12-05", "2026-12-14", "2027-01-10")


def test_08_a_moved_occurrence_is_an_exception_and_an_event_of_its_own() -> None:
    """RFC 5545 3.8.4.4 would take RECURRENCE-ID; two readers in ten show both dates then."""
    series, tasks = waterings(date(2026, 11, 26), 9, date(2026, 12, 23), skip=[date(2026, 12, 5)])
    moved = wetting(50, date(2026, 12, 7))
    body = written(plan_of((series, tasks), tasks=[moved])).body
    assert b"RECURRENCE-ID" not in body
    assert days_of(body) == iso("2026-11-26", "2026-12-07", "2026-12-14", "2026-12-23")
    assert len({event["UID"] for event in components(body)}) == 2


def test_09_a_changed_rhythm_is_a_new_series_with_no_day_twice_or_lost() -> None:
    """RFC 5545 3.3.10: UNTIL ends the old rule; RANGE=THISANDFUTURE (3.2.13) is read wrongly by several."""
    old = waterings(date(2026, 11, 26), 9, date(2026, 12, 15))
    new = waterings(date(2026, 12, 21), 7, date(2027, 1, 10), slot=10)
    body = written(plan_of(old, new)).body
    days = iso("2026-11-26", "2026-12-05", "2026-12-14", "2026-12-21", "2026-12-28", "2027-01-04")
    assert days_of(body) == days
    assert len({event["UID"] for event in components(body)}) == 2


def test_10_the_leap_day_is_a_day_like_any_other() -> None:
    """RFC 5545 3.3.10: a daily rule holds 29 February."""
    leap = waterings(date(2028, 2, 26), 1, date(2028, 3, 1))
    body = written(plan_of(leap, as_of=date(2028, 2, 20), until=date(2029, 2, 28))).body
    assert days_of(body) == iso("2028-02-26", "2028-02-27", "2028-02-28", "2028-02-29", "2028-03-01")


def test_11_yearly_dates_are_never_written_as_a_rule() -> None:
    """RFC 5545 3.3.10 ignores 29 February in common years, which two engines get wrong: rules are daily only."""
    body = written(plan_of(waterings(date(2026, 11, 26), 365, date(2027, 11, 30)))).body
    rules = [event["RRULE"]["FREQ"] for event in components(body) if "RRULE" in event]
    assert rules == [["DAILY"]]
    assert days_of(body) == iso("2026-11-26", "2027-11-26")


def test_12_month_ends_are_single_events() -> None:
    """RFC 5545 3.3.10: a monthly rule on the 31st leaves months out, so single events stand there instead."""
    ends = [date(2026, 11, 30), date(2026, 12, 31), date(2027, 1, 31), date(2027, 2, 28)]
    body = written(plan_of(tasks=[wetting(n, day) for n, day in enumerate(ends, 1)])).body
    assert b"RRULE" not in body
    assert days_of(body) == [day.isoformat() for day in ends]


def test_13_a_timed_series_keeps_the_wall_time_in_spring() -> None:
    """RFC 5545 3.3.10: with a TZID the local time stays; the days are counted."""
    series = waterings(date(2027, 3, 26), 1, date(2027, 3, 30))
    body = written(plan_of(series, as_of=date(2027, 3, 20), until=date(2027, 4, 30)), AT_EIGHT).body
    hours = [
        f"2027-03-{day}T{hour}:00:00+00:00"
        for day, hour in zip(range(26, 31), ["07", "07", "06", "06", "06"], strict=True)
    ]
    assert days_of(body) == hours
    assert b"RRULE:FREQ=DAILY;COUNT=5;INTERVAL=1\r\n" in body
    assert b"DTSTART;TZID=Europe/Vienna:20270326T080000" in body


def test_14_a_timed_series_keeps_the_wall_time_in_autumn() -> None:
    """RFC 5545 3.3.10, as in spring."""
    series = waterings(date(2027, 10, 29), 1, date(2027, 11, 2), skip=[date(2027, 10, 31)])
    body = written(plan_of(series, as_of=date(2027, 10, 20), until=date(2027, 11, 30)), AT_EIGHT).body
    days = iso("2027-10-29T06:00:00+00:00", "2027-10-30T06:00:00+00:00")
    assert days_of(body) == days + iso("2027-11-01T07:00:00+00:00", "2027-11-02T07:00:00+00:00")
    assert b"EXDATE;TZID=Europe/Vienna:20271031T080000" in body


@pytest.mark.parametrize(
    ("as_of", "message"),
    [
        pytest.param(date(2027, 3, 1), "does not exist on 2027-03-28", id="the gap of spring"),
        pytest.param(date(2027, 10, 1), "comes twice on 2027-10-31", id="the overlap of autumn"),
    ],
)
def test_15_a_time_in_a_gap_or_overlap_is_refused(as_of: date, message: str) -> None:
    """RFC 5545 3.3.5: nine engines give three answers, so the time is refused at input."""
    days = plan_of(as_of=as_of, until=as_of + timedelta(days=31))
    with pytest.raises(Refused, match=message):
        written(days, CalendarOptions(grouping="each", at=time(2, 30)))


HARD_TEXTS = [
    'commas, semicolons; back\\slashes and "quotes"',
    "line\nfeeds, carriage\rreturns, both\r\nof them, and a\ttab",
    r"a path C:\New\names and C:\\Numbers, \; \, as characters",
    "e\u0301 with a combining mark, \U0001f469\u200d\U0001f33e joined, 蘭の花 wide",
    "long " * 60,
    "\\",
    "ends in a backslash\\",
]


@pytest.mark.parametrize("text", HARD_TEXTS)
def test_16_text_comes_back_equal_and_lines_stay_short(text: str) -> None:
    """RFC 5545 3.1 and 3.3.11: folding by octets inside no character, escaping of TEXT."""
    body = written(plan_of(tasks=[wetting(1, AS_OF, because=text, asks="")])).body
    _assert_lines(body)
    wanted = " ".join(clean(text).split())
    for name, description in descriptions(body).items():
        assert description.splitlines()[0].casefold() == wanted.casefold(), name


@given(st.text(alphabet=st.characters(codec="utf-8") | st.sampled_from('\\nN,;:"\r\n\t'), max_size=120))
def test_16_any_text_comes_back_equal_after_cleaning(text: str) -> None:
    """RFC 5545 3.3.11: what is cleaned is parsed back to the character; oracle: the icalendar library's parser."""
    tide = plant(name="Tide" + text)
    body = written(plan_of(tasks=[wetting(1, AS_OF)], plants=[tide])).body
    _assert_lines(body)
    assert str(components(body)[0]["SUMMARY"]) == f"Water {' '.join(clean(tide.name).split())} – drench"


@pytest.mark.parametrize(
    "bad", ["\x07", "\u2028", "\u2029", "\ud800", "\ufeff", "\x7f", "\x00", "\x0b", "\x85"]
)
def test_17_controls_never_reach_the_bytes(bad: str) -> None:
    """RFC 5545 3.1: CONTROL is not allowed in text; one of them makes a strict reader refuse the whole file."""
    tide = plant(name=f"Ti{bad}de", place=f"East{bad}sill")
    body = written(
        plan_of(
            tasks=[wetting(1, AS_OF, because=f"dry{bad}air")], plants=[tide], collection_name=f"Quay{bad}side"
        )
    ).body
    assert bad not in body.decode()
    assert days_of(body) == [AS_OF.isoformat()]
    with pytest.raises(Refused, match="allowed: no comma"):
        check_calendar_name(f"Quay{bad}side")


def test_18_a_change_of_one_plant_changes_its_components_alone() -> None:
    """RFC 5545 3.8.7.4, 3.8.7.3: SEQUENCE and LAST-MODIFIED rise where content changed; see also the process tests."""
    tide, gable = (
        waterings(date(2026, 11, 26), 9, date(2027, 3, 1)),
        waterings(date(2026, 11, 27), 7, date(2027, 3, 1), number=8),
    )
    faster = waterings(date(2026, 11, 26), 5, date(2027, 3, 1))
    both = [plant(), plant(8, "Gable")]
    ledger = new_ledger()
    first = components(written(plan_of(tide, gable, plants=both), ledger=ledger).body)
    second = components(written(plan_of(faster, gable, plants=both), ledger=ledger).body)
    old, new = ({str(e["X-CARECAL-PLANT"]): e for e in events} for events in (first, second))
    assert new["gable"].to_ical() == old["gable"].to_ical()
    assert (old["tide"]["SEQUENCE"], new["tide"]["SEQUENCE"]) == (0, 1)
    assert new["tide"]["LAST-MODIFIED"].dt - old["tide"]["LAST-MODIFIED"].dt == timedelta(seconds=1)


@pytest.mark.parametrize(("count", "readers"), [(10_000, ["ical"]), (1_000, sorted(READERS))])
def test_19_thousands_of_series_are_read_by_three_engines(count: int, readers: list[str]) -> None:
    """RFC 5545 sets no size; oracle: each engine finds each series on the one day asked for."""
    rules = [waterings(AS_OF, 9, date(2027, 2, 24), number=n) for n in range(1, count + 1)]
    body = written(plan_of(*rules, plants=[plant(n, f"P{n}") for n in range(1, count + 1)])).body
    for name in readers:
        assert len(READERS[name](body, AS_OF, AS_OF + timedelta(days=1))) == count, name


def test_19_memory_holds_the_bytes_and_not_the_components() -> None:
    """Components are built one by one; oracle: half of what the same components take when held at once."""
    rules = [waterings(AS_OF, 9, date(2027, 2, 24), number=n) for n in range(1, 501)]
    of = plan_of(*rules, plants=[plant(n, f"P{n}") for n in range(1, 501)])
    written(of)  # fills the libraries' own caches
    ours = _peak(lambda: written(of))
    stamp, zone = datetime(2026, 11, 25, tzinfo=UTC), ZoneInfo(of.timezone)
    theirs = _peak(lambda: [component(part.content, part.key, 0, stamp, zone) for part in parts_of(of, EACH)])
    assert ours < theirs / 2


def test_19_a_conditional_request_reads_no_body_and_no_ledger() -> None:
    """RFC 9110 13.1.2: validators alone answer; oracle: the statements SQLite ran."""
    with closing(database()) as connection:
        store_published(connection, 1, b"x", modified=datetime(2026, 11, 25, tzinfo=UTC), as_of=AS_OF, head=3)
        ran: list[str] = []
        connection.set_trace_callback(ran.append)
        found = read_validators(connection, 1)
        assert found is not None
        assert found.head == 3
        assert len(ran) == 1
        assert "body" not in ran[0]
        assert "gzip" not in ran[0]


def test_20_a_to_do_leaves_out_an_equal_start_and_completes_on_the_local_day() -> None:
    """RFC 5545 3.8.2.3: DUE is later than DTSTART; 3.8.2.1: COMPLETED is UTC."""
    todos = CalendarOptions(grouping="each", form="todos")
    year_end = date(2026, 12, 31)
    done = fact(9, year_end, task="task/7/1/wetting/1")
    late = done._replace(written="2026-12-31T22:30:00Z")  # 23:30 in Vienna
    due = wetting(2, date(2027, 1, 2), earliest=date(2027, 1, 2))
    body = written(plan_of(tasks=[due], facts=(late,), as_of=date(2027, 1, 1)), todos).body
    completed, open_ = components(body)
    assert "DTSTART" not in open_
    assert open_["DUE"].dt == date(2027, 1, 2)
    assert b"COMPLETED:20261231T223000Z" in body
    assert completed["STATUS"] == "COMPLETED"
    assert completed["DUE"].dt == year_end


def _assert_lines(body: bytes) -> None:
    """Check what RFC 5545 3.1 asks of lines: CRLF, 75 octets, whole characters, no control."""
    assert body.endswith(b"\r\n")
    lines = body.split(b"\r\n")[:-1]
    assert all(len(line) <= 75 for line in lines)
    for line in lines:
        assert not any(ord(c) < 32 and c != "\t" for c in line.decode("utf-8"))


def _peak(work: Callable[[], object]) -> int:
    """Return the most memory held while something is done, in bytes."""
    tracemalloc.start()
    try:
        held = work()
        return tracemalloc.get_traced_memory()[1]
    finally:
        del held
        tracemalloc.stop()
