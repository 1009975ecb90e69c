"""The side taken on reservoirs counts for all plants, for one profile or for one plant alone."""

from __future__ import annotations

from datetime import date

import pytest

from carecal.catalog.tables import Catalog
from carecal.collection.entries import PlantAdded, SideTaken
from tests.bench import Bench, demo_climates

START = date(2026, 6, 1)
PLANTS = ("buoy", "cleat")


def days_of(bench: Bench) -> dict[str, int]:
    """Return the days between fillings that are in force on the first day, by plant."""
    rhythms = bench.planner(START).plan("each").rhythms
    return {PLANTS[rhythm.plant - 1]: rhythm.days for rhythm in reversed(rhythms)}


@pytest.mark.parametrize(
    ("taken", "waiting"),
    [
        ({}, set()),
        ({"plants": ["buoy"]}, {"buoy"}),
        ({"profile": "phalaenopsis"}, {"buoy", "cleat"}),
        ({"profile": "cattleya"}, set()),
        ({"plants": ["buoy"], "side": "a"}, set()),
    ],
    ids=["nobody", "one plant", "its profile", "another profile", "the side taken anyway"],
)
def test_waiting_until_empty_stretches_only_who_takes_that_side(
    catalog: Catalog, taken: dict[str, object], waiting: set[str]
) -> None:
    """Waiting makes a filling last half as long again, for nobody else; oracle: sides.csv D9, worked by hand."""
    bench = Bench(catalog, START).place("living-room", demo_climates()["living-room"], START)
    for name in PLANTS:
        bench.write(
            PlantAdded(
                on=START,
                plant=name,
                medium="expanded-clay",
                container="reservoir",
                size_cm=12,
                place="living-room",
                roots=6,
                longest_mm=120,
                leaves=4,
                watered=START,
            )
        )
    before = days_of(bench)
    if taken:
        bench.write(SideTaken.model_validate({"on": START, "key": "reservoir", "side": "b", **taken}))
    after = days_of(bench)
    assert {name for name, days in after.items() if days > before[name]} == waiting
    for name in waiting:
        assert after[name] == pytest.approx(1.5 * before[name], abs=1)
