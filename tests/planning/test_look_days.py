"""On which day a plant is looked over, and when a cloth is moistened: with the pot, on days that are there.

Oracle: windows counted by hand; a look slips by a quarter of its days, off watch up to 3 days later for a wetting
and a week, or half its days, for a care day (models I9).
"""

from __future__ import annotations

from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING

import pytest

from carecal.collection.entries import RoundsTaken, SettingChanged
from carecal.planning.look_days import Due, day_there, wetting_near
from tests.app.diary import DAY, START, Diary

if TYPE_CHECKING:
    from pathlib import Path

    from carecal.planning.wettings.slots import Slot

CARE_DAYS = (9, 18, 27)  # each with a day of window either way


@pytest.fixture(scope="module")
def slots(tmp_path_factory: pytest.TempPathFactory) -> list[Slot]:
    """Return wettings of a plant on three days."""
    diary = Diary(tmp_path_factory.mktemp("slots"))
    diary.plant()
    made = diary.collection.planner(START).plant_planners[1].slots_ahead("rounds")[: len(CARE_DAYS)]
    diary.close()
    return [
        slot._replace(day=day, due=day, earliest=day - 1, latest=day + 1, answered=None, id=f"wetting {day}")
        for slot, day in zip(made, CARE_DAYS, strict=True)
    ]


@pytest.mark.parametrize(
    ("days", "due", "last", "watched", "rides_on", "why"),
    [
        (28, 10, 0, False, 9, "it falls into the window of the 9th, [8, 10]"),
        (28, 23, 0, False, 18, "slips 7 days: the 18th lies 5 before it, and sooner is safer than the 27th"),
        (28, 22, 18, False, 27, "on the 18th it was looked over already"),
        (7, 7, 0, False, 9, "slips a day; off watch 3 days later for a wetting"),
        (7, 14, 8, False, None, "the 18th is 4 days later"),
        (7, 15, 8, False, 18, "the 18th is 3 days later"),
        (7, 11, 3, False, None, "the 9th is 2 days sooner, and it slips by one"),
        (7, 7, 0, True, None, "on watch it slips by a day alone"),
        (14, 15, 0, True, None, "on watch: by the 18th, but the window of that wetting ends on the 19th"),
        (14, 16, 0, True, 18, "on watch: 3 days slip, and the window of the 18th ends on the 19th"),
        (14, 17, 0, True, 18, "it falls into its window, [17, 19]"),
        (2, 17, 15, True, None, "a look every other day waits for no wetting"),
        (2, 19, 17, True, 18, "a look every other day rides on a wetting before it"),
    ],
)
def test_a_look_rides_on_the_wetting_near_it(
    slots: list[Slot], days: int, due: int, last: int, watched: bool, rides_on: int | None, why: str
) -> None:
    """Its plant's own wetting in whose window it lies, else the last before it that its own slip reaches."""
    found = wetting_near(Due.of(due, days, last, is_watched=watched, beside=None), slots, "rounds")
    assert (found.day if found is not None else None) == rides_on, why


@pytest.mark.parametrize(("slip", "due", "rides_on"), [(1, 11, None), (1, 10, 9), (0, 10, None), (0, 9, 9)])
def test_what_was_found_beside_it_has_days_of_its_own(
    slots: list[Slot], slip: int, due: int, rides_on: int | None
) -> None:
    """Such a look takes a wetting only as near as it may slip itself, whatever the stage's days."""
    found = wetting_near(Due.of(due, 28, 0, is_watched=False, beside=slip), slots, "rounds")
    assert (found.day if found is not None else None) == rides_on


@pytest.mark.parametrize(
    ("days", "watched", "dates", "on", "why"),
    [
        (14, False, (), 7, "slips 3 days: Saturday the 7th"),
        (7, False, (), 10, "Monday to Wednesday, and until Friday the 13th no Saturday: its due day"),
        (10, False, (), 14, "Sunday to Thursday hold no Saturday, but the 14th comes within half its days"),
        (10, True, (), 10, "on watch it waits for no care day"),
        (7, False, (13,), 13, "a day that was taken, within half its days"),
        (7, False, (9, 13), 9, "a day that was taken in its window"),
    ],
)
def test_a_look_without_a_wetting_takes_a_care_day_that_is_there(
    tmp_path: Path, days: int, watched: bool, dates: tuple[int, ...], on: int, why: str
) -> None:
    """Due on Tuesday 10 March 2026, with Saturdays preferred."""
    diary = Diary(tmp_path, weekdays="sat")
    if dates:
        diary.writes(START, RoundsTaken(on=START, dates=tuple(date(2026, 3, day) for day in dates)))
    due = date(2026, 3, 10).toordinal()
    look = Due.of(due, days, due - days, is_watched=watched, beside=None)
    found = day_there(look, due - look.slip, diary.collection.planner(START).context)
    assert date.fromordinal(found) == date(2026, 3, on), why
    diary.close()


def test_no_look_of_a_healthy_plant_makes_a_day(diary: Diary) -> None:
    """A spike asks for a look every 7 days, water comes every 6: every one of a year rides, a week apart at most."""
    diary.plant(flowering="in-spike")
    diary.writes(START, SettingChanged(on=START, key="weekdays", value="wed"))
    tasks = diary.plan(START).tasks
    looks = [task for task in tasks if task.care == "inspection"]
    wetted = {task.on for task in tasks if task.care != "inspection"}
    assert len(looks) > 40
    assert {look.on for look in looks} <= wetted
    assert max((b.on - a.on).days for a, b in pairwise(looks)) <= 10  # 7 days and 3


def test_a_cloth_is_moistened_with_the_pot_a_day_sooner(diary: Diary) -> None:
    """Bark in 9 cm every 5 days, a cloth every 3: due on the 5th, 8th, 11th; the pot is wetted on the 5th and 10th."""
    diary.plant(aids=("cloth",), size_cm=9)
    tasks = [task for task in diary.plan(START).tasks if task.on < START + 19 * DAY]
    assert [task.on.day for task in tasks if task.care == "moistening"] == [5, 8, 10, 13, 15, 18, 20]
    assert [task.on.day for task in tasks if task.care in {"watering", "feeding"}] == [5, 10, 15, 20]


def test_a_cloth_keeps_its_own_days_while_water_is_overdue(tmp_path: Path) -> None:
    """What is overdue has no day to ride on; planned day by day or at once, the same days come out."""
    diary = Diary(tmp_path, ticking="careful")
    diary.plant(aids=("cloth",), size_cm=9)
    moving = diary.collection.planner(START)
    later = START + 9 * DAY
    for passed in range(10):
        moving.move_to(START + passed * DAY)
        moving.plan("rounds")
    found = [(task.id, task.on, task.status) for task in moving.plan("rounds").tasks]
    assert found == [(task.id, task.on, task.status) for task in diary.plan(later).tasks]
    assert {status for _, _, status in found} >= {"overdue"}
    diary.close()


@pytest.mark.parametrize(
    ("days", "due", "dates", "on", "why"),
    [
        (2, 10, (9, 13), 9, "a day sooner: whoever is looked at every other day loses nothing by it"),
        (2, 10, (10, 9), 10, "its own day is a care day"),
        (2, 10, (11,), 10, "never later"),
        (1, 10, (9,), 10, "what is looked at daily stays daily"),
        (2, 10, (8,), 10, "the day of the last look is no look"),
    ],
)
def test_a_look_every_other_day_comes_a_day_sooner_for_a_day_that_was_taken(
    tmp_path: Path, days: int, due: int, dates: tuple[int, ...], on: int, why: str
) -> None:
    """It has no slip of its own, a quarter of two days being less than one."""
    diary = Diary(tmp_path)
    diary.writes(START, RoundsTaken(on=START, dates=tuple(date(2026, 3, day) for day in sorted(dates))))
    day = date(2026, 3, due).toordinal()
    look = Due.of(day, days, day - days, is_watched=True, beside=None)
    found = day_there(look, day, diary.collection.planner(START).context)
    assert date.fromordinal(found) == date(2026, 3, on), why
    diary.close()


def test_the_top_of_moss_is_damped_on_a_care_day_a_day_sooner(tmp_path: Path) -> None:
    """Every 4 days at demand 1, care days Wednesday and Saturday; 2 to 4 days is practice (wraps.toml).

    Due on Friday 6 and Tuesday 10 March, a day before which is no care day; on Saturday 14, Wednesday 18; on Sunday 22,
    so on the 21st; on Wednesday 25.
    """
    diary = Diary(tmp_path, weekdays="wed,sat")
    diary.plant(stage="rootless", medium="moss", container="clear-plastic", size_cm=9, watered=START)
    tasks = [task for task in diary.plan(START).tasks if task.on < START + 24 * DAY]
    assert [task.on.day for task in tasks if task.care == "moistening"] == [6, 10, 14, 18, 21, 25]
    diary.close()
