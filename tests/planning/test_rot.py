"""The course of rot: days without water, from below, without feed, looks; oracle: rot_courses.toml and by hand."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from carecal.catalog.tables import Catalog
from carecal.collection.entries import MonthRow, Observed, Potted
from carecal.planning.forecasts.growth import leaf_of
from carecal.planning.forecasts.spike import spike_of
from carecal.planning.sick.rot import does_now, is_answered, rots_of
from tests.bench import Bench
from tests.planning.step_situations import build, desk_on, step_of

GROWN = {"medium": "bark", "container": "plastic", "size_cm": 12, "stage": "established", "roots": 5,
         "longest_mm": 120, "tips": 2, "leaves": 4, "potted": "2024-03-01"}  # fmt: skip
FOUND = date(2025, 1, 10)
WETTINGS = frozenset({"watering", "feeding", "flushing"})
YEAR = {
    "room": tuple(
        MonthRow(month=m, day_c=22, night_c=22, rh_pct=50, air="room", light_mol_m2_d=4) for m in range(1, 13)
    )
}


def rotten(catalog: Catalog, where: Any, **plant: object) -> Bench:
    """Return a plant in a warm light room with rot found on the tenth of January."""
    bench = build(catalog, YEAR, {**GROWN, **plant}, place="room")
    return bench.write(Observed(on=FOUND, plant="tide", seen="rot", where=where))


@pytest.mark.parametrize("where", ["crown", "stem", "leaf"])
@pytest.mark.parametrize("grouping", ["rounds", "each"])
def test_after_a_find_it_stays_dry_then_water_comes_from_below_and_no_feed(
    catalog: Catalog, where: str, grouping: str
) -> None:
    """Three days dry, 90 from below, 28 unfed; others before and after are as usual (our choice, HONOLULU)."""
    planner = rotten(catalog, where).planner(FOUND)
    tasks = [t for t in planner.plan("each" if grouping == "each" else "rounds").tasks if t.care in WETTINGS]
    assert min(t.on for t in tasks) >= FOUND + timedelta(days=3)
    below = [t for t in tasks if t.due < FOUND + timedelta(days=90)]
    assert below
    assert {t.technique for t in below} == {"from-below"}
    assert "from-below" not in {t.technique for t in tasks if t.due >= FOUND + timedelta(days=90)}
    assert not [t for t in tasks if t.care == "feeding" and t.due < FOUND + timedelta(days=28)]
    assert not [t for t in below if t.care == "flushing"]
    assert [t for t in tasks if t.care == "feeding"]


@pytest.mark.parametrize(("stage", "days"), [("established", 5), ("rooting-in", 5), ("new-tips", 2)])
def test_root_rot_is_potted_now_and_stays_dry_after_it(catalog: Catalog, stage: str, days: int) -> None:
    """At once whatever the season, then 5 dry days, 2 for a plant nearly without roots (rot_courses.toml)."""
    bench = rotten(catalog, "root", stage=stage)
    step = step_of(bench.planner(FOUND), "potting-on")
    assert step is not None
    assert step.status == "now"
    potted = FOUND + timedelta(days=1)
    bench.write(
        Potted(on=potted, plant="tide", medium="bark", container="plastic", size_cm=12, watered=False)
    )
    tasks = [t for t in bench.planner(potted).plan("each").tasks if t.care in WETTINGS]
    assert min(t.on for t in tasks) >= potted + timedelta(days=days)


def test_looks_come_daily_then_every_second_and_fourth_day(catalog: Catalog) -> None:
    """Daily to day 7, every 2 to day 14, every 4 to day 30 while each look is answered clean (our choice)."""
    bench = rotten(catalog, "crown")
    looked, day = [], FOUND
    for _ in range(20):
        look = min(
            (t for t in bench.planner(day).plan("rounds").tasks if t.care == "inspection" and t.on > day),
            key=lambda task: task.due,
        )
        day = look.due
        bench.write(Observed(on=day, plant="tide"))
        looked.append((day - FOUND).days)
    assert looked[:7] == [1, 2, 3, 4, 5, 6, 7]
    assert looked[7:10] == [9, 11, 13]
    assert looked[10:14] == [17, 21, 25, 29]


@pytest.mark.parametrize(("where", "clean"), [("crown", 30), ("leaf", 14)])
def test_it_is_over_after_clean_days_and_a_find_begins_anew(catalog: Catalog, where: Any, clean: int) -> None:
    """On watch until the day before; found again, the count starts there."""
    bench = rotten(catalog, where)
    for days in range(1, clean):
        bench.write(Observed(on=FOUND + timedelta(days=days), plant="tide"))
    last, over = FOUND + timedelta(days=clean - 1), FOUND + timedelta(days=clean)
    seen = [bench.planner(day).plan("each").plant(1).states for day in (last, over)]
    assert [("pest-watch" in states) for states in seen] == [True, False]
    bench.write(Observed(on=over, plant="tide", seen="rot", where=where))
    tasks = [t for t in bench.planner(over).plan("each").tasks if t.care in WETTINGS]
    assert min(t.on for t in tasks) >= over + timedelta(days=3)


def test_no_spike_is_promised_and_no_conversion_while_it_is_open(catalog: Catalog) -> None:
    """Advice that would harm waits (rot_courses.toml bars)."""
    bench = rotten(catalog, "crown")
    assert spike_of(desk_on(bench, FOUND)) is None
    step = step_of(bench.planner(FOUND), "converting-to-a-reservoir")
    assert step is not None
    assert step.status == "wait"
    assert "rot at the crown" in step.because[0].text
    assert spike_of(desk_on(bench, FOUND + timedelta(days=31))) is not None


def test_a_find_without_a_place_in_an_old_journal_changes_no_wetting(catalog: Catalog) -> None:
    """Old journals fold as before: watched and cautioned, the wettings as they were."""
    plain = build(catalog, YEAR, GROWN, place="room").write(Observed(on=FOUND, plant="tide"))
    days = [
        [(t.due, t.technique) for t in bench.planner(FOUND).plan("each").tasks if t.care in WETTINGS]
        for bench in (plain, rotten(catalog, None))
    ]
    assert days[0] == days[1]


def test_looks_at_a_fresh_rot_wait_for_no_wetting(catalog: Catalog) -> None:
    """Each of the first seven days has its own look, also where the round goes out on another day (our choice)."""
    bench = rotten(catalog, "crown")
    looked = {t.on for t in bench.planner(FOUND).plan("rounds").tasks if t.care == "inspection"}
    assert {FOUND + timedelta(days=n) for n in range(1, 8)} <= looked


@pytest.mark.parametrize(
    ("where", "said"), [("crown", True), ("stem", True), ("leaf", False), ("root", False)]
)
def test_a_third_find_is_told_as_lost_of_crown_and_stem_alone(
    catalog: Catalog, where: Any, *, said: bool
) -> None:
    """Rescue facts: after a second cut again look for a basal shoot; a leaf cut thrice loses nobody its crown."""
    told = does_now(catalog.rot_courses[where], 3)
    assert ("probably lost" in told) is said
    assert told.count("a shoot from the base") == int(said)
    assert "probably lost" not in does_now(catalog.rot_courses[where], 2)


def test_a_lost_crown_answers_the_rot_that_took_it(catalog: Catalog) -> None:
    """Nobody cuts a crown that is gone: what is to be done now leaves the top, the dry days stay."""
    bench = rotten(catalog, "crown")
    lost = FOUND + timedelta(days=1)
    state = bench.planner(FOUND).plant_planners[1].line.state_at(FOUND.toordinal())
    assert not is_answered(next(rots_of(state, catalog)), state)
    bench.write(Observed(on=lost, plant="tide", crown="lost"))
    state = bench.planner(lost).plant_planners[1].line.state_at(lost.toordinal())
    assert is_answered(next(rots_of(state, catalog)), state)
    wet = [t.on for t in bench.planner(lost).plan("each").tasks if t.care in WETTINGS]
    assert min(wet) >= FOUND + timedelta(days=3)


def test_no_count_and_no_leaf_is_asked_of_a_rotting_plant(catalog: Catalog) -> None:
    """While rot is open a look asks for rot alone, and no new leaf is foretold."""
    bench = rotten(catalog, "crown", tips=None)
    asks = [t.asks for t in bench.planner(FOUND).plan("each").tasks if t.care == "inspection"]
    assert "rot again?" in asks[0]
    assert not [text for text in asks if "count" in text and "rot again?" in text]
    assert leaf_of(desk_on(bench, FOUND)) is None
    assert leaf_of(desk_on(bench, FOUND + timedelta(days=31))) is not None
