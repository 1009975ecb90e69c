"""Calendars of plans as the planner really makes them: a small collection through the door. Oracle: the plan itself."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from carecal.app import Collection, Now
from carecal.app.demo.example import write_demo
from carecal.app.publish.calendars import options_of, render_calendar
from carecal.calendars.options import CalendarOptions
from carecal.collection.entries import (
    CollectionStarted,
    Done,
    Entry,
    Left,
    PlaceAdded,
    PlantAdded,
    Potted,
    SettingChanged,
)
from carecal.plan.model import Plan
from tests.calendars.calendar_plans import new_ledger, written
from tests.calendars.calendar_readers import READERS, components

START, TODAY = date(2026, 9, 1), date(2026, 11, 25)
GROUPINGS = ["each", "rounds"]


def _now(day: date) -> Now:
    """Return nine in the morning of a day."""
    instant = datetime(day.year, day.month, day.day, 9, tzinfo=UTC)
    return Now(day, instant, instant, is_given=True)


@pytest.fixture
def quay(tmp_path: Path) -> Iterator[Collection]:
    """Return three plants with a history of ten weeks: one that is ticked, one that is left, one that is wrapped."""
    started = CollectionStarted(
        on=START, name="Harbour house", latitude=54.3, longitude=10, timezone="Europe/Berlin"
    )
    with Collection.start(tmp_path / "home", started, _now(START)) as found:
        plants: list[Entry] = [
            PlaceAdded(on=START, place="east-sill", place_kind="warm-sill", aspect="E"),
            SettingChanged(on=START, key="weekdays", value="wed,sat"),
            _plant("tide", "established", "bark", came=date(2025, 5, 1), longest_mm=120),
            _plant("gable", "new-tips", "moss", came=date(2026, 8, 20)),
            _plant("pebble", "rootless", "moss", came=date(2026, 8, 20), aids=("wrap",)),
        ]
        days = [START + timedelta(weeks=week) for week in range(1, 13)]
        ticks: list[Entry] = [Done(on=day, plant="tide", care="watering", felt="right") for day in days]
        leaves: list[Entry] = [Left(on=day, plant="gable", care="watering") for day in days]
        _write(found, START, *plants)
        _write(found, TODAY - timedelta(days=1), *ticks, *leaves)
        yield found


def _plant(name: str, stage: str, medium: str, **more: object) -> PlantAdded:
    """Return a plant on the east sill."""
    values = {
        "name": name.title(),
        "container": "plastic",
        "size_cm": 12,
        "place": "east-sill",
        "watered": START,
    }
    return PlantAdded.model_validate(
        {"on": START, "plant": name, "stage": stage, "medium": medium, **values, **more}
    )


def _write(into: Collection, day: date, *entries: Entry) -> None:
    """Write entries as one command on a day."""
    into.record(*entries, now=_now(day))


def _wanted(of: Plan) -> list[str]:
    """Return the days on which something of the plan stands: its tasks, or its rounds."""
    if of.grouping == "rounds":
        return [round_.on.isoformat() for round_ in of.rounds]
    shown = [task for task in of.tasks if task.status in {"planned", "open", "overdue"}]
    return sorted(task.on.isoformat() for task in shown)


@pytest.mark.parametrize("grouping", GROUPINGS)
@pytest.mark.parametrize("reader", list(READERS))
def test_expanding_the_calendar_gives_the_plan(quay: Collection, grouping: str, reader: str) -> None:
    """From as_of to the horizon, no day more and none less; what was done and steps are told apart."""
    of = quay.plan(TODAY, grouping="each" if grouping == "each" else "rounds")
    body = written(of).body
    other = {str(c["UID"]) for c in components(body) if {"DONE", "STEP"} & set(c["CATEGORIES"].cats)}
    found = READERS[reader](body, TODAY, of.until + timedelta(days=1))
    assert sorted(day for uid, day in found if uid not in other) == _wanted(of)


def _planned(of: Plan) -> dict[str, object]:
    """Return what the plan says of each plant, or of each care day in rounds."""
    if of.grouping == "rounds":
        return {
            str(r.on): (
                r,
                [replace(of.task(t), status="planned") for t in r.tasks],
                [of.plant(of.task(t).plant).losing for t in r.tasks],  # a mark on the plant's line
            )
            for r in of.rounds
        }
    found: dict[str, object] = {}
    for view in of.plants:
        tasks = [replace(t, status="planned") for t in of.tasks if t.plant == view.number]
        found[view.id] = tasks, [s for s in of.series if s.plant == view.number]
    return found


def _drawn(of: Plan, body: bytes) -> dict[str, list[bytes]]:
    """Return the bytes that are drawn of each plant, or of each care day in rounds; records apart."""
    found: dict[str, list[bytes]] = {}
    for item in components(body):
        if not {"DONE", "STEP"} & set(item["CATEGORIES"].cats):
            key = str(item["DTSTART"].dt if of.grouping == "rounds" else item["X-CARECAL-PLANT"])
            found.setdefault(key, []).append(item.to_ical())
    return found


@pytest.mark.parametrize("grouping", GROUPINGS)
def test_without_an_entry_only_what_the_plan_moved_changes(quay: Collection, grouping: str) -> None:
    """Over a week and a month's end: a plant or care day of which the plan says the same keeps its bytes."""
    options, ledger = CalendarOptions.from_json(f'{{"grouping": "{grouping}"}}'), new_ledger()
    said: dict[str, object] = {}
    drawn: dict[str, list[bytes]] = {}
    compared = 0
    for n in range(8):
        of = quay.plan(TODAY + timedelta(days=n), grouping=options.grouping)
        body = written(of, options, ledger).body
        assert written(of, options, ledger).body == body
        old_said, old_drawn, said, drawn = said, drawn, _planned(of), _drawn(of, body)
        same = [key for key in said if old_said.get(key) == said[key]]
        assert [key for key in same if drawn.get(key) != old_drawn.get(key)] == []
        compared += len(same)
    assert compared > 5


def test_potting_one_plant_leaves_the_others_bytes_alone(quay: Collection) -> None:
    """A changed state changes its own tasks at once, and only those."""
    ledger = new_ledger()
    first = {
        str(c["UID"]): c for c in components(written(quay.plan(TODAY, grouping="each"), ledger=ledger).body)
    }
    _write(quay, TODAY, Potted(on=TODAY, plant="tide", medium="lava", container="net", size_cm=9))
    second = {
        str(c["UID"]): c for c in components(written(quay.plan(TODAY, grouping="each"), ledger=ledger).body)
    }
    moved = {
        str((second.get(uid) or first[uid])["X-CARECAL-PLANT"])
        for uid in first.keys() | second.keys()
        if uid not in first or uid not in second or first[uid].to_ical() != second[uid].to_ical()
    }
    assert moved == {"tide"}


def test_records_of_the_planner_are_worded(quay: Collection) -> None:
    """What was done, and what was looked at and left."""
    _write(quay, TODAY, Potted(on=TODAY, plant="tide", medium="lava", container="net", size_cm=9))
    summaries = {str(c["SUMMARY"]) for c in components(written(quay.plan(TODAY, grouping="each")).body)}
    assert {"✓ Watered Tide", "✓ Looked at and left Gable", "✓ Potted Tide"} <= summaries


def test_plants_taken_up_one_by_one_make_the_calendar_of_all_at_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The bytes do not tell how many plants were planned together, mothers and keikis included."""
    heard: list[int] = []
    now = _now(TODAY)
    with write_demo(tmp_path / "demo", now) as home:
        assert any(record.data.get("on_mother") for record in home.journal.records())
        options = options_of(home, now, grouping="each")
        bodies = set()
        for at_once in (1, 1000):
            monkeypatch.setattr("carecal.app.publish.drafts.PLANTS_AT_ONCE", at_once)
            home.journal.connection.execute("delete from ledger")
            bodies.add(render_calendar(home, options, now, progress=heard.append).body)
    assert len(bodies) == 1
    assert heard == list(range(1, len(heard) // 2 + 1)) * 2
