"""The ledger: SEQUENCE, stamps and bytes move exactly when content does. Oracle: what a parser reads back."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from carecal.calendars.ledger import Ledger, Wanted, forget_ledger, next_stamp
from carecal.plan.model import Plan
from tests.calendars.calendar_plans import (
    AS_OF,
    EACH,
    ROUNDS,
    database,
    fact,
    look,
    new_ledger,
    plan_of,
    plant,
    rounds_plan,
    waterings,
    wetting,
    written,
)
from tests.calendars.calendar_readers import components

MIDNIGHT = datetime(2026, 11, 25, tzinfo=UTC)
_STAMPS = {"SEQUENCE", "DTSTAMP", "LAST-MODIFIED"}


def _wanted(uid: str, digest: str, basis: str = "") -> Wanted:
    """Return a component whose bytes tell its sequence and stamp."""
    return Wanted(
        uid, digest, "2026-11-25", basis, lambda n, stamp: f"{uid} {n} {stamp.isoformat()}".encode()
    )


def _settled(ledger: Ledger, wanted: list[Wanted]) -> list[bytes]:
    """Bring a ledger to exactly these and return the bytes that are shown."""
    ledger.settle(wanted, AS_OF)
    ledger.retire(AS_OF)
    ledger.save()
    return list(ledger.bodies())


@pytest.mark.parametrize(
    ("old", "basis", "stamp"),
    [
        pytest.param(None, "", MIDNIGHT, id="as_of when nothing is newer"),
        pytest.param(
            None, "2026-11-25T18:03:00.7Z", datetime(2026, 11, 25, 18, 3, tzinfo=UTC), id="the newest entry"
        ),
        pytest.param(MIDNIGHT, "", MIDNIGHT + timedelta(seconds=1), id="a second after the old stamp"),
        pytest.param(None, "2026-11-20T18:03:00+00:00", MIDNIGHT, id="an old entry moves nothing"),
    ],
)
def test_a_changed_stamp_is_the_latest_of_three(old: datetime | None, basis: str, stamp: datetime) -> None:
    """Oracle: the rule of interface 5, worked by hand."""
    assert next_stamp(old, basis, AS_OF) == stamp


def test_unchanged_content_keeps_its_row() -> None:
    """The second settling changes nothing, though a day has passed."""
    ledger = new_ledger()
    first = _settled(ledger, [_wanted("a", "1")])
    rows = dict(ledger.rows)
    ledger.settle([_wanted("a", "1")], AS_OF + timedelta(days=1))
    assert not ledger.changed
    ledger.save()
    assert (list(ledger.bodies()), ledger.rows) == (first, rows)


def test_a_component_that_returns_goes_on_counting() -> None:
    """RFC 5545 3.8.7.4: SEQUENCE never falls, though the component was gone in between."""
    ledger = new_ledger()
    _settled(ledger, [_wanted("a", "1")])
    assert _settled(ledger, []) == []
    assert ledger.rows["a"].is_gone
    _settled(ledger, [_wanted("a", "1")])
    row = ledger.rows["a"]
    assert row.sequence == 1
    assert row.stamp == MIDNIGHT + timedelta(seconds=2)


def test_a_component_that_vanishes_makes_the_calendar_newer() -> None:
    """RFC 7986 5.4: LAST-MODIFIED is of the whole, so that a conditional request sees the loss."""
    ledger = new_ledger()
    before = written(plan_of(tasks=[wetting(1, AS_OF), look(1, AS_OF)]), ledger=ledger)
    after = written(plan_of(tasks=[wetting(1, AS_OF)]), ledger=ledger)
    again = written(plan_of(tasks=[wetting(1, AS_OF)]), ledger=ledger)
    assert after.modified > before.modified
    assert again.modified == after.modified
    assert again.body == after.body


def test_a_new_name_makes_the_calendar_newer_and_touches_no_component() -> None:
    """RFC 7986 5.4: the head is part of the calendar."""
    ledger = new_ledger()
    tasks = [wetting(1, AS_OF)]
    before = written(plan_of(tasks=tasks), ledger=ledger)
    after = written(plan_of(tasks=tasks, collection_name="Quay house"), ledger=ledger)
    assert after.modified > before.modified
    assert [c.to_ical() for c in components(after.body)] == [c.to_ical() for c in components(before.body)]


def test_the_ledger_comes_back_from_the_database_as_it_was() -> None:
    """Rows, with those of gone components, survive; other calendars' rows are theirs."""
    with closing(database()) as connection:
        ledger = Ledger(connection, "name/1")
        _settled(ledger, [_wanted("a", "1"), _wanted("b", "1")])
        bodies = _settled(ledger, [_wanted("a", "2", "2026-11-25T18:03:00Z")])
        again = Ledger(connection, "name/1")
        assert again.rows == ledger.rows
        assert list(again.bodies()) == bodies == [b"a 1 2026-11-25T18:03:00+00:00"]
        assert Ledger(connection, "name/2").rows == {}
        forget_ledger(connection, "name/1")
        assert Ledger(connection, "name/1").rows == {}


def test_components_are_settled_in_parts_and_the_first_of_a_uid_counts() -> None:
    """What comes plant by plant is one calendar: nothing of an earlier part goes, and no UID comes twice."""
    ledger = new_ledger()
    for part in (["a", "b"], ["b", "c"]):
        ledger.settle([_wanted(uid, part[0]) for uid in part], AS_OF)
    assert ledger.shown == 3
    ledger.retire(AS_OF)
    ledger.save()
    assert [body.split()[0] for body in ledger.bodies()] == [b"a", b"b", b"c"]
    assert ledger.rows["b"].digest == "a"


def test_nothing_reaches_the_file_before_it_is_saved_and_another_writer_is_seen(tmp_path: Path) -> None:
    """Others may write while a calendar is made; one who published the same calendar meanwhile is noticed."""
    with (
        closing(database(tmp_path / "one.db")) as first,
        closing(sqlite3.connect(tmp_path / "one.db")) as second,
    ):
        ledger, other = Ledger(first, "name/1"), Ledger(second, "name/1")
        ledger.settle([_wanted("a", "1")], AS_OF)
        second.execute("insert into cache (key, stamp, value) values ('k', '', x'')")
        second.commit()
        assert ledger.is_current()
        assert Ledger(second, "name/1").rows == {}
        _settled(other, [_wanted("a", "2")])
        second.commit()
        assert not ledger.is_current()


def test_an_unchanged_calendar_writes_no_row() -> None:
    """Writing twice on a day changes no byte of calendar or database."""
    with closing(database()) as connection:
        of = plan_of(waterings(date(2026, 11, 26), 9, date(2027, 2, 24)), facts=(fact(1, AS_OF),))
        bodies = []
        for rows in (2, 0):
            before = connection.total_changes
            found = written(of, ledger=Ledger(connection, EACH.key()))
            bodies.append(found.body)
            assert found.changed == rows
            assert (connection.total_changes > before) == bool(rows)
        assert bodies[0] == bodies[1]


def _content(item: Any) -> list[tuple[str, bytes]]:
    """Return all that a reader sees of a component but SEQUENCE and stamps."""
    lines = [
        (str(name), item.content_line(name, value)) for name, value in item.property_items(recursive=True)
    ]
    return [(name, line) for name, line in lines if name not in _STAMPS]


_NAMES = st.sampled_from(["Tide", "Gable", "Gable; east", "Łódź, \\N", "Пирс"])
_DAYS = st.integers(-2, 20).map(lambda n: AS_OF + timedelta(days=n))
_PLANT_STATES = st.fixed_dictionaries(
    {
        "name": _NAMES,
        "every": st.sampled_from([5, 7, 9]),
        "skip": st.sets(st.integers(0, 4), max_size=3),
        "certain": st.booleans(),
        "reservoir": st.sampled_from([None, "filled", "empty"]),
        "feeds": st.lists(_DAYS, max_size=2, unique=True),
        "looks": st.lists(_DAYS, max_size=1),
        "done": st.lists(st.integers(0, 3), max_size=2, unique=True),
        "here": st.booleans(),
    }
)


def _parts(number: int, state: dict[str, Any]) -> tuple[Any, list[Any], list[Any], Any]:
    """Return the rule, single tasks, facts and view of one plant in a state."""
    every, first = state["every"], AS_OF + timedelta(days=number)
    skip = [first + timedelta(days=i * every) for i in sorted(state["skip"])]
    series, ruled = waterings(first, every, first + timedelta(days=60), skip, number, slot=100)
    series = series._replace(certain=state["certain"])
    single = [wetting(n, day, number, "feeding") for n, day in enumerate(state["feeds"])]
    single += [look(n, day, number) for n, day in enumerate(state["looks"])]
    facts = [fact(number * 10 + n, AS_OF - timedelta(days=n), number) for n in state["done"]]
    return (series, ruled), single, facts, plant(number, state["name"], reservoir=state["reservoir"])


def _plans(states: list[dict[str, Any]]) -> list[Plan]:
    """Return the plan of the states in both groupings."""
    found = [_parts(n, state) for n, state in enumerate(states, 1) if state["here"]]
    facts = tuple(f for _, _, group, _ in found for f in group)
    views = [view for _, _, _, view in found] or [plant(99, "Bollard")]
    single = [task for _, group, _, _ in found for task in group]
    ruled = [task for (_, group), _, _, _ in found for task in group]
    each = plan_of(*(pair for pair, _, _, _ in found), tasks=single, plants=views, facts=facts)
    return [each, rounds_plan([*ruled, *single], plants=views, facts=facts)]


@settings(max_examples=40, deadline=None)
@given(st.lists(st.lists(_PLANT_STATES, min_size=2, max_size=2), min_size=2, max_size=5), st.integers(0, 1))
def test_sequence_rises_exactly_when_content_changed(steps: list[list[dict[str, Any]]], which: int) -> None:
    """Over random edits: same content, same bytes; other content, next SEQUENCE and later stamp; never a fall."""
    ledger, options = new_ledger(), (EACH, ROUNDS)[which]
    before: dict[str, Any] = {}
    counted: dict[str, int] = {}
    for states in steps:
        body = written(_plans(states)[which], options, ledger).body
        now = {str(item["UID"]): item for item in components(body)}
        for uid, item in now.items():
            old = before.get(uid)
            if old is not None and _content(old) == _content(item):
                assert item.to_ical() == old.to_ical()
            else:
                assert item["SEQUENCE"] == counted.get(uid, -1) + 1
                assert old is None or item["DTSTAMP"].dt > old["DTSTAMP"].dt
            counted[uid] = item["SEQUENCE"]
            assert item["LAST-MODIFIED"].dt == item["DTSTAMP"].dt
        assert written(_plans(states)[which], options, ledger).body == body
        before = now


def test_the_next_day_changes_only_what_passed() -> None:
    """One day on without an entry, only the rule whose first day passed is rewritten."""
    tide = waterings(AS_OF, 9, date(2027, 2, 24))
    gable = waterings(date(2026, 12, 3), 7, date(2027, 2, 24), number=8)
    views = [plant(), plant(8, "Gable")]
    ledger = new_ledger()
    first = components(written(plan_of(tide, gable, plants=views), ledger=ledger).body)
    later = plan_of(tide, gable, plants=views, as_of=AS_OF + timedelta(days=1))
    rendered = written(later, ledger=ledger)
    assert rendered.changed == 1
    changed = [e for e in components(rendered.body) if e.to_ical() not in [f.to_ical() for f in first]]
    assert [str(e["X-CARECAL-PLANT"]) for e in changed] == ["tide"]
