"""Suggested weekdays: what another set would cost, counted as a plan of that setting counts it (models R2)."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest

from carecal.collection.entries import Done, PlantAdded, SettingChanged
from carecal.planning.rounds.suggest import SETS, WeekdaySet, best_of, weekday_sets

if TYPE_CHECKING:
    from carecal.catalog.tables import Catalog
    from carecal.collection.entries import MonthRow
    from tests.bench import Bench

START = date(2025, 3, 3)


def sill(bench: Bench, demo_climate: dict[str, tuple[MonthRow, ...]]) -> Bench:
    """Return three plants of different thirst on one sill, all wetted on the first day."""
    bench.place("bedroom-sill", demo_climate["bedroom-sill"], date(2025, 1, 1))
    kinds = {"tide": ("bark", "plastic"), "gable": ("moss", "clear-plastic"), "winch": ("lava", "net")}
    for name, (medium, container) in kinds.items():
        bench.write(
            PlantAdded(
                on=START,
                plant=name,
                medium=medium,
                container=container,
                size_cm=12,
                place="bedroom-sill",
                stage="established",
                watered=START,
            ),
            Done(on=START, plant=name, care="watering"),
        )
    return bench


@pytest.mark.parametrize("days", [("sat",), ("wed", "sat"), ("mon", "wed", "fri")], ids="-".join)
def test_a_set_costs_what_its_plan_costs(
    bench: Bench, demo_climate: dict[str, tuple[MonthRow, ...]], catalog: Catalog, days: tuple[str, ...]
) -> None:
    """Extra wettings and days are those of the plan with that setting; oracle: the planner itself, set and planned."""
    sill(bench, demo_climate)
    told = {found.weekdays: found for found in weekday_sets(bench.planner(START).timeline, catalog, "bench")}[
        days
    ]
    bench.write(SettingChanged(on=START, key="weekdays", value=",".join(days)))
    planner = bench.planner(START)
    plan = planner.plan("rounds")
    assert told.extra_wettings_percent == pytest.approx(plan.extra_wettings_percent, abs=0.01)
    wetted = {task.on for task in plan.tasks if task.care in {"watering", "feeding", "flushing"}}
    assert told.care_days == len(wetted)


def test_every_set_of_one_to_three_weekdays_is_tried(
    bench: Bench, demo_climate: dict[str, tuple[MonthRow, ...]], catalog: Catalog
) -> None:
    """7 + 21 + 35 sets, each told once and progress after each."""
    seen: list[int] = []
    found = weekday_sets(
        sill(bench, demo_climate).planner(START).timeline, catalog, "bench", progress=seen.append
    )
    assert [one.weekdays for one in found] == list(SETS)
    assert seen == list(range(1, 64))


def test_nothing_is_counted_while_an_overdue_wetting_waits(
    bench: Bench, demo_climate: dict[str, tuple[MonthRow, ...]], catalog: Catalog
) -> None:
    """A plant on watch whose wetting was never ticked suspends its later ones (design §3 rule 2)."""
    bench.place("sill", demo_climate["bedroom-sill"], date(2025, 1, 1))
    bench.write(
        PlantAdded(
            on=START,
            plant="tide",
            medium="moss",
            container="plastic",
            size_cm=9,
            place="sill",
            stage="new-tips",
            watered=START,
        )
    )
    timeline = bench.planner(START + timedelta(days=60)).timeline
    assert {found.care_days for found in weekday_sets(timeline, catalog, "bench")} == {0}


@pytest.mark.parametrize(
    ("sets", "best", "reason"),
    [
        ([("mon",), 50, 4.0, ("wed",), 60, 2.9], ("wed",), "50 days cost too many wettings"),
        ([("mon",), 50, 3.0, ("wed",), 60, 2.9], ("wed",), "3 % is not under 3 %"),
        ([("mon",), 50, 1.0, ("wed",), 50, 0.5], ("wed",), "as few days: the fewer wettings"),
        ([("mon",), 50, 9.0, ("wed",), 60, 5.0], None, "none is mild enough"),
    ],
)
def test_the_fewest_days_under_three_percent_win(
    sets: list[object], best: tuple[str, ...] | None, reason: str
) -> None:
    """The rule of models R2 at its edges; by hand."""
    rows = [WeekdaySet(*sets[i : i + 3]) for i in (0, 3)]  # type: ignore[arg-type]
    found = best_of(rows)
    assert (found.weekdays if found is not None else None) == best, reason
