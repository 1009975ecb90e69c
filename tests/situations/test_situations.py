"""Plants as growers meet them, each a row of situations.csv: what its plan must hold and must not.

The expectations come from trade-facts and the tables the program is built on, by the source of each row, never from
the program's own answers.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from carecal.catalog.load import load_catalog
from carecal.catalog.tables import Catalog
from carecal.collection.entries import (
    Entry,
    Forecast,
    Observed,
    Paused,
    PlaceAdded,
    PlantAdded,
    ReservoirSet,
    SettingChanged,
)
from carecal.plan.model import Plan
from tests.bench import Bench, demo_climates

WETTINGS = {"watering", "refilling", "feeding", "flushing"}
PRACTICE = ("common practice (no source)", "from memory", "our choice, because", "trade-facts")


@dataclass(frozen=True)
class Situation:
    """One row: a plant, its place and day, and what the coming days must and must not bring."""

    row: dict[str, str]

    def words(self, column: str) -> set[str]:
        """Return the names of a column, parted by blanks."""
        return set(self.row[column].split())

    def pairs(self, column: str) -> dict[str, str]:
        """Return the 'name=value' of a column, parted by blanks."""
        return dict(part.split("=", 1) for part in self.row[column].split())

    @property
    def day(self) -> date:
        """Return the day the plan is made on."""
        return date.fromisoformat(self.row["on"])


def _rows() -> list[Situation]:
    found = []
    for table in ("situations.csv", "season.csv"):
        with (Path(__file__).parent / table).open(encoding="utf-8", newline="") as file:
            found += [Situation(row) for row in csv.DictReader(file)]
    return found


ROWS = _rows()


@cache
def _catalog() -> Catalog:
    return load_catalog()


def _place(bench: Bench, named: str, day: date) -> str:
    """Add the place of a row: one of the house by the harbour, or 'kind:NAME:ASPECT:DAY/NIGHT/DAY/NIGHT'."""
    if not named.startswith("kind:"):
        bench.place(named, demo_climates()[named], day)
        return named
    kind, aspect, temperatures = (*named.split(":")[1:], "", "")[:3]
    given: Any = {"aspect": aspect or None}
    if temperatures:
        keys = ("winter_day_c", "winter_night_c", "summer_day_c", "summer_night_c")
        given |= dict(zip(keys, map(float, temperatures.split("/")), strict=True))
    bench.write(PlaceAdded(on=day, place="there", place_kind=kind, **given))
    return "there"


def _plant(found: Situation, place: str) -> list[Entry]:
    """Return the entries that bring the plant into the state of its row, watered on the day it is looked at."""
    row, day, state = found.row, found.day, found.pairs("state")
    words: Any = {  # names of the row, which the model checks
        "stage": row["stage"] or None,
        "flowering": state.get("flowering"),
        "aids": (state["aid"],) if "aid" in state else (),
    }
    counts: Any = {
        key: float(state[key]) for key in ("roots", "longest_mm", "tips", "leaves") if key in state
    }
    days: Any = {key: day - timedelta(days=int(state[key])) for key in ("potted", "came") if key in state}
    is_keiki = "mother" in state
    mother = PlantAdded(
        on=day,
        plant="mother",
        medium="bark",
        container="plastic",
        size_cm=12,
        stage="established",
        place=place,
    )
    plant = PlantAdded(
        on=day,
        plant="subject",
        profile=row["profile"],
        medium=row["medium"] or None,
        container=row["container"] or None,
        size_cm=float(row["size_cm"]) if row["size_cm"] else None,
        place=place,
        watered=None if is_keiki or not row["medium"] else day,
        on_mother="mother" if is_keiki else None,
        **words,
        **counts,
        **days,
    )
    entries: list[Entry] = [plant]
    if "reservoir" in state:
        to: Any = state["reservoir"]
        entries.append(ReservoirSet(on=day, plant="subject", to=to))
    if "seen" in state:
        entries.append(Observed(on=day, plant="subject", seen=state["seen"]))
    if "rest" in state:
        told: Any = state["rest"]
        entries.append(Observed(on=day, plant="subject", rest=told))
    if {"forecast_night", "forecast_day"} & state.keys():
        degrees: Any = {
            f"{key}_c": float(state[f"forecast_{key}"])
            for key in ("night", "day")
            if f"forecast_{key}" in state
        }
        entries.append(Forecast(on=day, place=place, day=day, **degrees))
    if "newest_mm" in state:
        entries.append(Observed(on=day, plant="subject", newest_mm=float(state["newest_mm"])))
    if "pause" in state:
        care: Any = state["pause"]
        until = day + timedelta(days=60)
        entries.append(Paused(on=day, care=care, plants=("subject",), start=day, until=until))
    return [mother, *entries] if is_keiki else entries


def _plan(found: Situation) -> tuple[Plan, int]:
    """Return the plan of a row's day and the number of its plant."""
    bench = Bench(_catalog(), found.day, latitude=float(found.row["latitude"]))
    place = _place(bench, found.row["place"], found.day)
    bench.write(SettingChanged(on=found.day, key="weekdays", value="none"))
    for entry in _plant(found, place):
        bench.write(entry)
    plan = bench.planner(found.day).plan("rounds")
    return plan, next(view.number for view in plan.plants if view.id == "subject")


def _faults(found: Situation) -> list[str]:
    """Return everything in which the plan departs from the row, in words."""
    plan, number = _plan(found)
    last = found.day + timedelta(days=int(found.row["within_days"]))
    mine = [task for task in plan.tasks if task.plant == number and task.on <= last]
    cares = {task.care for task in mine} | {task.technique for task in mine}
    if cares & WETTINGS:
        cares |= {"wetting"}  # a row may ask for any wetting, where it is a feed that falls into its days
    faults = [f"no {care}" for care in sorted(found.words("must") - cares)]
    faults += [f"a {care}" for care in sorted(found.words("must_not") & cares)]
    faults += _faults_of_days(found, plan, number)
    gates = {gate.gate: gate.open for gate in plan.gates if gate.plant == number}
    faults += [f"gate {name} shut" for name in sorted(found.words("gates_open")) if not gates[name]]
    faults += [f"gate {name} open" for name in sorted(found.words("gates_shut")) if gates[name]]
    steps = {step.step: step.status for step in plan.steps if step.plant == number and step.wanted}
    for name, wanted in found.pairs("steps").items():
        if steps.get(name, "none") != wanted:
            faults.append(f"step {name} is {steps.get(name, 'none')}, not {wanted}")
    return faults


def _faults_of_days(found: Situation, plan: Plan, number: int) -> list[str]:
    rhythms = [r for r in plan.rhythms if r.plant == number and r.start <= found.day <= r.until and not r.aid]
    if not found.row["days_low"]:
        return [f"a rhythm of {r.days} days" for r in rhythms if "watering" in found.words("must_not")]
    low, high = int(found.row["days_low"]), int(found.row["days_high"])
    if not rhythms:
        return ["no rhythm"]
    return [f"every {r.days} days, not {low} to {high}" for r in rhythms if not low <= r.days <= high]


@pytest.mark.parametrize("found", [pytest.param(row, id=row.row["id"]) for row in ROWS])
def test_a_situation_is_planned_as_growers_do(found: Situation) -> None:
    """Cares, days, gates and steps of the row are the plan's (oracle: the row's source)."""
    assert _faults(found) == [], found.row["situation"]


def test_the_table_covers_three_hemispheres_and_every_row_its_source() -> None:
    """At least 40 rows at 54° N, 35° S and 1° N, all kinds but one, each with a source or 'common practice'."""
    assert len(ROWS) >= 40
    assert {float(row.row["latitude"]) for row in ROWS} == {54.3, -35.0, 1.0}
    assert len({row.row["profile"] for row in ROWS}) == len(_catalog().profiles)
    for row in ROWS:
        source = row.row["source"]
        keys = source.replace(";", " ").replace(":", " ").replace(",", " ").split()
        assert source.startswith(PRACTICE) or any(key in _catalog().sources for key in keys), row.row["id"]


def test_a_row_that_asks_for_the_opposite_fails() -> None:
    """The comparison can fail: a row turned round is told in every part that departs from the plan."""
    row = {**ROWS[0].row, "must": "feeding", "must_not": "watering", "days_low": "1", "days_high": "2"}
    told = _faults(
        Situation(
            {**row, "gates_open": "medium-temperature", "gates_shut": "stage", "steps": "moving-in=now"}
        )
    )
    assert len(told) == 6
