"""Calendars read back: three independent readers find exactly the plan. Oracle: their agreement."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from icalendar import Calendar

from carecal.calendars.options import CalendarOptions
from carecal.plan.model import Status, Step
from tests.calendars.calendar_plans import (
    AS_OF,
    UNTIL,
    fact,
    look,
    plan_of,
    plant,
    rounds_plan,
    waterings,
    wetting,
    written,
)
from tests.calendars.calendar_readers import components, days_of

STATUSES: tuple[Status, ...] = ("planned", "open", "overdue", "done", "assumed", "left", "skipped")

_RULES = st.tuples(
    st.integers(-40, 40), st.integers(1, 30), st.integers(0, 300), st.sets(st.integers(0, 12), max_size=5)
)


@settings(max_examples=60, deadline=None)
@given(st.lists(_RULES, min_size=1, max_size=4), st.lists(st.integers(0, 300), max_size=5, unique=True))
def test_expanding_each_gives_the_plans_tasks(
    rules: list[tuple[int, int, int, set[int]]], singles: list[int]
) -> None:
    """Every task from as_of to the horizon stands once, whatever the rules."""
    pairs = []
    for number, (offset, every, length, gaps) in enumerate(rules, 1):
        first = AS_OF + timedelta(days=offset)
        skip = [first + timedelta(days=i * every) for i in gaps]
        pairs.append(waterings(first, every, first + timedelta(days=length), skip, number))
    extra = [look(n, AS_OF + timedelta(days=n), 1) for n in singles]
    views = [plant(n, f"P{n}") for n in range(1, len(rules) + 1)]
    of = plan_of(*pairs, tasks=extra, plants=views)
    wanted = sorted(task.on.isoformat() for task in of.tasks if task.on >= AS_OF)
    assert days_of(written(of).body) == wanted


@settings(max_examples=30, deadline=None)
@given(st.lists(st.integers(0, 300), min_size=1, max_size=20))
def test_the_events_of_rounds_are_the_plans_rounds(offsets: list[int]) -> None:
    """One event a round, on its day."""
    tasks = [wetting(n, AS_OF + timedelta(days=offset)) for n, offset in enumerate(offsets)]
    of = rounds_plan(tasks)
    assert days_of(written(of).body) == [round_.on.isoformat() for round_ in of.rounds]


def test_a_series_without_task_ids_hides_the_tasks_on_its_days() -> None:
    """A rule stands for the tasks of its plant and care on its days, named or not."""
    series, tasks = waterings(AS_OF, 9, AS_OF + timedelta(days=18))
    of = plan_of((replace(series, tasks=()), tasks), tasks=[look(1, AS_OF)])
    assert days_of(written(of).body) == ["2026-11-25", "2026-11-25", "2026-12-04", "2026-12-13"]


@pytest.mark.parametrize("status", STATUSES)
def test_only_unanswered_tasks_are_drawn(status: Status) -> None:
    """Assumed and missed cares are not drawn; done ones are drawn from the facts alone."""
    task = replace(wetting(1, AS_OF), status=status)
    shown = status in {"planned", "open", "overdue"}
    assert len(components(written(plan_of(tasks=[task])).body)) == shown
    assert len(components(written(rounds_plan([task])).body)) == shown


def test_the_past_shows_sixty_days_of_facts() -> None:
    """Design 3.13: facts only, 60 days back; one event an entry in each, one a day in rounds."""
    days = [AS_OF - timedelta(days=n) for n in (61, 60, 3, 3, 0)]
    facts = tuple(fact(n, day) for n, day in enumerate(days, 1))
    of = plan_of(facts=facts)
    assert days_of(written(of).body) == ["2026-09-26", "2026-11-22", "2026-11-22", "2026-11-25"]
    assert days_of(written(rounds_plan([], facts=facts)).body) == ["2026-09-26", "2026-11-22", "2026-11-25"]
    assert all("DONE" in event["CATEGORIES"].cats for event in components(written(of).body))


@pytest.mark.parametrize(
    ("days", "last"),
    [
        pytest.param(1, "2026-11-30", id="the first day is as_of; its month ends on the 30th"),
        pytest.param(6, "2026-11-30", id="the sixth day is the 30th"),
        pytest.param(7, "2026-12-31", id="the seventh day lies in December"),
        pytest.param(400, "2027-11-30", id="never beyond the plan's horizon"),
    ],
)
def test_days_run_to_the_end_of_their_month(days: int, last: str) -> None:
    """Interface 5: to the end of the month that holds the N-th day; worked by hand."""
    of = plan_of(waterings(AS_OF, 1, UNTIL))
    assert days_of(written(of, CalendarOptions(grouping="each", days=days)).body)[-1] == last


@pytest.mark.parametrize(
    ("options", "summaries"),
    [
        pytest.param(CalendarOptions(grouping="each", plant=8), ["Feed Gable, 60 ppm N"], id="one plant"),
        pytest.param(
            CalendarOptions(grouping="each", place="North shelf"), ["Feed Gable, 60 ppm N"], id="one place"
        ),
        pytest.param(
            CalendarOptions(grouping="each", care="watering"), ["Water Tide – drench"], id="one care"
        ),
    ],
)
def test_a_selection_shows_itself_alone(options: CalendarOptions, summaries: list[str]) -> None:
    """One plant, one place or one care; steps and records of others stay out."""
    views = [plant(), plant(8, "Gable", place="North shelf")]
    step = Step(7, "potting-on", "wait", date(2027, 4, 4), None, None)
    other = fact(1, AS_OF, number=7, care="flushing")
    of = plan_of(
        tasks=[wetting(1, AS_OF), wetting(2, AS_OF, 8, "feeding")],
        plants=views,
        steps=(step,),
        facts=(other,),
    )
    assert len(components(written(of).body)) == 4
    assert [str(event["SUMMARY"]) for event in components(written(of, options).body)] == summaries


def test_steps_stand_when_they_open_and_a_fortnight_before_they_close() -> None:
    """Two single events with CATEGORIES STEP; unwanted, missed and unknown steps have none."""
    step = Step(
        7, "potting-on", "wait", date(2027, 4, 4), date(2027, 8, 20), 200, title="Repot Tide into fresh bark"
    )
    of = plan_of(
        steps=(step, replace(step, plant=8, wanted=False), replace(step, step="first-feed", status="missed"))
    )
    events = components(written(of).body)
    assert [event["DTSTART"].dt for event in events] == [date(2027, 4, 4), date(2027, 8, 6)]
    assert [event["CATEGORIES"].cats for event in events] == [["STEP"], ["STEP"]]
    assert str(events[1]["SUMMARY"]) == "Repot Tide into fresh bark – last safe start 20 August"


def test_a_step_that_closes_within_a_fortnight_is_said_once() -> None:
    """The event of its opening names the last safe start already."""
    step = Step(7, "potting-on", "now", AS_OF, AS_OF + timedelta(days=10), 10)
    (event,) = components(written(plan_of(steps=(step,))).body)
    assert "Last safe start 5 December." in event["DESCRIPTION"]


def test_a_steps_task_and_its_opening_are_one_event() -> None:
    """The task stands on its care day, under the UID of the step's opening."""
    step = Step(7, "potting-on", "now", AS_OF, None, None, title="Repot Tide into fresh bark")
    task = wetting(0, AS_OF, care="step", id=f"step/7/potting-on/{AS_OF}", step="potting-on", technique="")
    (event,) = components(written(plan_of(tasks=[task], steps=(step,))).body)
    assert str(event["SUMMARY"]) == "Repot Tide into fresh bark"
    assert event["CATEGORIES"].cats == ["STEP"]


def test_the_refresh_event_stands_in_no_view_of_this_month_or_the_next() -> None:
    """It changes on Mondays alone; by hand: from 8 January 2027 the first Monday is the 11th, in February the 8th."""
    bodies = {}
    for n in (-3, *range(-2, 6), 12):
        of = plan_of(as_of=AS_OF + timedelta(days=n))
        (event,) = components(written(of, refresh_event=True).body)
        bodies[n] = (event["DTSTART"].dt.isoformat(), str(event["SUMMARY"]))
    said = "This calendar has not been refreshed since the week of"
    assert bodies[-3] == ("2027-01-11", f"{said} 16 November 2026")
    assert {bodies[n] for n in range(-2, 5)} == {("2027-01-11", f"{said} 23 November 2026")}
    assert bodies[5] == ("2027-01-11", f"{said} 30 November 2026")
    assert bodies[12] == ("2027-02-08", f"{said} 7 December 2026")


def test_the_head_names_no_uid_method_or_release() -> None:
    """A UID on VCALENDAR ruins one reader, METHOD is not ours, a release number would change all bytes."""
    body = written(plan_of(tasks=[wetting(1, AS_OF)]), public_url="https://plants.example/").body
    head = body.split(b"BEGIN:VEVENT")[0].decode().split("\r\n")
    assert head == [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//carecal//carecal//EN",
        "CALSCALE:GREGORIAN",
        "NAME:Harbour house",
        "X-WR-CALNAME:Harbour house",
        "COLOR:seagreen",
        "LAST-MODIFIED:20261125T000000Z",
        "REFRESH-INTERVAL;VALUE=DURATION:PT4H",
        "URL:https://plants.example/",
        "X-PUBLISHED-TTL:PT4H",
        "",
    ]
    assert b"URL:https://plants.example/plants/tide" in body


def test_the_joined_bytes_are_those_of_the_library() -> None:
    """Kept bytes joined in a wrapper equal one serialising by icalendar."""
    of = plan_of(waterings(AS_OF, 9, UNTIL), tasks=[look(1, AS_OF)], facts=(fact(1, AS_OF),))
    for options in (CalendarOptions(grouping="each"), CalendarOptions(grouping="each", at=time(8))):
        body = written(of, options).body
        assert Calendar.from_ical(body).to_ical() == body


@pytest.mark.parametrize(
    ("options", "line"),
    [
        pytest.param(
            CalendarOptions(grouping="each", alarm_minutes=0), b"TRIGGER:PT9H", id="09:00 of a whole day"
        ),
        pytest.param(
            CalendarOptions(grouping="each", alarm_minutes=1440), b"TRIGGER:-PT15H", id="the day before"
        ),
        pytest.param(
            CalendarOptions(grouping="each", alarm_minutes=30, at=time(8)),
            b"TRIGGER:-PT30M",
            id="before the time",
        ),
        pytest.param(
            CalendarOptions(grouping="each", alarm_minutes=0, form="todos"),
            b"TRIGGER;RELATED=END:PT9H",
            id="from DUE",
        ),
    ],
)
def test_an_alarm_counts_from_the_time_or_from_nine(options: CalendarOptions, line: bytes) -> None:
    """RFC 5545 3.8.6.3: a trigger counts from 00:00 of a whole day, of a to-do from DUE."""
    assert b"\r\n" + line + b"\r\n" in written(plan_of(tasks=[wetting(1, AS_OF)]), options).body


def test_records_ring_no_alarm_and_have_no_time() -> None:
    """What was done is of a day, and over."""
    body = written(
        plan_of(facts=(fact(1, AS_OF),)), CalendarOptions(grouping="each", at=time(8), alarm_minutes=0)
    ).body
    assert b"VALARM" not in body
    assert b"DTSTART;VALUE=DATE:20261125" in body


def test_a_fact_of_a_plant_the_plan_does_not_hold_is_left_out() -> None:
    """A plant without a name cannot be named."""
    assert components(written(plan_of(facts=(fact(1, AS_OF, number=99),))).body) == []


def test_a_plan_of_the_other_grouping_is_an_error_of_the_caller() -> None:
    """Rounds cannot be read out of a plan by due days."""
    with pytest.raises(ValueError, match="a plan of each cannot show rounds"):
        written(plan_of(), CalendarOptions())


def test_two_calendars_and_two_generations_share_no_uid() -> None:
    """Interface 5: calendar and generation enter the UID; names do not."""
    of = plan_of(tasks=[wetting(1, AS_OF)])
    renamed = plan_of(tasks=[wetting(1, AS_OF)], plants=[plant(name="Lantern")])
    uids = [
        str(components(body)[0]["UID"])
        for body in (
            written(of).body,
            written(of, calendar="name/1").body,
            written(of, generation=2).body,
            written(renamed).body,
        )
    ]
    assert len(set(uids[:3])) == 3
    assert uids[3] == uids[0]
