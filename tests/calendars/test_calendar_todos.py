"""To-dos: single ones, the next of each plant and care or the next round. Oracle: interface 5, worked by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from ical.calendar_stream import IcsCalendarStream

from carecal.calendars.options import CalendarOptions
from tests.calendars.calendar_plans import (
    AS_OF,
    fact,
    look,
    plan_of,
    plant,
    rounds_plan,
    waterings,
    wetting,
    written,
)
from tests.calendars.calendar_readers import components

EACH = CalendarOptions(grouping="each", form="todos")
ROUNDS = CalendarOptions(form="todos")


def test_each_gives_the_next_open_one_of_each_plant_and_care() -> None:
    """No rule, no second watering of the same plant."""
    tide = waterings(AS_OF, 9, AS_OF + timedelta(days=60))
    gable = waterings(AS_OF + timedelta(days=1), 7, AS_OF + timedelta(days=60), number=8)
    extra = [
        wetting(50, AS_OF + timedelta(days=4), care="feeding"),
        look(1, AS_OF),
        look(2, AS_OF + timedelta(days=7)),
    ]
    body = written(plan_of(tide, gable, tasks=extra, plants=[plant(), plant(8, "Gable")]), EACH).body
    todos = components(body)
    assert {item.name for item in todos} == {"VTODO"}
    due = {str(todo["SUMMARY"]): (todo["DUE"].dt - AS_OF).days for todo in todos}
    assert due == {
        "Water Tide – drench": 0,
        "Look over Tide": 0,
        "Water Gable – drench": 1,
        "Feed Tide, 60 ppm N": 4,
    }
    assert len(todos) == len(due)
    assert b"RRULE" not in body


def test_a_calendar_of_one_plant_or_care_holds_no_other_to_do() -> None:
    """Interface 5: what is filtered out is not there, although its day is."""
    tasks = [wetting(1, AS_OF), look(1, AS_OF), wetting(2, AS_OF, number=8)]
    plants = [plant(), plant(8, "Gable")]
    for narrower, left in (
        ({"plant": 8}, ["Water Gable – drench"]),
        ({"care": "inspection"}, ["Look over Tide"]),
        ({"plant": 8, "care": "inspection"}, []),
    ):
        body = written(plan_of(tasks=tasks, plants=plants), replace(EACH, **narrower)).body
        assert [str(todo["SUMMARY"]) for todo in components(body)] == left


def test_rounds_give_the_next_round_as_one_to_do() -> None:
    """The later rounds wait."""
    soon = AS_OF + timedelta(days=2)
    tasks = [wetting(1, soon), look(1, soon), wetting(2, AS_OF + timedelta(days=9))]
    (todo,) = components(written(rounds_plan(tasks), ROUNDS).body)
    assert todo["DUE"].dt == AS_OF + timedelta(days=2)
    assert str(todo["SUMMARY"]) == "Tide: water – drench; look over"


def test_nothing_open_and_nothing_done_is_an_empty_calendar() -> None:
    """Both groupings."""
    assert components(written(plan_of(), EACH).body) == []
    assert components(written(rounds_plan([]), ROUNDS).body) == []


def test_a_done_task_keeps_its_uid_and_completes() -> None:
    """The to-do on the phone is ticked off, not replaced."""
    task = wetting(1, AS_OF)
    (open_,) = components(written(plan_of(tasks=[task]), EACH).body)
    (done,) = components(written(plan_of(facts=(fact(9, AS_OF, task=task.id),)), EACH).body)
    assert done["UID"] == open_["UID"]
    assert (str(open_["STATUS"]), str(done["STATUS"])) == ("NEEDS-ACTION", "COMPLETED")
    assert (open_["PERCENT-COMPLETE"], done["PERCENT-COMPLETE"]) == (0, 100)


def test_a_task_that_is_open_again_is_not_also_done() -> None:
    """After an undo in part, what is open counts."""
    task = wetting(1, AS_OF)
    (todo,) = components(written(plan_of(tasks=[task], facts=(fact(9, AS_OF, task=task.id),)), EACH).body)
    assert str(todo["STATUS"]) == "NEEDS-ACTION"


def test_a_task_that_is_open_again_behind_another_is_not_done_either() -> None:
    """It waits its turn; only the next one of a plant and care is shown."""
    first, second = wetting(1, AS_OF), wetting(2, AS_OF + timedelta(days=9))
    body = written(plan_of(tasks=[first, second], facts=(fact(9, AS_OF, task=second.id),)), EACH).body
    assert [str(todo["STATUS"]) for todo in components(body)] == ["NEEDS-ACTION"]


def test_a_done_round_keeps_its_uid_and_completes() -> None:
    """The day's record takes the round's place once nothing of it is open."""
    task = wetting(1, AS_OF)
    (open_,) = components(written(rounds_plan([task]), ROUNDS).body)
    (partly,) = components(written(rounds_plan([task], facts=(fact(9, AS_OF),)), ROUNDS).body)
    (done,) = components(written(rounds_plan([], facts=(fact(9, AS_OF),)), ROUNDS).body)
    assert {open_["UID"], partly["UID"], done["UID"]} == {open_["UID"]}
    assert [str(item["STATUS"]) for item in (open_, partly, done)] == [
        "NEEDS-ACTION",
        "NEEDS-ACTION",
        "COMPLETED",
    ]


@pytest.mark.parametrize(
    ("zone", "instant"),
    [
        pytest.param("Europe/Vienna", "2026-12-31T22:30:00Z", id="23:30 in Vienna"),
        pytest.param("Pacific/Auckland", "2026-12-31T10:30:00Z", id="23:30 in Auckland"),
        pytest.param("America/New_York", "2027-01-01T04:30:00+00:00", id="23:30 in New York"),
        pytest.param("Europe/Vienna", "2027-01-03T08:00:00Z", id="entered days later: noon of the day"),
    ],
)
def test_completed_lies_on_the_day_it_was_done(zone: str, instant: str) -> None:
    """RFC 5545 3.8.2.1: COMPLETED is UTC; its day in the collection's zone is the fact's."""
    done = fact(9, date(2026, 12, 31))._replace(written=instant)
    of = plan_of(facts=(done,), as_of=date(2027, 1, 4), timezone=zone)
    (todo,) = components(written(of, EACH).body)
    completed: datetime = todo["COMPLETED"].dt
    assert completed.tzinfo is not None
    assert completed.utcoffset() == timedelta(0)
    assert completed.astimezone(ZoneInfo(zone)).date() == date(2026, 12, 31)


@pytest.mark.parametrize(
    ("changes", "priority"),
    [({"stage": "rootless", "on_watch": True}, 1), ({"on_watch": True}, 3), ({}, 5)],
)
def test_the_most_fragile_come_first(changes: dict[str, Any], priority: int) -> None:
    """RFC 5545 3.8.1.9: 1 is the highest."""
    (todo,) = components(written(plan_of(tasks=[wetting(1, AS_OF)], plants=[plant(**changes)]), EACH).body)
    assert todo["PRIORITY"] == priority


def test_a_timed_to_do_has_times_of_one_kind() -> None:
    """RFC 5545 3.8.2.3: DUE and DTSTART are of one type; oracle: ical reads them back."""
    body = written(plan_of(tasks=[wetting(1, AS_OF)]), replace(EACH, at=time(8))).body
    (todo,) = IcsCalendarStream.calendar_from_ics(body.decode()).todos
    assert isinstance(todo.due, datetime)
    assert isinstance(todo.dtstart, datetime)
    assert todo.due.astimezone(UTC).hour == 7
    assert todo.due - todo.dtstart == timedelta(days=1)
