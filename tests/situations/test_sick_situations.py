"""Plants in trouble as growers meet them, each a row of sick_situations.csv: looks, questions, water, gates.

What is expected comes from the row's source, or is marked as the trade's practice or our choice; days are by hand.
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
from carecal.collection.entries import Done, Entry, MonthRow, Observed, SettingChanged, Treated
from carecal.plan.model import Plan
from tests.planning.step_situations import build

START = date(2025, 1, 1)
BEGUN = date(2025, 3, 1)
WETTINGS = frozenset({"watering", "feeding", "flushing"})
PRACTICE = ("common practice (no source)", "our choice", "rescue practice")
PLANTS: dict[str, dict[str, Any]] = {
    "established": {"medium": "bark", "container": "plastic", "size_cm": 12, "stage": "established", "roots": 6,
                    "longest_mm": 200, "tips": 2, "leaves": 4, "potted": "2024-06-01"},
    "rooting-in": {"medium": "bark", "container": "plastic", "size_cm": 12, "stage": "rooting-in", "roots": 3,
                   "longest_mm": 60, "tips": 2, "leaves": 3, "potted": "2024-11-01"},
    "clear": {"medium": "bark", "container": "clear-plastic", "size_cm": 12, "stage": "rooting-in", "roots": 3,
              "longest_mm": 60, "tips": 2, "leaves": 3, "potted": "2024-11-01"},
    "new-tips": {"medium": "bark", "container": "plastic", "size_cm": 9, "stage": "new-tips", "roots": 2,
                 "longest_mm": 10, "tips": 2, "leaves": 3, "potted": "2024-11-01"},
    "rootless": {"medium": "moss", "container": "plastic", "size_cm": 9, "stage": "rootless", "roots": 0,
                 "leaves": 3, "potted": "2025-03-01"},
}  # fmt: skip


def rows() -> list[dict[str, str]]:
    """Return the rows of the table."""
    with (Path(__file__).parent / "sick_situations.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


ROWS = rows()


@cache
def _catalog() -> Catalog:
    return load_catalog()


def told(words: dict[str, Any]) -> Entry:
    """Return the entry of one word of a row: a look, a treatment, or what was seen."""
    on = BEGUN + timedelta(days=words.pop("on", 0))
    if words.pop("look", None):
        return Done(on=on, plant="tide", care="inspection")
    if "did" in words:
        return Treated(on=on, plant="tide", **{"against": "rot", **words})
    return Observed(on=on, plant="tide", **words)


def plan_of(row: dict[str, str]) -> tuple[Plan, date]:
    """Return the plan of a row's day."""
    warmth = float(row["place_c"])
    months = tuple(
        MonthRow(month=m, day_c=warmth, night_c=warmth, rh_pct=50, air="room", light_mol_m2_d=4)
        for m in range(1, 13)
    )
    bench = build(_catalog(), {"room": months}, PLANTS[row["plant"]], place="room")
    bench.write(SettingChanged(on=START, key="weekdays", value="none"))
    for words in json.loads(row["then"]):
        bench.write(told(words))
    day = BEGUN + timedelta(days=int(row["after"]))
    return bench.planner(day).plan("rounds"), day


def faults(row: dict[str, str]) -> list[str]:
    """Return everything in which the plan departs from the row, in words."""
    plan, day = plan_of(row)
    last = day + timedelta(days=int(row["within"]))
    looks = [t for t in plan.tasks if t.care == "inspection" and day <= t.on <= last]
    wet = [t for t in plan.tasks if t.care in WETTINGS and t.on >= day]
    asks = "; ".join(t.asks for t in looks).replace(",", "")
    found = [f"no '{part}'" for part in row["must_ask"].split(";") if part and part not in asks]
    found += [f"a '{part}'" for part in row["must_not_ask"].split(";") if part and part in asks]
    if row["first_look"]:
        low, high = map(int, row["first_look"].split("-"))
        first = min((t.due for t in looks if t.due > day), default=date.max) if looks else date.max
        if not day + timedelta(days=low) <= first <= day + timedelta(days=high):
            found.append(f"first look on {first}")
    if row["wet_from"] and min(t.on for t in wet) < day + timedelta(days=int(row["wet_from"])):
        found.append(f"wet on {min(t.on for t in wet)}")
    if row["technique"] and wet[0].technique != row["technique"]:
        found.append(f"wetted by {wet[0].technique}")
    shut = {gate.gate for gate in plan.gates if not gate.open}
    found += [f"gate {name} open" for name in row["gates_shut"].split() if name not in shut]
    marked = {"pest-watch", "crownless"} & set(plan.plants[0].states)
    if marked != set(row["states"].split()):
        found.append(f"states {sorted(marked)}")
    return found


@pytest.mark.parametrize("row", [pytest.param(row, id=row["id"]) for row in ROWS])
def test_a_plant_in_trouble_is_looked_after_as_growers_do(row: dict[str, str]) -> None:
    """Looks, questions, water, gates and states of the row are the plan's (oracle: the row's source)."""
    assert faults(row) == [], row["situation"]


def test_every_row_has_a_source_and_a_turned_row_fails() -> None:
    """At least twenty rows, each with a key of a source or a mark; the comparison can fail."""
    assert len(ROWS) >= 20
    for row in ROWS:
        keys = row["source"].replace(":", " ").split()
        assert row["source"].startswith(PRACTICE) or keys[0] in _catalog().sources, row["id"]
    turned = {
        **ROWS[0],
        "must_ask": "moon",
        "must_not_ask": "rot again",
        "first_look": "9-9",
        "wet_from": "30",
        "technique": "mist",
        "gates_shut": "bloom",
        "states": "crownless",
    }
    assert len(faults(turned)) == 7
