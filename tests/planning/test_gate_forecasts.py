"""A shut gate of feeding says in which range of days it is forecast to open, where no calendar tells it."""

from __future__ import annotations

from datetime import date

from carecal.catalog.tables import Catalog
from carecal.collection.entries import Observed
from carecal.plan.model import Gate
from tests.bench import Bench
from tests.planning.step_situations import START, Climate, build

ROOTED = {"medium": "bark", "container": "plastic", "size_cm": 12, "stage": "established", "roots": 5,
          "longest_mm": 120, "leaves": 5}  # fmt: skip


def gate(bench: Bench, name: str, on: date) -> Gate:
    """Return a gate of the only plant as it is reported on a day."""
    return next(gate for gate in bench.planner(on).plan("rounds").gates if gate.gate == name)


def forecast(found: Gate) -> str:
    """Return what a gate is forecast to do, '' for nothing."""
    return next((reason.text for reason in found.because if reason.code == "forecast"), "")


def test_the_gate_of_the_stage_is_forecast_by_the_growth_of_the_longest_root(
    catalog: Catalog, demo_climate: Climate
) -> None:
    """A root of 10 mm needs 20 mm at 1 to 3 mm a day: 7 to 20 days; oracle: models G4, by hand."""
    plant = {
        "medium": "bark",
        "container": "plastic",
        "size_cm": 9,
        "roots": 2,
        "longest_mm": 10,
        "leaves": 3,
    }
    bench = build(catalog, demo_climate, plant, place="living-room")
    found = gate(bench, "stage", START)
    assert not found.open
    assert forecast(found).startswith(
        "forecast: longest root 30 mm between 7 January 2025 and 21 January 2025"
    )


def test_a_root_that_was_never_measured_is_asked_for(catalog: Catalog, demo_climate: Climate) -> None:
    """Without a length nothing can be forecast, and the gate says what would tell; oracle: by hand."""
    plant = {"medium": "bark", "container": "plastic", "size_cm": 9, "stage": "new-tips", "leaves": 3}
    bench = build(catalog, demo_climate, plant, place="living-room")
    assert forecast(gate(bench, "stage", START)) == "measure the longest root, and a date can be told"


def test_the_gate_of_bloom_is_forecast_by_how_long_flowers_last(
    catalog: Catalog, demo_climate: Climate
) -> None:
    """Open on 1 March, Phalaenopsis flowers last 3 to 6 months; oracle: trade-facts P10."""
    bench = build(catalog, demo_climate, ROOTED, place="living-room")
    bench.write(Observed(on=date(2025, 3, 1), plant="tide", flowering="in-bloom"))
    found = gate(bench, "bloom", date(2025, 3, 10))
    assert not found.open
    assert "1 June 2025 to 1 September 2025" in forecast(found)


def test_an_open_gate_forecasts_nothing(catalog: Catalog, demo_climate: Climate) -> None:
    """What is open needs no forecast; oracle: by hand."""
    bench = build(catalog, demo_climate, ROOTED, place="living-room")
    assert not [
        found for found in bench.planner(START).plan("rounds").gates if found.open and forecast(found)
    ]
