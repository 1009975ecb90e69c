"""The other side of a conflict of the trade, taken by one key, switches its step."""

from __future__ import annotations

from datetime import date

import pytest

from carecal.catalog.tables import Catalog
from carecal.collection.entries import PlantAdded, SideTaken
from tests.planning.step_situations import PATIO, START, Climate, build, step_of

ESTABLISHED = {"medium": "bark", "container": "plastic", "size_cm": 12, "stage": "established", "tips": 2,
               "roots": 5, "longest_mm": 120, "leaves": 4}  # fmt: skip


def test_who_stays_indoors_all_year_is_not_asked_out(catalog: Catalog, demo_climate: Climate) -> None:
    """The other side of outdoors-in-summer takes the step away; oracle: sides.csv."""
    bench = build(catalog, demo_climate, ESTABLISHED, place="bedroom-sill")
    bench.write(PATIO)
    assert step_of(bench.planner(date(2026, 6, 1)), "moving-out") is not None
    bench.write(SideTaken(on=START, key="outdoors-in-summer", side="b"))
    assert step_of(bench.planner(date(2026, 6, 1)), "moving-out") is None


@pytest.mark.parametrize(
    ("key", "side", "step", "opens"),
    [
        ("quarantine-length", "a", "ending-quarantine", date(2025, 1, 22)),
        ("quarantine-length", "b", "ending-quarantine", date(2025, 1, 29)),
    ],
)
def test_the_side_taken_moves_the_step(
    catalog: Catalog, demo_climate: Climate, key: str, side: str, step: str, opens: date
) -> None:
    """Three weeks of quarantine or four; oracle: trade-facts D17."""
    bench = build(catalog, demo_climate, {**ESTABLISHED, "came": "2025-01-01"}, place="living-room")
    bench.write(SideTaken.model_validate({"on": START, "key": key, "side": side}))
    found = step_of(bench.planner(date(2025, 1, 5)), step)
    assert found is not None
    assert found.opens == opens


def test_repotting_in_spring_only_ends_at_midsummer(catalog: Catalog, demo_climate: Climate) -> None:
    """The other side of repot-season cuts the window at the solstice; oracle: sides.csv, D12; by the sun's height."""
    bench = build(catalog, demo_climate, {**ESTABLISHED, "potted": "2025-03-01"}, place="bedroom-sill")
    bench.write(SideTaken(on=START, key="repot-season", side="a"))
    step = step_of(bench.planner(date(2026, 5, 1)), "potting-on")
    assert step is not None
    assert step.opens == date(2026, 5, 10)
    assert step.last_safe is not None
    assert abs((step.last_safe - date(2026, 6, 21)).days) <= 2


@pytest.mark.parametrize(
    ("key", "plant", "step", "status"),
    [
        ("spent-spike", {"flowering": "spent"}, "cutting-a-spike", {"a": "wait", "b": "now"}),
        ("convert-as-rescue", {"stage": "rootless", "roots": 0, "longest_mm": 0, "tips": 0, "potted": "2025-01-01"},
         "converting-to-a-reservoir", {"a": "now", "b": "wait"}),
        ("repot-rhythm", {"potted": "2025-06-01"}, "new-medium-due", {"a": "now", "b": "wait"}),
        ("moss-life", {"medium": "moss", "potted": "2025-06-01"}, "new-medium-due", {"a": "now", "b": "wait"}),
    ],
)  # fmt: skip
def test_each_side_of_a_conflict_switches_its_step(
    catalog: Catalog,
    demo_climate: Climate,
    key: str,
    plant: dict[str, object],
    step: str,
    status: dict[str, str],
) -> None:
    """Either side of the trade gives its own answer in warm June; oracle: sides.csv, affects and sides."""
    bench = build(catalog, demo_climate, {**ESTABLISHED, **plant}, place="living-room")
    for side, wanted in status.items():
        bench.write(SideTaken.model_validate({"on": START, "key": key, "side": side}))
        found = step_of(bench.planner(date(2026, 6, 10)), step)
        assert found is not None
        assert found.status == wanted, side


def test_a_keiki_is_parted_at_25_mm_by_the_other_side(catalog: Catalog, demo_climate: Climate) -> None:
    """Oracle: trade-facts D10, the early side."""
    bench = build(catalog, demo_climate, ESTABLISHED, place="bedroom-sill")
    bench.write(PlantAdded(on=START, plant="winch", on_mother="tide", leaves=2, roots=2, longest_mm=30))
    bench.write(SideTaken(on=START, key="keiki-roots", side="a"))
    found = step_of(bench.planner(date(2026, 6, 1)), "parting-a-keiki", 2)
    assert found is not None
    assert found.status == "now"
