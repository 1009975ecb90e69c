"""Households on one sill, and the fewest days with a wetting that their windows allow: by a solver, and by a proof."""

from __future__ import annotations

from datetime import date, timedelta
from math import ceil
from random import Random
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_matrix

from carecal.collection.entries import Done, PlantAdded, RoundsTaken
from carecal.planning.rounds.fitting import best_fit
from carecal.planning.wettings.slips import window_of

if TYPE_CHECKING:
    from carecal.collection.entries import MonthRow
    from carecal.planning.planner import Planner
    from carecal.planning.plant_planner import PlantPlanner
    from tests.bench import Bench

START = date(2025, 3, 3)
WEEKS = 26
LAST = START.toordinal() + 7 * WEEKS - 1
DAY = timedelta(days=1)
SLOW = [("bark", "plastic"), ("bark", "clear-plastic")]
MIXED = [*SLOW, ("moss", "clear-plastic"), ("bark", "net"), ("moss", "plastic"), ("lava", "plastic")]
WETTINGS = {"watering", "feeding", "flushing"}


def house(
    bench: Bench, climate: dict[str, tuple[MonthRow, ...]], count: int, seed: int, pots: list[tuple[str, str]]
) -> Bench:
    """Return plants on one sill, wetted on one of the last six days."""
    random = Random(seed)  # noqa: S311 - a household, no secret
    bench.place("bedroom-sill", climate["bedroom-sill"], date(2025, 1, 1))
    for n in range(count):
        medium, container = random.choice(pots)
        on = START - random.randrange(6) * DAY
        values = {"on": on, "plant": f"p{n}", "medium": medium, "container": container, "stage": "established",
                  "size_cm": random.choice((9, 12, 14)), "place": "bedroom-sill", "watered": on}  # fmt: skip
        bench.write(PlantAdded.model_validate(values), Done(on=on, plant=f"p{n}", care="watering"))
    return bench


def taken(bench: Bench, planner: Planner, *, ahead: bool = True) -> Bench:
    """Write the best fit of a planner as the one entry that takes it."""
    fit = best_fit(planner)
    ids = {number: line.id for number, line in planner.timeline.plants.items()}
    return bench.write(
        RoundsTaken(
            on=START,
            dates=tuple(map(date.fromordinal, sorted(fit.dates))),
            ahead=ahead,
            plants=tuple(ids[number] for number in fit.early),
            days=tuple(map(date.fromordinal, fit.early.values())),
        )
    )


def wetted(planner: Planner) -> set[date]:
    """Return the days with a wetting in the coming 26 weeks by the plan itself."""
    return {
        task.on
        for task in planner.plan("rounds").tasks
        if task.care in WETTINGS and task.on.toordinal() <= LAST
    }


def first_window(plant: PlantPlanner) -> range:
    """Return the days on which a plant may be wetted next."""
    slot = plant.chain.pending
    assert slot is not None
    return range(max(slot.earliest, plant.context.as_of), slot.latest + 1)


def next_window(plant: PlantPlanner, day: int, last: int) -> range | None:
    """Return the days on which a plant may be wetted after one on a day; None: it is due after the last day."""
    beats = plant.chain.beats
    due = beats.next_due(day)
    beat = beats.first_from(due) if due is not None else None
    if due is None or beat is None or max(due, beat.start) > last:
        return None
    earliest, latest = window_of(beats, beat, max(due, beat.start), day + 1, of_pot=True)
    return range(max(earliest, day + 1), latest + 1)


def least_days(plants: list[PlantPlanner], last: int = LAST, *, whole: bool = False) -> int:
    """Return a bound below which no choice of days in the windows comes: the relaxed program, rounded up.

    An arc leads from one wetting of a plant to each day of the window after it; a day costs 1 where any arc ends.

    Args:
        plants: The plants.
        last: Last day that counts; a wetting due after it need not be.
        whole: Whether a day is a whole one, so that the bound is the optimum itself; slow.
    """
    columns: dict[tuple[Any, ...], int] = {}
    rows: list[tuple[dict[int, float], float, float]] = []

    def column(*name: Any) -> int:
        return columns.setdefault(name, len(columns))

    for at, plant in enumerate(plants):
        into = {day: [column("arc", at, 0, day)] for day in first_window(plant)}
        rows.append(({arcs[0]: 1.0 for arcs in into.values()}, 1, 1))
        day = min(into)
        while day <= max(into):
            out = []
            for other in (next_window(plant, day, last) if day in into else None) or ():
                out.append(column("arc", at, day, other))
                into.setdefault(other, []).append(out[-1])
            if out:
                rows.append(({**dict.fromkeys(into[day], 1.0), **dict.fromkeys(out, -1.0)}, 0, 0))
            if day in into and day <= last:
                rows.append(({**dict.fromkeys(into[day], 1.0), column("day", day): -1.0}, -np.inf, 0))
            day += 1
    cells = [(value, n, col) for n, (row, _, _) in enumerate(rows) for col, value in row.items()]
    values, of_row, of_column = zip(*cells, strict=True)
    matrix = coo_matrix((values, (of_row, of_column)), shape=(len(rows), len(columns))).tocsr()
    cost = np.array([1.0 if name[0] == "day" else 0.0 for name in columns])
    limits = LinearConstraint(matrix, [low for _, low, _ in rows], [high for _, _, high in rows])
    solved = milp(cost, constraints=limits, bounds=Bounds(0, 1), integrality=cost if whole else None)
    assert solved.success
    return ceil(float(solved.fun) - 1e-6)


def proved_days(plants: list[PlantPlanner], last: int = LAST) -> int:
    """Return the fewest days that the windows allow, by trying all of them; minutes for sixty plants.

    After each day a beginning is known by the days on which each plant may be wetted next, whichever it took. Of two as
    long, one whose plants may be wetted on all days on which those of the other may is never the worse, so the other
    need not be followed. The first length at which every plant is through is the least.
    """
    top, origin = 1 << 1000, START.toordinal()
    through = 2 * top - 1  # whatever another plant may do, one that is through may do as well
    known: list[dict[int, int]] = [{} for _ in plants]

    def bits(days: range | None) -> int:
        return through if days is None or days[-1] > last else sum(1 << (day - origin) for day in days)

    beginnings, count = [tuple(bits(first_window(plant)) for plant in plants)], 0
    while not any(all(open_days == through for open_days in each) for each in beginnings):
        following = set()
        for each in beginnings:
            deadline = min(map(int.bit_length, each))
            for day in range(deadline):
                if any(open_days >> day & 1 for open_days in each if open_days != through):
                    after = []
                    for at, open_days in enumerate(each):
                        left = open_days >> (day + 1) << (day + 1)
                        if open_days == through:
                            left = through
                        elif open_days >> day & 1:
                            if day not in known[at]:
                                known[at][day] = bits(next_window(plants[at], origin + day, last))
                            left |= known[at][day]
                        after.append(through if left & top else left)
                    following.add(tuple(after))
        count += 1
        beginnings = []
        for each in sorted(following, key=lambda one: (-sum(map(int.bit_count, one)), one)):
            if not any(all(a | b == a for a, b in zip(kept, each, strict=True)) for kept in beginnings):
                beginnings.append(each)
    return count
