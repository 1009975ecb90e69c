"""Pause: no feed from November to February, every year; what was a feed is a plain wetting on the same day."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

from carecal.app import Collection
from carecal.plan.model import Grouping, Plan, Task
from tests.stories.conftest import Say
from tests.stories.quay import TODAY

FIRST, LAST = date(2026, 11, 1), date(2027, 2, 28)
PAUSE = (
    "--as-of", str(TODAY), "pause", "feeding", "--from", "1 November", "--until", "28 February", "--every-year",
)  # fmt: skip
PLAIN = {"watering", "refilling"}
WETTINGS = {*PLAIN, "feeding", "flushing"}


def plan_of(folder: Path, day: date = TODAY, grouping: Grouping = "rounds") -> Plan:
    """Return the plan of a day."""
    with Collection.open(folder) as collection:
        return collection.plan(day, grouping=grouping)


def wettings(plan: Plan) -> list[Task]:
    """Return the wettings of a plan, by day and plant."""
    return [task for task in plan.tasks if task.care in WETTINGS]


def inside(task: Task) -> bool:
    """Return whether a task is due in the span, both ends included."""
    return FIRST <= task.due <= LAST


def test_each_feed_of_the_span_is_a_plain_wetting_on_the_same_day(quay: Path, say: Say) -> None:
    """The grower feeds before and after, and nothing in between.

    A flush for the salts of the water alone, three times its days after the last one (models I6), may fall on a day
    that was a feed; no other care does.
    """
    before = plan_of(quay)
    fed = [(task.plant, task.on) for task in wettings(before) if task.care == "feeding" and inside(task)]
    assert len(fed) > 5
    say(*PAUSE)
    after = {(task.plant, task.on): task.care for task in wettings(plan_of(quay))}
    flushed = [of_feed for of_feed in fed if after[of_feed] == "flushing"]
    assert {after[of_feed] for of_feed in fed if of_feed not in flushed} <= PLAIN
    assert len(flushed) <= 2
    assert not [task for task in wettings(plan_of(quay)) if task.care == "feeding" and inside(task)]
    assert [task.care for task in wettings(plan_of(quay)) if task.care == "feeding"]


def test_no_wetting_disappears(quay: Path, say: Say) -> None:
    """The days on which each pot is wetted are the same to the horizon, in both groupings."""
    before = {
        way: [(t.plant, t.on) for t in wettings(plan_of(quay, grouping=way))] for way in ("rounds", "each")
    }
    say(*PAUSE)
    after = {
        way: [(t.plant, t.on) for t in wettings(plan_of(quay, grouping=way))] for way in ("rounds", "each")
    }
    assert after == before


def test_afterwards_feeding_returns_weakly_and_as_gates_allow(quay: Path, say: Say) -> None:
    """Each plant's first feed after the pause has 35 ppm N; none comes while a gate is shut."""
    say(*PAUSE)
    plan = plan_of(quay)
    firsts: dict[int, Task] = {}
    for task in wettings(plan):
        if task.care == "feeding" and task.due > LAST:
            firsts.setdefault(task.plant, task)
    assert firsts
    assert {task.ppm_n for task in firsts.values()} == {35.0, 30.0}  # half of 60 where March is still dim
    winch = next(view.number for view in plan.plants if view.id == "winch")
    assert winch not in firsts  # rootless: its gate stays shut


def test_the_grower_is_told(say: Say) -> None:
    """The consequences count what turned; the list has both days as they were said."""
    short = say(*PAUSE, "--try")
    assert any(
        re.fullmatch(r"\d+ feeds of November to February 2027 became plain water\.", line) for line in short
    )
    told = "\n".join(say(*PAUSE, "--all"))
    assert "turned from feeding to watering on the same day" in told
    assert "added" not in told
    assert "dropped" not in told
    assert say("--as-of", str(TODAY), "pause", "list")[0].endswith(
        "feeding of all plants, every year from 1 November to 28 February, both included"
    )


def test_resume_ends_this_years_only(quay: Path, say: Say) -> None:
    """In December it goes on again; the November after that it rests again."""
    say(*PAUSE)
    say("--as-of", "2026-12-02", "resume", "feeding")
    with Collection.open(quay) as collection:
        facts = collection.planner(date(2026, 12, 2)).plant_planners
        open_now = {
            n: plant_planner.gates.is_open(date(2026, 12, 2).toordinal())
            for n, plant_planner in facts.items()
        }
        shut_later = {
            n: "pause" in plant_planner.gates.shut_on(date(2027, 11, 1).toordinal())
            for n, plant_planner in facts.items()
        }
        between = {
            n: "pause" in plant_planner.gates.shut_on(date(2027, 10, 31).toordinal())
            for n, plant_planner in facts.items()
        }
    assert any(open_now.values())
    assert all(shut_later.values())
    assert not any(between.values())
