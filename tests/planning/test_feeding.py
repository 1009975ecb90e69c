"""Which wettings are fed and which flush: the published slots, each rule at its edge, and the strength of a feed."""

from __future__ import annotations

import csv
import json
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carecal.collection.entries import (
    Done,
    Observed,
    Paused,
    PlantAdded,
    SideTaken,
    SupplyFertiliser,
)
from carecal.planning.wettings.feeding import CareRules, Tally, care_of_slot, counted, takes

if TYPE_CHECKING:
    from carecal.collection.entries import MonthRow
    from tests.bench import Bench

    Climates = dict[str, tuple[MonthRow, ...]]

TABLE = Path(__file__).parent.parent / "published" / "tables" / "checks_rhythm.csv"
with TABLE.open(encoding="utf-8", newline="") as _file:
    SLOTS = [row for row in csv.DictReader(_file) if row["function"] == "slots"]


def test_all_four_rows_of_slots_are_read() -> None:
    """The table has RHY07 to RHY10; the other rows are rhythms of a year."""
    assert [row["id"] for row in SLOTS] == ["RHY07", "RHY08", "RHY09", "RHY10"]


def _day(text: str | None, default: int) -> int:
    return date.fromisoformat(text).toordinal() if text else default


@pytest.mark.parametrize("row", SLOTS, ids=[row["id"] for row in SLOTS])
def test_slots_carry_the_published_cares(row: dict[str, str]) -> None:
    """Feeds and flushes ride on the slots as published; oracle: checks_rhythm.csv (models I6)."""
    told = json.loads(row["inputs"])
    every, first = told["every_days"], _day(told["first_slot"], 0)
    opens, shuts = _day(told["feed_gate_opens"], 0), _day(told["feed_gate_shuts"], 9**9)
    tally = Tally(
        _day(told["flush_due"], 0) - told["flush_days"],
        _day(told["feed_due"], 0) - told["feed_days"],
        told["feeds_since_flush"],
    )
    found = []
    for n in range(told["count"]):
        slot = first + n * every
        rules = CareRules(
            told["flush_days"],
            told["feed_days"],
            told["feed_run_max"],
            may_flush=True,
            may_feed=opens <= slot < shuts,
        )
        care = care_of_slot(slot, slot + every, tally, rules) or "watering"
        tally = counted(tally, care, slot)
        found.append(f"{date.fromordinal(slot)} {care}")
    assert "; ".join(found) == row["expected"]


OPEN = CareRules(30, 14, 3, may_flush=True, may_feed=True)
EVERY_FOURTH = CareRules(30, 14, 3, may_flush=True, may_feed=True, every_nth_flush=4)


@pytest.mark.parametrize(
    ("slot", "following", "due", "taken", "reason"),
    [
        (10, 17, 10, True, "on the day"),
        (10, 17, 13, True, "nearer to this slot than to the next"),
        (10, 16, 13, True, "as near to both: the earlier one takes it"),
        (10, 17, 14, False, "nearer to the next"),
        (20, 27, 13, True, "past it"),
    ],
)
def test_a_date_takes_the_nearest_slot(slot: int, following: int, due: int, taken: bool, reason: str) -> None:
    """A date takes a slot at least as near to it as the next one, or past it (models I6); by hand."""
    assert takes(slot, following, due) is taken, reason


@pytest.mark.parametrize(
    ("tally", "rules", "care", "reason"),
    [
        (Tally(0, 20, 2), OPEN, "flushing", "30 days and two feeds: a flush goes before a feed"),
        (Tally(0, 20, 1), OPEN, "", "one feed only: three times its days"),
        (Tally(0, 10, 1), OPEN, "feeding", "14 days since the feed"),
        (Tally(-61, 20, 0), OPEN, "flushing", "91 days without any feed"),
        (Tally(0, 10, 2, 3), CareRules(0, 14, 3, may_flush=True, may_feed=True), "", "three fed running: clear water"),
        (Tally(0, None), OPEN, "feeding", "never fed: at once"),
        (Tally(0, 10, 2), CareRules(30, 14, 3, may_flush=False, may_feed=True), "feeding", "settling: no flush"),
        (Tally(0, 10, 2), CareRules(30, 0, 3, may_flush=False, may_feed=True), "", "0 days: no feed"),
        (Tally(25, 20, 0), CareRules(30, 14, 3, may_flush=True, may_feed=True, flush_due_by_salt=True), "flushing",
         "the salts ask for it, earlier than the days"),
        (Tally(25, 20, 0), CareRules(0, 14, 3, may_flush=True, may_feed=True, flush_due_by_salt=True), "",
         "nothing to flush in bare roots"),
        (Tally(0, 25, 2, wettings_since_flush=2), EVERY_FOURTH,
         "", "the third wetting of four"),
        (Tally(25, 25, 0, wettings_since_flush=3), EVERY_FOURTH,
         "flushing", "the fourth wetting"),
    ],
)  # fmt: skip
def test_a_slot_carries_what_is_due(tally: Tally, rules: CareRules, care: str, reason: str) -> None:
    """Each rule of models I6 at its edge, on day 30 with the next slot on day 37; by hand."""
    assert care_of_slot(30, 37, tally, rules) == care, reason


@given(
    days=st.lists(st.integers(1, 21), min_size=2, max_size=40),
    feed=st.integers(0, 40),
    flush=st.integers(0, 90),
)
def test_feeding_never_adds_or_moves_a_wetting(days: list[int], feed: int, flush: int) -> None:
    """Whatever is due, each slot carries exactly one care, and a shut gate makes none of them a feed."""
    tally, slot = Tally(0), 0
    for step in days:
        slot += step
        rules = CareRules(flush, feed, 3, may_flush=True, may_feed=False)
        care = care_of_slot(slot, slot + step, tally, rules)
        assert care in {"", "flushing"}
        tally = counted(tally, care or "watering", slot)


def test_an_assumed_flush_leaves_the_flush_due() -> None:
    """An assumed flush counts as plain water, a real one starts the count anew (models S6)."""
    tally = Tally(0, 20, 2, 1)
    assert counted(tally, "flushing", 30, assumed=True).last_flush == 0
    assert counted(tally, "flushing", 30).last_flush == 30
    assert counted(tally, "flushing", 30).feeds_since_flush == 0
    assert counted(tally, "feeding", 30, assumed=True).feeds_since_flush == 3


START = date(2025, 5, 1)


def fed(bench: Bench, demo_climate: Climates, **more: object) -> Bench:
    """Return an established plant on the bedroom sill."""
    bench.place("bedroom-sill", demo_climate["bedroom-sill"], date(2025, 1, 1))
    values = {
        "on": START,
        "plant": "tide",
        "medium": "bark",
        "container": "plastic",
        "size_cm": 12,
        "place": "bedroom-sill",
        "stage": "established",
        "watered": START,
        **more,
    }
    return bench.write(PlantAdded.model_validate(values))


def strengths(bench: Bench, as_of: date = START) -> set[float | None]:
    """Return the strengths of the feeds of the coming 90 days."""
    plan = bench.planner(as_of).plan("each")
    return {t.ppm_n for t in plan.tasks if t.care == "feeding" and t.on <= as_of + timedelta(days=90)}


@pytest.mark.parametrize(
    ("more", "ppm", "reason"),
    [
        ({}, 100.0, "stage and kind alike"),
        ({"stage": "rooting-in"}, 60.0, "the stage bears less than the kind"),
        ({"flowering": "in-spike"}, 60.0, "0.6 in spike"),
        ({"flowering": "terminal-spike"}, 50.0, "half with a terminal spike"),
    ],
)
def test_the_weakest_claim_decides_the_strength(
    bench: Bench, demo_climate: Climates, more: dict[str, object], ppm: float, reason: str
) -> None:
    """The smallest of stage and kind, times the factor of the state; oracle: stages.csv, states.csv (models F2)."""
    assert strengths(fed(bench, demo_climate, **more)) == {ppm}, reason


def test_no_feed_is_stronger_than_its_label(bench: Bench, demo_climate: Climates) -> None:
    """A label of 0.4 g/L of 20 % allows 80 mg/L of N, by hand (models F1, F2)."""
    fed(bench, demo_climate)
    label = SupplyFertiliser(
        on=START, name="Quay feed", n_pct=20, p2o5_pct=20, k2o_pct=20, label_rate_g_per_l=0.4
    )
    assert strengths(bench.write(label)) == {80.0}


def test_the_first_feed_after_a_pause_is_weak(bench: Bench, demo_climate: Climates) -> None:
    """35 mg/L of N once, then as before (design §3 rule 16)."""
    fed(bench, demo_climate)
    bench.write(Done(on=START, plant="tide", care="feeding"))
    bench.write(
        Paused(on=START, care="feeding", start=START + timedelta(days=1), until=START + timedelta(days=60))
    )
    plan = bench.planner(START).plan("each")
    feeds = [t for t in plan.tasks if t.care == "feeding"]
    assert feeds[0].on > START + timedelta(days=60)
    assert [t.ppm_n for t in feeds[:3]] == [35.0, 100.0, 100.0]


def test_pausing_feeding_removes_no_wetting(bench: Bench, demo_climate: Climates) -> None:
    """The same days are wetted, paused or not (design §3 rule 7)."""
    fed(bench, demo_climate)
    before = {(t.id, t.on) for t in bench.planner(START).plan("each").tasks}
    bench.write(Paused(on=START, care="feeding", start=START))
    plan = bench.planner(START).plan("each")
    assert {(t.id, t.on) for t in plan.tasks} == before
    assert not [t for t in plan.tasks if t.care == "feeding"]


def test_feeding_in_bloom_goes_on_weakly_for_those_who_say_so(bench: Bench, demo_climate: Climates) -> None:
    """Side b of feeding-in-bloom opens the gate, as weak as in spike; side a feeds nothing (sides.csv)."""
    fed(bench, demo_climate)
    bench.write(Observed(on=START, plant="tide", flowering="in-bloom"))
    assert strengths(bench) == set()
    bench.write(SideTaken(on=START, key="feeding-in-bloom", side="b"))
    assert strengths(bench) == {60.0}


def test_every_fourth_wetting_is_a_flush_for_those_who_say_so(bench: Bench, demo_climate: Climates) -> None:
    """Side b of flush-rhythm counts wettings, not days (sides.csv)."""
    fed(bench, demo_climate)
    bench.write(SideTaken(on=START, key="flush-rhythm", side="b"))
    cares = [t.care for t in bench.planner(START).plan("each").tasks if t.care != "inspection"]
    assert [at for at, care in enumerate(cares[:16], 1) if care == "flushing"] == [4, 8, 12, 16]
