"""A quiet day: from one day to the next nothing moves but what the round of the day gives a reason for.

Random plants of all kinds stand at places with cold gaps, some entries are told, then only days pass. Oracle: design
section 2, last paragraph; what may move is listed in `excused`.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any, NamedTuple

from hypothesis import given, settings
from hypothesis import strategies as st

from carecal.app.near.rows import plant_row
from carecal.catalog.load import load_catalog
from carecal.collection.entries import (
    Done,
    Entry,
    Forecast,
    Left,
    MonthRow,
    Observed,
    PlantAdded,
    Potted,
    SettingChanged,
)
from carecal.plan.model import Task
from carecal.planning.planner import Planner
from tests.bench import Bench

CATALOG = load_catalog()
POTS = (("bark", "plastic"), ("moss", "clear-plastic"), ("lava", "net"), ("expanded-clay", "reservoir"))
STAGES = ("established", "rooting-in", "new-tips", "rootless")
START = date(2025, 1, 1)
AHEAD = 130  # days of each plan


class Story(NamedTuple):
    """A collection of one plant: its first day, air, settings, pot, and what is told of it on some days."""

    first: int
    cold_c: int
    warm_c: int
    rh_pct: int
    weekdays: str
    ticking: str
    kind: str
    pot: int
    stage: int
    potted: int | None
    told: tuple[tuple[int, int], ...]


stories = st.builds(
    Story,
    st.integers(0, 364),
    st.integers(-4, 12),
    st.integers(12, 22),
    st.integers(40, 90),
    st.sampled_from(["none", "wed,sat", "sun"]),
    st.sampled_from(["usual", "none", "careful"]),
    st.sampled_from(sorted(CATALOG.profiles)),
    st.integers(0, 3),
    st.integers(0, 3),
    st.none() | st.integers(0, 60),
    st.lists(st.tuples(st.integers(0, 20), st.integers(0, 8)), max_size=3).map(tuple),
)


def _air(cold_c: int, warm_c: int, rh_pct: int) -> tuple[MonthRow, ...]:
    rises = [0, 1, 2, 3, 4, 5, 6, 5, 4, 3, 2, 1]
    nights = (cold_c + (warm_c - cold_c) * rise / 6 for rise in rises)
    return tuple(
        MonthRow(
            month=m,
            day_c=night + 4,
            night_c=night,
            rh_pct=rh_pct,
            air="breezy",
            light_mol_m2_d=2 + rises[m - 1],
        )
        for m, night in enumerate(nights, 1)
    )


def _entry(what: int, day: date) -> Entry:
    return (
        Done(on=day, plant="tide", care="watering"),
        Done(on=day, plant="tide", care="inspection"),
        Observed(on=day, plant="tide", leaves=3),
        Left(on=day, plant="tide", care="watering"),
        Potted(on=day, plant="tide", medium="bark", container="plastic", size_cm=12, watered=False),
        Forecast(on=day, place="porch", day=day + timedelta(days=2), night_c=4),
        Forecast(on=day, place="porch", day=day + timedelta(days=1), day_c=36),
        Observed(on=day, plant="tide", rest="begun"),
        Observed(on=day, plant="tide", rest="over"),
    )[what]


def _told(story: Story) -> tuple[Bench, date]:
    """Return the collection and the day of its last entry."""
    day = START + timedelta(days=story.first)
    bench = Bench(CATALOG, day)
    bench.place("porch", _air(story.cold_c, story.warm_c, story.rh_pct), day)
    bench.write(SettingChanged(on=day, key="weekdays", value=story.weekdays))
    bench.write(SettingChanged(on=day, key="ticking", value=story.ticking))
    medium, container = POTS[story.pot]
    known: dict[str, Any] = {"stage": STAGES[story.stage]}
    if story.potted is not None:
        known["potted"] = day - timedelta(days=story.potted)
    bench.write(
        PlantAdded(
            on=day,
            plant="tide",
            profile=story.kind,
            medium=medium,
            container=container,
            size_cm=12,
            place="porch",
            watered=day - timedelta(days=2),
            **known,
        )
    )
    for gap, what in story.told:
        day += timedelta(days=gap)
        bench.write(_entry(what, day))
    return bench, day


def _planned(planner: Planner) -> list[Task]:
    return [t for t in planner.plan("rounds", with_gates=False).tasks if t.care != "step"]


def _excused(former: list[Task], tasks: list[Task], planner: Planner, day: date) -> bool:
    """Return whether the round of a day says why its tasks may be others than the day before.

    It tells changes of rhythm, of gates and of what is held back; what stands overdue from today is carried over; and
    an open flush that nobody answered counts as plain water, so that the flush stays due (design §3 rule 2).
    """
    row = plant_row(planner, planner.plant_planners[1], day, day + timedelta(days=62)) or {}
    late = {t.id for t in tasks if t.status == "overdue"} - {t.id for t in former if t.status == "overdue"}
    kept = {t.id for t in tasks}
    unflushed = any(t.care == "flushing" and t.status == "open" and t.id not in kept for t in former)
    return bool(row.get("moments") or row.get("rhythms") or row.get("gates") or late or unflushed)


@settings(max_examples=12, deadline=None)
@given(stories, st.integers(0, 120), st.integers(3, 6))
def test_nothing_moves_on_a_quiet_day_without_a_reason(story: Story, later: int, days: int) -> None:
    """What is planned after tomorrow keeps its id, day and care overnight, and nothing joins it."""
    bench, day = _told(story)
    day += timedelta(days=later)
    until = day + timedelta(days=AHEAD)
    former = _planned(bench.planner(day, until))
    for _ in range(days):
        day += timedelta(days=1)
        planner = bench.planner(day, until)
        tasks = _planned(planner)
        if not _excused(former, tasks, planner, day):
            before, after = (
                {(t.id, t.on, t.care) for t in plan if t.status == "planned" and t.on > day}
                for plan in (former, tasks)
            )
            assert after == before
        former = tasks


def test_no_flush_falls_into_the_days_of_settling_by_its_care_day() -> None:
    """Due on 2 April, day 42 after the potting, and done on Tuesday the 1st, day 41: still settling, so no flush."""
    entered = date(2025, 3, 3)
    potted = entered - timedelta(days=12)
    bench = Bench(CATALOG, entered)
    bench.place("porch", _air(18, 22, 50), entered)
    bench.write(SettingChanged(on=entered, key="weekdays", value="tue,fri"))
    bench.write(
        PlantAdded(
            on=entered,
            plant="tide",
            medium="bark",
            container="plastic",
            size_cm=9,
            place="porch",
            stage="established",
            potted=potted,
            watered=entered - timedelta(days=1),
        )
    )
    for day in (entered, entered + timedelta(days=1)):
        bench.write(Done(on=day, plant="tide", care="feeding"))
    planned = bench.planner(entered + timedelta(days=1), entered + timedelta(days=60)).plan("rounds").tasks
    assert [t.due for t in planned if t.on == date(2025, 4, 1) and t.care != "inspection"] == [
        date(2025, 4, 2)
    ]
    flushes = [t.on for t in planned if t.care == "flushing"]
    assert flushes
    assert min(flushes) >= potted + timedelta(days=42)
