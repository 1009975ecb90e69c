"""Recurrence rules of the plan against its tasks: expanding them gives exactly the tasks of `each`."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta

import pytest

from carecal.collection.entries import Done, MonthRow, PlantAdded, Potted
from carecal.plan.model import Plan
from tests.bench import Bench


def _expanded(plan: Plan) -> Counter[tuple[int, str, date]]:
    """Return care days of series and of the tasks that stand for themselves."""
    found: Counter[tuple[int, str, date]] = Counter()
    in_series: set[str] = set()
    for series in plan.series:
        day = series.first
        while day <= series.until:
            if day not in series.skip:
                found[series.plant, series.care, day] += 1
            day += timedelta(days=series.every_days)
        in_series.update(series.tasks)
    for task in plan.tasks:
        if task.id not in in_series:
            found[task.plant, task.care, task.on] += 1
    return found


@pytest.mark.parametrize("container", ["plastic", "net", "terracotta", "reservoir"])
def test_expanding_the_series_gives_exactly_the_tasks(
    bench: Bench, demo_climate: dict[str, tuple[MonthRow, ...]], container: str
) -> None:
    """No day is lost, none appears twice; oracle: the plan's own tasks, by plain date steps (RFC 5545 3.3.10)."""
    medium = "expanded-clay" if container == "reservoir" else "lava"
    start = date(2025, 3, 4)
    bench.place("bedroom-sill", demo_climate["bedroom-sill"], date(2025, 1, 1))
    bench.write(
        PlantAdded(
            on=start,
            plant="tide",
            medium=medium,
            container=container,
            size_cm=12,
            place="bedroom-sill",
            stage="established",
            watered=date(2025, 3, 1),
        )
    )
    bench.write(Done(on=date(2025, 3, 12), plant="tide", care="watering"))
    bench.write(Potted(on=date(2025, 6, 10), plant="tide", medium="bark", container="plastic", size_cm=12))
    for as_of in (date(2025, 3, 13), date(2025, 6, 12)):
        plan = bench.planner(as_of).plan("each")
        tasks = Counter((task.plant, task.care, task.on) for task in plan.tasks)
        assert _expanded(plan) == tasks
        assert len(plan.series) > 1
