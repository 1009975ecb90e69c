"""Care days that fit together, held against an exact solver over the same windows, and who may be wetted early."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from carecal.collection.entries import (
    Done,
    Left,
    Observed,
    PlantAdded,
    RoundsTaken,
    SettingChanged,
)
from carecal.collection.entries_collection import AwayAdded
from carecal.planning.rounds.fitting import best_fit, lone_days
from carecal.planning.rounds.weekdays import due_days, early_days
from tests.planning.households import (
    DAY,
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
    from carecal.collection.entries import MonthRow
    from tests.bench import Bench

Climate = dict[str, "tuple[MonthRow, ...]"]
JUNE = date(2025, 6, 2)
SOLVED = [(1, 1, SLOW), (2, 11, SLOW), (3, 2, MIXED), (4, 12, SLOW), (6, 4, MIXED)]
PROVED = [
    (8, 3, MIXED, 39),
    (8, 1, MIXED, 62),
    (12, 1, MIXED, 62),
    (24, 1, SLOW, 29),
]  # tests.benchmarks.rounds


def shown(value: object) -> str:
    """Return a test's name for a value."""
    return str(value) if isinstance(value, int) else "mixed" if value is MIXED else "slow"


def days_after_taking(bench: Bench) -> int:
    """Return the days with a wetting in 26 weeks once the best fit is taken; wettings <= 1.05 x each plant's own."""
    before = bench.planner(START)
    each = sum(len(due_days(plant)) for plant in before.plant_planners.values())
    after = taken(bench, before).planner(START)
    assert sum(task.care in WETTINGS for task in after.plan("rounds").tasks) <= 1.05 * each
    return len(wetted(after))


@pytest.mark.parametrize(("count", "seed", "pots"), SOLVED, ids=shown)
def test_days_come_near_the_least_that_windows_allow(
    bench: Bench, demo_climate: Climate, count: int, seed: int, pots: list[tuple[str, str]]
) -> None:
    """After taking, days with a wetting <= 1.10 x the least; oracle: HiGHS by scipy on the same windows, the plan."""
    plants = list(house(bench, demo_climate, count, seed, pots).planner(START).plant_planners.values())
    assert days_after_taking(bench) <= 1.10 * least_days(plants)


@pytest.mark.parametrize(("count", "seed", "pots", "fewest"), PROVED, ids=shown)
def test_days_are_the_fewest_that_were_proved(
    bench: Bench, demo_climate: Climate, count: int, seed: int, pots: list[tuple[str, str]], fewest: int
) -> None:
    """Too large to be solved here; oracle: all ways tried by tests.benchmarks.rounds, the slow 24 by HiGHS there."""
    house(bench, demo_climate, count, seed, pots)
    assert fewest <= days_after_taking(bench) <= 1.10 * fewest


def test_the_proof_agrees_with_the_solver(bench: Bench, demo_climate: Climate) -> None:
    """Over some weeks a whole program can be solved; the proof by all ways gives the same."""
    plants = list(house(bench, demo_climate, 8, 3, MIXED).planner(START).plant_planners.values())
    last = START.toordinal() + 27
    assert proved_days(plants, last) == least_days(plants, last, whole=True)


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
    values = {"on": JUNE - DAY, "plant": "p0", "medium": "bark", "container": "plastic", "stage": "established",
              "size_cm": 9, "place": "bedroom-sill", "watered": JUNE - DAY}  # fmt: skip
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


def test_no_day_is_taken_on_which_nobody_is_there(bench: Bench, demo_climate: Climate) -> None:
    """Four days away in each of two months; slow windows reach round them."""
    house(bench, demo_climate, 4, 12, SLOW)
    away = [(START + n * DAY, START + (n + 3) * DAY) for n in (12, 60)]
    for start, until in away:
        bench.write(AwayAdded(on=START, start=start, until=until))
    dates = {date.fromordinal(day) for day in best_fit(bench.planner(START)).dates}
    assert dates
    assert not any(start <= day <= until for day in dates for start, until in away)


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


def test_a_short_plan_has_the_days_of_a_long_one(bench: Bench, demo_climate: Climate) -> None:
    """Whoever plans two months finds what stands on each of their days in the plan of the year."""
    taken(bench, house(bench, demo_climate, 2, 7, MIXED).planner(START))
    last = START + 40 * DAY
    short, whole = (
        [(task.id, task.on) for task in bench.planner(START, until).plan("rounds").tasks if task.on <= last]
        for until in (START + 62 * DAY, None)
    )
    assert short
    assert short == whole
