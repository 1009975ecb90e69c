"""Plans put together day by day: what is handed on as it was, what is made anew; oracle: identity, and a fresh one."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest

from carecal.collection.entries import Done, PlantAdded
from carecal.planning.assembly import Assembly
from carecal.planning.piece import Piece
from tests.bench import Bench, demo_climates

if TYPE_CHECKING:
    from carecal.catalog.tables import Catalog
    from carecal.plan.model import Plan
    from carecal.planning.planner import Planner

START = date(2026, 4, 1)
TODAY = date(2026, 5, 4)
PLANTS = ("tide", "gable", "winch", "spar")


@pytest.fixture
def bench(catalog: Catalog) -> Bench:
    """Return a house of four plants in one room."""
    made = Bench(catalog, START)
    made.place("living-room", demo_climates()["living-room"], START)
    for nth, plant in enumerate(PLANTS):
        made.write(
            PlantAdded(
                on=START, plant=plant, medium="bark", container="plastic", size_cm=9 + 2 * nth, place="living-room",
                stage="established", watered=START,
            )
        )  # fmt: skip
        made.write(Done(on=TODAY - timedelta(days=9 + nth), plant=plant, care="watering"))
    return made


def _pieces(planner: Planner) -> dict[int, Piece]:
    return {number: planner.piece(each, "rounds") for number, each in planner.plant_planners.items()}


def _taken(*planners: Planner) -> tuple[Assembly, list[Plan]]:
    """Return an assembly that took what plants give to each planner in turn, and the plans it made."""
    assembly = Assembly("rounds", TODAY)
    plans = []
    for planner in planners:
        assembly.take(_pieces(planner))
        plans.append(planner.whole(assembly))
    return assembly, plans


def test_a_plant_that_says_the_same_moves_no_day(bench: Bench) -> None:
    """All pieces are made anew and equal: each round is the very one of before."""
    _, (first, second) = _taken(bench.planner(TODAY), bench.planner(TODAY))
    assert first == second
    assert len(first.rounds) > 20
    assert all(old is new for old, new in zip(first.rounds, second.rounds, strict=True))


def test_only_days_on_which_a_plant_differs_are_put_together_anew(bench: Bench) -> None:
    """Gable is wetted: days of the others alone stay the very same rounds, and all is as if put together at one go."""
    before = bench.planner(TODAY)
    bench.write(Done(on=TODAY, plant="gable", care="watering", felt="right"))
    after = bench.planner(TODAY)
    _, (first, second) = _taken(before, after)
    assert second == after.plan("rounds")
    number = next(view.number for view in second.plants if view.id == "gable")
    theirs = {r.on: r for r in first.rounds}
    differ = {task.on for plan in (first, second) for task in plan.tasks if task.plant == number}
    same = [r for r in second.rounds if r.on not in differ]
    assert same
    assert all(theirs[r.on] is r for r in same)
    assert any(theirs.get(r.on) is not r for r in second.rounds)


def test_a_plant_that_has_gone_leaves_its_days_to_the_others(bench: Bench) -> None:
    """Nothing in place of what it gave: the plan of the others, as if it had never been taken."""
    planner = bench.planner(TODAY)
    assembly, _ = _taken(planner)
    number = min(planner.plant_planners)
    assembly.take({number: None})
    others = set(planner.plant_planners) - {number}
    assert planner.whole(assembly) == planner.plan("rounds", plants=others)


def test_the_rows_of_a_round_are_its_tasks_a_plant_at_a_time(bench: Bench) -> None:
    """No task is lost or told twice, and each plant comes where its first task stands."""
    for found in bench.planner(TODAY).plan("rounds").rounds:
        flat = [task for row in found.stops for task in row]
        assert sorted(task.id for task in flat) == sorted(found.tasks)
        by_plant = {task.plant: None for task in sorted(flat, key=lambda t: found.tasks.index(t.id))}
        assert [row[0].plant for row in found.stops] == list(by_plant)
        assert all(len({task.plant for task in row}) == 1 for row in found.stops)
