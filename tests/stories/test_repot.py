"""Repot: Tide goes from bark into lava in a small net pot; only Tide's care changes, and the grower is told how."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from icalendar import Calendar

from carecal.app import Collection
from carecal.app.publish.calendars import options_of, render_calendar
from carecal.plan.model import Plan
from tests.stories.conftest import Say
from tests.stories.quay import TIDE, TODAY, moment

REPOT = ("--as-of", str(TODAY), "pot", TIDE, "--medium", "lava", "--container", "net", "--size", "9", "--yes")


def plan_and_parts(folder: Path) -> tuple[Plan, dict[str, tuple[str, bytes]]]:
    """Return the plan and, by UID, plant and bytes of each component of the calendar."""
    with Collection.open(folder) as collection:
        options = options_of(collection, moment(TODAY), grouping="each")
        body = render_calendar(collection, options, moment(TODAY)).body
        plan = collection.plan(TODAY, grouping="each")
    chunks = body.split(b"BEGIN:VEVENT\r\n")[1:]
    events = [b"BEGIN:VEVENT\r\n" + chunk.split(b"END:VEVENT\r\n")[0] + b"END:VEVENT\r\n" for chunk in chunks]
    parsed = {str(event["UID"]): str(event["X-CARECAL-PLANT"]) for event in Calendar.from_ical(body).events}
    by_uid = {event.split(b"UID:")[1].split(b"\r\n")[0].decode(): event for event in events}
    assert set(by_uid) == set(parsed)
    return plan, {uid: (parsed[uid], by_uid[uid]) for uid in by_uid}


def test_only_tides_tasks_change_from_that_day(quay: Path, say: Say) -> None:
    """Every other plant's tasks stay; Tide's are of its second potting."""
    before, _ = plan_and_parts(quay)
    say(*REPOT)
    after, _ = plan_and_parts(quay)
    tide = next(view.number for view in after.plants if view.id == TIDE)
    assert [t for t in after.tasks if t.plant != tide] == [t for t in before.tasks if t.plant != tide]
    wettings = [t for t in after.tasks if t.plant == tide and t.care != "inspection"]
    assert {t.potting for t in wettings} == {2}
    assert min(t.due for t in wettings) > TODAY


def test_every_other_plants_component_keeps_its_bytes(quay: Path, say: Say) -> None:
    """A phone downloads new bytes for Tide alone."""
    _, before = plan_and_parts(quay)
    say(*REPOT)
    _, after = plan_and_parts(quay)
    others = {uid: part for uid, part in before.items() if part[0] != TIDE}
    assert len(others) > 100
    assert {uid: part for uid, part in after.items() if part[0] != TIDE} == others
    assert {uid: p for uid, p in after.items() if p[0] == TIDE} != {
        uid: p for uid, p in before.items() if p[0] == TIDE
    }


def test_settling_rules_apply(quay: Path, say: Say) -> None:
    """No flush for 42 days, no feed for 21, and the rhythm says that it settles in."""
    say(*REPOT)
    plan, _ = plan_and_parts(quay)
    tide = next(view for view in plan.plants if view.id == TIDE)
    mine = [task for task in plan.tasks if task.plant == tide.number]
    assert "settling" in tide.states
    assert min(task.due for task in mine if task.care == "flushing") >= TODAY + timedelta(days=42)
    assert min(task.due for task in mine if task.care == "feeding") >= TODAY + timedelta(days=21)
    rhythm = next(r for r in plan.rhythms if r.plant == tide.number)
    assert {"settling": 1.2}.items() <= {reason.code: reason.value for reason in rhythm.reasons}.items()


def test_the_consequences_say_so(say: Say) -> None:
    """The lines printed name the new rhythm with its reason and the gate that shuts; at most four of them."""
    lines = say(*REPOT)
    text = "\n".join(lines)
    assert lines[0] == "Tide: potted into lava in 9 cm net."
    assert len(lines) <= 4
    assert "Tide: watering every" in text
    assert "lava in a 9 cm net pot, settling in" in text
    assert "no feed for 21 days after potting" in text
    assert "no feed until Wednesday 11 November: " in text
    for other in ("Gable", "Pebble", "Winch", "Lantern"):
        assert other not in text


def test_a_trial_says_the_same_and_writes_nothing(quay: Path, say: Say) -> None:
    """`--try` shows the change alone."""
    before, _ = plan_and_parts(quay)
    trial = say(*REPOT, "--try")
    assert plan_and_parts(quay)[0] == before
    assert say(*REPOT) == trial[1:]
