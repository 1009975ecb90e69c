"""A rhythm has no holes: what changes nothing of a pot's terms takes no day from its rhythm."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import pytest

from carecal.collection.entries import MonthRow, Observed, PlantAdded
from tests.bench import Bench


@pytest.mark.parametrize("place", ["bedroom-sill", "glazed-balcony"])
def test_an_observation_that_changes_nothing_leaves_no_hole_in_the_rhythm(
    bench: Bench, demo_climate: dict[str, tuple[MonthRow, ...]], place: str
) -> None:
    """An observation in mid-month, then a half-month that changes the days: the days between keep their rhythm."""
    bench.place(place, demo_climate[place], date(2025, 1, 1))
    bench.write(
        PlantAdded(
            on=date(2025, 5, 1),
            plant="tide",
            medium="bark",
            container="plastic",
            size_cm=12,
            place=place,
            watered=date(2025, 4, 28),
            stage="established",
            roots=5,
            longest_mm=120,
            leaves=4,
        ),
        Observed(on=date(2025, 6, 9), plant="tide", leaves=5),
        Observed(on=date(2025, 8, 27), plant="tide", leaves=5),
    )
    plant_planner = bench.planner(date(2025, 9, 20)).plant_planners[1]
    holes = {
        (date.fromordinal(a.until), date.fromordinal(b.start))
        for a, b in pairwise(plant_planner.beats.all)
        if b.start != a.until + 1
    }
    gaps = {date.fromordinal(s.start) for s in plant_planner.stretches if s.gap}
    assert len(plant_planner.beats.all) > 2
    assert bool(holes) == bool(
        gaps
    )  # oracle: only a gap that has a name ('cold' on the balcony) may part two rhythms
