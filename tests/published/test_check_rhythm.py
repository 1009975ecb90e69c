"""RHY01-RHY06 of checks_rhythm.csv through the planner: rhythms of a year at the places of climate_demo.csv."""

from __future__ import annotations

import csv
import json
from datetime import date, timedelta
from pathlib import Path

import pytest

from carecal.catalog.load import load_catalog
from carecal.catalog.tables import Catalog
from carecal.collection.entries import CollectionStarted, MonthRow, PlaceAdded, PlantAdded
from carecal.collection.records import Record
from carecal.collection.timeline import fold
from carecal.planning.plan_context import PlanContext
from carecal.planning.planner import Planner

TABLES = Path(__file__).parent / "tables"


def _rows(name: str) -> list[dict[str, str]]:
    with (TABLES / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


CHECKS = [row for row in _rows("checks_rhythm.csv") if row["function"] == "rhythm_of_year"]


@pytest.fixture(scope="module")
def catalog() -> Catalog:
    """Return the project's own catalog."""
    return load_catalog()


def _climate(place: str) -> tuple[MonthRow, ...]:
    keys = ("month", "day_c", "night_c", "rh_pct", "air", "light_mol_m2_d", "light_source")
    rows = [row for row in _rows("climate_demo.csv") if row["place"] == place]
    return tuple(MonthRow.model_validate({key: row[key] for key in keys}) for row in rows)


def test_all_rows_of_the_table_are_here() -> None:
    """Six of the ten rows are rhythms of a year; the slots' four are tested beside the care rules."""
    assert len(CHECKS) == 6


@pytest.mark.parametrize("row", CHECKS, ids=[row["id"] for row in CHECKS])
def test_the_rhythm_of_a_year_is_the_published_one(
    row: dict[str, str], catalog: Catalog, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The planner reads the same days on the same dates; oracle: checks_rhythm.csv, reproduced twice from models I3-I4.

    The table is of I3 and I4 alone, so the gap in the cold (models I2) is left out.
    """
    monkeypatch.setattr(PlanContext, "cold_spans", lambda _self, _state: [])
    given = json.loads(row["inputs"])
    start = date.fromisoformat(given["start"])
    entries = [
        CollectionStarted(on=start, name="Check", latitude=54.3, longitude=10),
        PlaceAdded(on=start, place=given["place"], place_kind="warm-sill", climate=_climate(given["place"])),
        PlantAdded(
            on=start,
            plant="one",
            profile=given["profile"],
            medium=given["medium"],
            container=given["container"],
            size_cm=given["size_cm"],
            place=given["place"],
            stage=given["stage"],
            watered=start,
        ),
    ]
    records = []
    for n, entry in enumerate(entries, 1):
        data = entry.model_dump(mode="json", exclude_none=True, exclude={"on", "plant"})
        number = 1 if isinstance(entry, PlantAdded) else None
        records.append(
            Record(n, n, entry.kind, number, start, f"{start}T09:00:00Z", "owner", {**data, "id": "one"})
        )
    stages = sorted(catalog.stages.values(), key=lambda stage: stage.order)
    planner = Planner(fold(records, start, stages, frozenset({"reservoir"})), catalog, "check")
    last = start + timedelta(days=364)
    found = [
        f"{date.fromordinal(beat.start)} {beat.days}"
        for beat in planner.plant_planners[1].beats.all
        if beat.start <= last.toordinal()
    ]
    assert "; ".join(found) == row["expected"]
