"""Care days that fit together, held against an exact solver over the same windows, and who may be wetted early."""

from __future__ import annotations

from datetime import date, timedelta
from math import ceil
from random import Random
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_matrix

from carecal.collection.entries import Done, Left, Observed, PlantAdded, RoundsTaken, SettingChanged
from carecal.planning.rounds.fitting import best_fit, lone_days
from carecal.planning.rounds.weekdays import due_days, early_days
from carecal.planning.wettings.slips import window_of

if TYPE_CHECKING:
    from carecal.collection.entries import MonthRow
    from carecal.planning.planner import Planner
    from carecal.planning.plant_planner import PlantPlanner
    from tests.bench import Bench

Climate = dict[str, "tuple[MonthRow, ...]"]
START = date(2025, 3, 3)
JUNE = date(2025, 6, 2)
WEEKS = 26
DAY = timedelta(days=1)
SLOW = [("bark", "plastic"), ("bark", "clear-plastic")]
MIXED = [*SLOW, ("moss", "clear-plastic"), ("bark", "net"), ("moss", "plastic"), ("lava", "plastic")]
HOUSES = [(1, 1, SLOW), (2, 11, SLOW), (3, 2, MIXED), (4, 12, SLOW), (6, 4, MIXED)]
WETTINGS = {"watering", "feeding", "flushing"}


def house(bench: Bench, climate: Climate, count: int, seed: int, pots: list[tuple[str, str]]) -> Bench:
    """Return plants on one sill, wetted on one of the last six days."""
    random = Random(seed)  # noqa: S311 - a household, no secret
    bench.place("bedroom-sill", climate["bedroom-sill"], date(2025, 1, 1))
    for n in range(count):
        medium, container = random.choice(pots)
        on = START - random.randrange(6) * DAY
        values = {
            "on": on,
            "plant": f"p{n}",
            "medium": medium,
            "container": container,
            "stage": "established",
            "size_cm": random.choice((9, 12, 14)),
            "place": "bedroom-sill",
            "watered": on,
        }
        bench.write(PlantAdded.model_validate(values), Done(on=on, plant=f"p{n}", care="watering"))
    return bench


def taken(bench: Bench, planner: Planner) -> Bench:
    """Write the best fit of a planner as the one entry that takes it."""
    fit = best_fit(planner)
    ids = {number: line.id for number, line in planner.timeline.plants.items()}
    return bench.write(
        RoundsTaken(
            on=START,
            dates=tuple(map(date.fromordinal, sorted(fit.dates))),
            plants=tuple(ids[number] for number in fit.early),
            days=tuple(map(date.fromordinal, fit.early.values())),
        )
    )


def wetted(planner: Planner) -> set[date]:
    """Return the days with a wetting in the coming 26 weeks by the plan itself."""
    last = START + (7 * WEEKS - 1) * DAY
    return {task.on for task in planner.plan("rounds").tasks if task.care in WETTINGS and task.on <= last}


def least_days(plants: list[PlantPlanner], last: int) -> int:
    """Return a bound below which no choice of days in the windows comes: the relaxed program, rounded up.

    An arc leads from one wetting of a plant to each day of the window after it; a day costs 1 where any arc ends.
    """
    columns: dict[tuple[Any, ...], int] = {}
    rows: list[tuple[dict[int, float], float, float]] = []

    def column(*name: Any) -> int:
        return columns.setdefault(name, len(columns))

    for at, plant in enumerate(plants):
        slot, beats = plant.chain.pending, plant.chain.beats
        assert slot is not None
        first = range(max(slot.earliest, plant.context.as_of), slot.latest + 1)
        into = {day: [column("arc", at, 0, day)] for day in first}
        rows.append(({arcs[0]: 1.0 for arcs in into.values()}, 1, 1))
        day = first[0]
        while day <= max(into):
            due = beats.next_due(day) if day in into else None
            beat = beats.first_from(due) if due is not None else None
            out = []
            if due is not None and beat is not None and max(due, beat.start) <= last:
                earliest, latest = window_of(beats, beat, max(due, beat.start), day + 1, of_pot=True)
                for other in range(max(earliest, day + 1), latest + 1):
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
    cost = [1.0 if name[0] == "day" else 0.0 for name in columns]
    limits = LinearConstraint(matrix, [low for _, low, _ in rows], [high for _, _, high in rows])
    return ceil(float(milp(cost, constraints=limits, bounds=Bounds(0, 1)).fun) - 1e-6)


@pytest.mark.parametrize(("count", "seed", "pots"), HOUSES, ids=lambda value: str(value)[:12])
def test_days_come_near_the_least_that_windows_allow(
    bench: Bench, demo_climate: Climate, count: int, seed: int, pots: list[tuple[str, str]]
) -> None:
    """After taking, days with a wetting <= 1.10 x the least, wettings <= 1.05 x; oracle: HiGHS by scipy, the plan."""
    before = house(bench, demo_climate, count, seed, pots).planner(START)
    plants = list(before.plant_planners.values())
    last = START.toordinal() + 7 * WEEKS - 1
    each = sum(len(due_days(plant)) for plant in plants)
    after = taken(bench, before).planner(START)
    assert len(wetted(after)) <= 1.10 * least_days(plants, last)
    wettings = sum(task.care in WETTINGS for task in after.plan("rounds").tasks)
    assert wettings <= 1.05 * each


def test_taken_days_leave_no_window(bench: Bench, demo_climate: Climate) -> None:
    """Windows are the bounds: every wetting lies in its own, and most lie on a date that was taken."""
    after = taken(bench, house(bench, demo_climate, 4, 12, SLOW).planner(START)).planner(START)
    tasks = [task for task in after.plan("rounds").tasks if task.care in WETTINGS]
    assert all(task.earliest <= task.on <= task.latest for task in tasks)
    dates = {date.fromordinal(day) for day in after.context.care_dates(START.toordinal())}
    assert all(task.on in dates for task in tasks)


def test_one_plants_slip_moves_no_other_when_days_are_taken(bench: Bench, demo_climate: Climate) -> None:
    """Design §3 rule 11 holds on: a late wetting of p0 leaves p1 where it was."""
    taken(bench, house(bench, demo_climate, 2, 11, SLOW).planner(START))
    late = START + 12 * DAY

    def days_of_other() -> list[date]:
        return [task.on for task in bench.planner(late).plan("rounds").tasks if task.plant == 2]

    former = days_of_other()
    bench.write(Done(on=late, plant="p0", care="watering"))
    assert days_of_other() == former


def test_setting_weekdays_ends_the_days_taken(bench: Bench, demo_climate: Climate) -> None:
    """Whoever sets weekdays afterwards goes by them; oracle: the same house that never took any."""
    plain = house(bench, demo_climate, 2, 11, SLOW).planner(START).plan("rounds").tasks
    taken(bench, bench.planner(START))
    assert bench.planner(START).plan("rounds").tasks != plain
    bench.write(SettingChanged(on=START, key="weekdays", value="wed,sat"))
    assert bench.planner(START).plan("rounds").tasks == plain


def june(bench: Bench, climate: Climate) -> Bench:
    """Return a plant on a warm sill, watered on 1 June; its days are 5, its window from the fourth to the sixth."""
    bench.place("bedroom-sill", climate["bedroom-sill"], date(2025, 1, 1))
    values = {
        "on": JUNE - DAY,
        "plant": "p0",
        "medium": "bark",
        "container": "plastic",
        "stage": "established",
        "size_cm": 9,
        "place": "bedroom-sill",
        "watered": JUNE - DAY,
    }
    bench.write(PlantAdded.model_validate(values), Done(on=JUNE - DAY, plant="p0", care="watering"))
    return bench.write(SettingChanged(on=JUNE - DAY, key="weekdays", value="none"))


def first_after(bench: Bench, early: int) -> list[int]:
    """Return the first two wettings as days after 1 June, once a plant is brought over to a day of June."""
    day = JUNE + (early - 1) * DAY
    bench.write(RoundsTaken(on=JUNE, dates=(JUNE + 300 * DAY,), plants=("p0",), days=(day,)))
    tasks = bench.planner(JUNE).plan("rounds").tasks
    return [(task.on - JUNE).days + 1 for task in tasks if task.care in WETTINGS][:2]


def test_a_plant_is_brought_over_by_one_early_wetting(bench: Bench, demo_climate: Climate) -> None:
    """Before its window opens, and the next one counts from the early day: 1 + 3, then 5 more; by hand."""
    june(bench, demo_climate)
    slot = bench.planner(JUNE).plant_planners[1].chain.pending
    assert slot is not None
    assert (slot.beat.days, slot.earliest - JUNE.toordinal() + 1) == (5, 4)
    assert first_after(bench, 3) == [3, 8]


def test_what_is_less_than_half_dry_is_not_brought_over(bench: Bench, demo_climate: Climate) -> None:
    """Half of 5 days is the bound, our choice; the wetting of 3 June stays on its due day, the 6th."""
    assert first_after(june(bench, demo_climate), 2)[0] == 5


@pytest.mark.parametrize("finding", ["damp", "rot"])
def test_rot_and_damp_bar_an_early_wetting(bench: Bench, demo_climate: Climate, finding: str) -> None:
    """Common practice: what is rotten or still wet is not watered sooner; told after taking, it stays away too."""
    assert early_days(june(bench, demo_climate).planner(JUNE).plant_planners[1])
    told = (
        Left(on=JUNE, plant="p0", care="watering")
        if finding == "damp"
        else Observed(on=JUNE, plant="p0", seen="rot", where="root")
    )
    untouched = bench.write(told).planner(JUNE)
    assert early_days(untouched.plant_planners[1]) == []
    kept = [(task.id, task.on, task.due) for task in untouched.plan("rounds").tasks][:3]
    bench.write(RoundsTaken(on=JUNE, dates=(JUNE + 300 * DAY,), plants=("p0",), days=(JUNE + 2 * DAY,)))
    assert [(task.id, task.on, task.due) for task in bench.planner(JUNE).plan("rounds").tasks][:3] == kept


def test_cold_bars_an_early_wetting(bench: Bench, demo_climate: Climate) -> None:
    """On a sill of 12 degrees at night in March nobody is brought over; the profile asks for more."""
    planner = house(bench, demo_climate, 1, 1, SLOW).planner(START)
    assert early_days(planner.plant_planners[1]) == []


def test_days_of_its_own_are_counted(bench: Bench, demo_climate: Climate) -> None:
    """A plant alone in a house costs every one of its days; two that go together none; by hand."""
    planner = house(bench, demo_climate, 1, 1, SLOW).planner(START)
    days = {task.on for task in planner.plan("rounds").tasks if task.care in WETTINGS}
    assert lone_days(planner) == {1: len(days)}
