"""Small collections on the places of the demonstration, built from rows of a table."""

from __future__ import annotations

import csv
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from carecal.catalog.tables import Catalog
from carecal.collection.entries import (
    AidSet,
    Done,
    Entry,
    MonthRow,
    Moved,
    MovePlanned,
    Observed,
    PlaceAdded,
    PlantAdded,
    Potted,
    PottingPlanned,
    QuarantineSet,
    ReservoirSet,
    Retired,
)
from carecal.plan.model import Step
from carecal.planning.planner import Planner
from carecal.planning.plant_planner import PlantPlanner
from carecal.planning.steps.overview import steps_of
from tests.bench import Bench

START = date(2025, 1, 1)
PATIO = PlaceAdded(
    on=START,
    place="patio",
    place_kind="patio",
    winter_day_c=4,
    winter_night_c=-1,
    summer_day_c=22,
    summer_night_c=16,
)
TABLE = Path(__file__).parent / "tables" / "step_situations.csv"
KINDS: dict[str, type[Entry]] = {
    kind.kind: kind
    for kind in (
        AidSet,
        Done,
        Moved,
        MovePlanned,
        Observed,
        Potted,
        PottingPlanned,
        QuarantineSet,
        ReservoirSet,
        Retired,
    )
}
Climate = Mapping[str, tuple[MonthRow, ...]]


@dataclass(frozen=True)
class StepRow:
    """One plant situation and what its step must say."""

    id: str
    latitude: float
    place: str
    plant: dict[str, Any]
    then: list[Any]
    as_of: date
    step: str
    status: str
    wanted: bool
    opens: str
    last_safe: str
    tolerance_days: int


def step_rows() -> list[StepRow]:
    """Return the rows of the table."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        return [
            StepRow(
                row["id"],
                float(row["latitude"]),
                row["place"],
                json.loads(row["plant"]),
                json.loads(row["then"]),
                date.fromisoformat(row["as_of"]),
                row["step"],
                row["status"],
                row["wanted"] == "1",
                row["opens"],
                row["last_safe"],
                int(row["tolerance_days"]),
            )
            for row in csv.DictReader(file)
        ]


def turned(rows: Sequence[MonthRow]) -> tuple[MonthRow, ...]:
    """Return a place's year turned by six months, as on the other half of the earth."""
    return tuple(
        sorted(
            (row.model_copy(update={"month": (row.month + 5) % 12 + 1}) for row in rows),
            key=lambda row: row.month,
        )
    )


def build(
    catalog: Catalog,
    climate: Climate,
    plant: Mapping[str, Any],
    then: Sequence[Any] = (),
    *,
    place: str,
    latitude: float = 54.3,
) -> Bench:
    """Return a collection with all places of the demonstration, a home by its kind, and the plant 'tide'."""
    bench = Bench(catalog, START, latitude=latitude)
    for name, rows in climate.items():
        kind = "glazed-balcony" if name == "glazed-balcony" else "warm-sill"
        bench.place(name, turned(rows) if latitude < 0 else rows, START, kind)
    bench.write(PlaceAdded(on=START, place="home", place_kind="warm-sill"))
    bench.write(PlantAdded.model_validate({"on": START, "plant": "tide", "place": place, **plant}))
    for named, on, fields in then:
        bench.write(KINDS[named].model_validate({"on": on, "plant": "tide", **fields}))
    return bench


def desk_on(bench: Bench, as_of: date, plant: int = 1) -> PlantPlanner:
    """Return a plant's planner on a day."""
    return bench.planner(as_of).plant_planners[plant]


def step_of(planner: Planner, step: str, plant: int = 1) -> Step | None:
    """Return one step of a plant, wanted or not; None: it does not apply."""
    found = steps_of(planner.plant_planners[plant], planner.timeline.plants, every=True)
    return next((each for each in found if each.step == step), None)
