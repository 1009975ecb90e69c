"""What an entry changes in the steps of a plant is said with what it changes in the plan."""

from __future__ import annotations

from carecal.app.consequences import differences
from carecal.catalog.load import load_catalog
from carecal.collection.entries import SideTaken
from tests.bench import demo_climates
from tests.planning.step_situations import START, build

APART = {"medium": "bark", "container": "plastic", "size_cm": 12, "stage": "established", "tips": 0, "roots": 5,
         "longest_mm": 120, "leaves": 4, "came": "2025-01-01"}  # fmt: skip


def test_a_shorter_quarantine_is_said_with_both_dates() -> None:
    """Three weeks from 1 January, not four; oracle: trade-facts D17."""
    bench = build(load_catalog(), demo_climates(), APART, place="living-room")
    before = bench.planner(START).plan("rounds")
    bench.write(SideTaken(on=START, key="quarantine-length", side="a"))
    (line,) = differences(before, bench.planner(START).plan("rounds"))
    assert (
        line == "Tide: step ending quarantine: wait, opens 22 January 2025, was: wait, opens 29 January 2025"
    )
