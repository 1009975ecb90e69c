"""Care days that fit together against the fewest that the windows allow, in households of 1 to 60 plants.

Run by hand: python -m tests.benchmarks.rounds [PLANTS]; with more than 12 plants it takes minutes, with 40 a quarter of
an hour: the solver and the proof do.
"""

from __future__ import annotations

import sys
from datetime import date
from time import process_time
from typing import TYPE_CHECKING, NamedTuple

from carecal.catalog.load import load_catalog
from carecal.planning.rounds.fitting import best_fit
from carecal.planning.rounds.weekdays import due_days
from tests.bench import Bench, demo_climates
from tests.benchmarks.measure import number_argument
from tests.planning.households import (
    MIXED,
    SLOW,
    START,
    WETTINGS,
    house,
    least_days,
    proved_days,
    taken,
    wetted,
)

if TYPE_CHECKING:
    from carecal.catalog.tables import Catalog
    from carecal.plan.model import Plan
    from carecal.planning.plant_planner import PlantPlanner

PLANTS = 12
HOUSES = [
    (1, 1, SLOW), (2, 11, SLOW), (3, 2, MIXED), (4, 12, SLOW), (6, 4, MIXED), (8, 1, SLOW), (8, 3, MIXED),
    (8, 1, MIXED), (12, 1, MIXED), (24, 1, SLOW), (24, 2, MIXED), (40, 1, MIXED), (60, 1, MIXED),
]  # fmt: skip
NEAR = 1.10  # where the relaxed program already tells as much, nothing is proved
MOST_PROVED = 20  # plants: those of most wettings; what they alone need, all need


class Row(NamedTuple):
    """What came of one household."""

    plants: int
    seed: int
    pots: str
    days: int
    relaxed: int
    proved: int | None
    extra_percent: float
    early: int
    visits: int
    only_looks: int
    visits_before: int
    seconds: float


def measure(plants: int = PLANTS) -> list[Row]:
    """Return a row for each household of up to so many plants."""
    catalog = load_catalog()
    return [_row(catalog, *each) for each in HOUSES if each[0] <= plants]


def _row(catalog: Catalog, count: int, seed: int, pots: list[tuple[str, str]]) -> Row:
    bench = house(Bench(catalog, date(2025, 1, 1)), demo_climates(), count, seed, pots)
    planner = bench.planner(START)
    plants = sorted(planner.plant_planners.values(), key=lambda each: -len(due_days(each)))
    each = sum(len(due_days(plant)) for plant in plants)
    before, begun = planner.plan("rounds"), process_time()
    fit, seconds = best_fit(planner), process_time() - begun
    after = taken(bench, planner).planner(START)
    plan, days, relaxed = after.plan("rounds"), len(wetted(after)), least_days(plants)
    proved = None if days <= NEAR * relaxed else _proved(plants, days)
    extra = 100 * (sum(task.care in WETTINGS for task in plan.tasks) / each - 1)
    looks = len({task.on for task in plan.tasks}) - len(_visits(plan))
    name = "slow" if pots is SLOW else "mixed"
    return Row(
        count, seed, name, days, relaxed, proved, extra, len(fit.early), len(_visits(plan)), looks,
        len(_visits(before)), seconds,
    )  # fmt: skip


def _visits(plan: Plan) -> set[date]:
    return {task.on for task in plan.tasks if task.care in WETTINGS}


def _proved(plants: list[PlantPlanner], days: int) -> int:
    """Return what the plants of most wettings need, of more and more of them until it is as much as was found."""
    proved = 0
    for some in range(2, MOST_PROVED + 1, 2):
        proved = proved_days(plants[:some])
        if proved >= days:
            break
    return proved


def main() -> None:
    """Measure and print."""
    for row in measure(number_argument(PLANTS)):
        least = row.proved or row.relaxed
        sys.stdout.write(
            f"| {row.plants}, {row.seed}, {row.pots} | {row.days} | {row.relaxed} | {row.proved or '–'} "
            f"| {row.days / least:.2f} | {row.extra_percent:.1f} % | {row.early} "
            f"| {row.visits_before}, {row.visits} | {row.only_looks} | {row.seconds:.1f} s |\n"
        )


if __name__ == "__main__":
    main()
