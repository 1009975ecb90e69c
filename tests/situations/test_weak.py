"""Weak plants as growers meet them, each a row of weak.csv: wrapped, losing ground, in spike or in bloom.

The expectations come from the sources named in each row, never from the program's own answers. Days are counted from
the plant's first, which is a Sunday in March; the air of a place is the same all year.
"""

from __future__ import annotations

import csv
import json
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from carecal.catalog.load import load_catalog
from carecal.catalog.tables import Catalog
from carecal.collection.entries import (
    AidSet,
    BloomSet,
    Entry,
    MonthRow,
    Observed,
    PlantAdded,
    Potted,
    SettingChanged,
    SideTaken,
    SpikeSet,
    Tried,
)
from carecal.planning.planner import Planner
from carecal.planning.sick.watch import remarks_of
from carecal.planning.steps.overview import steps_of
from tests.bench import Bench

FIRST = date(2026, 3, 1)
KINDS: dict[str, type[Entry]] = {
    kind.kind: kind for kind in (AidSet, BloomSet, Observed, Potted, SpikeSet, Tried)
}
PRACTICE = ("common practice (no source)", "our choice, because", "trade-facts")


def rows() -> list[dict[str, str]]:
    """Return the rows of the table."""
    with (Path(__file__).parent / "weak.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@cache
def tables() -> Catalog:
    """Return the project's own catalog."""
    return load_catalog()


def planner_of(row: dict[str, str]) -> Planner:
    """Return the planner of a row's day: 'air' is day/night [°C]/light [mol m⁻² d⁻¹]."""
    bench = Bench(tables(), FIRST)
    day_c, night_c, light = map(float, row["air"].split("/"))
    months = [
        MonthRow(month=m, day_c=day_c, night_c=night_c, rh_pct=60, air="room", light_mol_m2_d=light)
        for m in range(1, 13)
    ]
    bench.place("loft", months, FIRST)
    bench.write(SettingChanged(on=FIRST, key="weekdays", value="none"))
    plant: dict[str, Any] = {"medium": "moss", "container": "net", "size_cm": 8, **json.loads(row["plant"])}
    bench.write(PlantAdded.model_validate({"on": FIRST, "plant": "tide", "place": "loft", **plant}))
    for kind, days, fields in json.loads(row["then"]):
        on = FIRST + timedelta(days=days)
        if kind == "side":
            bench.write(SideTaken.model_validate({"on": on, **fields}))
        else:
            bench.write(KINDS[kind].model_validate({"on": on, "plant": "tide", **fields}))
    return bench.planner(FIRST + timedelta(days=int(row["on"])))


def faults_of(row: dict[str, str]) -> list[str]:
    """Return everything in which the plan departs from a row, in words."""
    planner = planner_of(row)
    plan = planner.plan("rounds")
    plant_planner, view = planner.plant_planners[1], plan.plant(1)
    faults = [] if view.losing == row["losing"] else [f"losing is '{view.losing}'"]
    steps = {step.step: step.status for step in steps_of(plant_planner) if step.wanted}
    for pair in row["steps"].split():
        name, wanted = pair.split("=")
        if steps.get(name, "none") != wanted:
            faults.append(f"{name} is {steps.get(name, 'none')}")
    looks = [
        task
        for task in plan.tasks
        if task.care == "inspection" and task.status in {"open", "planned", "overdue"}
    ]
    if row["look_days"] and (looks[1].due - looks[0].due).days != int(row["look_days"]):
        faults.append(f"looks are {(looks[1].due - looks[0].due).days} days apart")
    said = " ".join([looks[0].asks, *(remark.text for remark in remarks_of(plant_planner))]).casefold()
    faults += [
        f"'{text}' is not said of {said}" for text in row["says"].split("|") if text.casefold() not in said
    ]
    faults += [f"'{text}' is said" for text in row["says_not"].split("|") if text and text.casefold() in said]
    return faults


@pytest.mark.parametrize("row", [pytest.param(row, id=row["id"]) for row in rows()])
def test_a_weak_plant_is_cared_for_as_growers_do(row: dict[str, str]) -> None:
    """Level, steps, looks and words of the row are the plan's (oracle: the row's source)."""
    assert faults_of(row) == [], row["situation"]


def test_every_row_names_its_source_and_can_fail() -> None:
    """At least 20 rows of three kinds, each with a source; a row turned round is told."""
    found = rows()
    assert len(found) >= 20
    assert {row["id"][0] for row in found} == {"W", "L", "S"}
    for row in found:
        words = row["source"].replace(":", " ").replace(";", " ").replace(",", " ").split()
        assert row["source"].startswith(PRACTICE) or any(word in tables().sources for word in words), row[
            "id"
        ]
    turned = {**found[0], "losing": "go-on", "steps": "stake=now", "look_days": "9", "says": "feed it"}
    assert len(faults_of(turned)) == 4
