"""Rules 1-3 and 5 of what a tick, a look and a missed care mean; oracle: the rules' text, days counted by hand."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest

from carecal.app.actions.care import done, leave, missed
from carecal.app.actions.pots import move
from carecal.app.actions.whole_round import done_round
from carecal.collection.entries import PlaceAdded, SettingChanged
from tests.app.diary import DAY, DUE, EVERY, START, WATERED, Diary, even_year


def test_a_task_says_look_at_until_the_first_honest_entry(diary: Diary) -> None:
    """Rule 1: nothing planned is certain before the first entry, everything is after it."""
    diary.plant()
    assert not any(task.certain for task in diary.wettings(START))
    diary.says(DUE, done, "watering", ["tide"])
    assert all(task.certain for task in diary.wettings(DUE))


def test_what_was_felt_before_any_known_wetting_leaves_the_next_one_a_look(diary: Diary) -> None:
    """Rule 1: nobody knows since when it dried, so the pace is a guess yet; the next answer tells one."""
    diary.plant(watered=None)
    diary.says(START, leave, "watering", ["tide"])
    first = diary.next(START + DAY).on
    assert not diary.next(first).certain
    diary.says(first, done, "watering", ["tide"], felt="right")
    assert not diary.next(first).certain
    second = diary.next(first).on
    diary.says(second, done, "watering", ["tide"], felt="right")
    assert diary.next(second).certain


@pytest.mark.parametrize("answer", [leave, missed])
def test_a_look_after_damp_or_missed_is_never_taken_as_watered(
    diary: Diary, answer: Callable[..., Any]
) -> None:
    """Rule 2: the last word was that it got no water; unanswered, the look stays open as overdue."""
    diary.plant()
    diary.says(DUE, answer, "watering", ["tide"])
    again = diary.next(DUE)
    later = again.latest + 2 * DAY
    assert (diary.next(later).status, diary.next(later).due) == ("overdue", again.due)
    assert "assumed" not in diary.past(later).values()
    diary.says(later, done, "watering", ["tide"], felt="right")
    after = diary.next(later)
    assert diary.past(after.latest + 2 * DAY)[after.id] == "assumed"


def test_an_assumed_wetting_makes_nothing_certain(diary: Diary) -> None:
    """Rule 1: only an honest entry ends 'look at'."""
    diary.plant()
    later = DUE + 2 * DAY
    assert diary.past(later) == {"task/1/1/wetting/1": "assumed"}
    assert not diary.next(later).certain


@pytest.mark.parametrize(
    ("day", "status"),
    [
        (DUE - 2 * DAY, "planned"),  # before its care day
        (DUE, "open"),  # from its care day
        (DUE + DAY, "open"),  # until latest
    ],
)
def test_a_task_is_planned_then_open_until_latest(diary: Diary, day: date, status: str) -> None:
    """Rule 2: planned before the care day, open from then until `latest`."""
    diary.plant()
    task = diary.next(day)
    assert (task.id, task.status) == ("task/1/1/wetting/1", status)


def test_an_open_task_stands_on_today(diary: Diary) -> None:
    """Interface 4: an open task stands on as_of, its due day stays."""
    diary.plant()
    task = diary.next(DUE + DAY)
    assert (task.on, task.due) == (DUE + DAY, DUE)


def test_not_ticked_is_assumed_on_its_care_day_twice_then_overdue(diary: Diary) -> None:
    """Rule 2: assumed at most twice running, then overdue; the drying counts from the assumed care days."""
    diary.plant()
    third = DUE + 2 * EVERY
    task = diary.next(third + 2 * DAY)
    assert diary.past(third + 2 * DAY) == {"task/1/1/wetting/1": "assumed", "task/1/1/wetting/2": "assumed"}
    assert (task.id, task.status, task.due, task.on) == (
        "task/1/1/wetting/3",
        "overdue",
        third,
        third + 2 * DAY,
    )


def test_an_overdue_wetting_suspends_later_ones_until_answered(diary: Diary) -> None:
    """Rule 2: one line, carried to today; the plan goes on once it is answered."""
    diary.plant()
    day = DUE + 2 * EVERY + 10 * DAY
    assert [task.status for task in diary.wettings(day)] == ["overdue"]
    diary.says(day, done, "watering", ["tide"])
    assert diary.next(day).due == day + EVERY


@pytest.mark.parametrize("state", [{"came": START}, {"stage": "new-tips", "roots": 2, "longest_mm": 20}])
def test_a_plant_on_watch_is_overdue_at_once(diary: Diary, state: dict[str, Any]) -> None:
    """Rule 2: in quarantine or with new tips nothing is assumed."""
    diary.plant(**state)
    first = diary.next(START)
    task = diary.next(first.latest + DAY)
    assert (task.id, task.status) == (first.id, "overdue")


def test_careful_assumes_nothing(diary: Diary) -> None:
    """Rule 2: `ticking careful`, all overdue."""
    diary.plant()
    diary.writes(START, SettingChanged(on=START, key="ticking", value="careful"))
    assert diary.next(DUE + 2 * DAY).status == "overdue"
    assert diary.looks(START + 45 * DAY)[0].status == "overdue"


def test_none_assumes_without_end(diary: Diary) -> None:
    """Rule 2: `ticking none`, assumed on and on, nothing overdue, the task ahead goes on counting."""
    diary.plant()
    diary.writes(START, SettingChanged(on=START, key="ticking", value="none"))
    day = DUE + 10 * EVERY
    assert set(diary.past(day).values()) == {"assumed"}
    assert not any(task.status == "overdue" for task in diary.plan(day).tasks)
    assert diary.next(day).due == day


def test_looks_are_never_assumed(diary: Diary) -> None:
    """Rule 2: off watch a look is skipped, and the next counts from the skipped day (every 28 days)."""
    diary.plant()
    first = diary.looks(START)[0]
    later = first.latest + 10 * DAY
    following = diary.looks(later)[0]
    plan = diary.plan(later, start=START)
    assert plan.task(first.id).status == "skipped"
    assert following.due == plan.task(first.id).on + timedelta(days=28)


def test_an_overdue_look_on_watch_suspends_only_itself(diary: Diary) -> None:
    """Rule 2: on watch a look is overdue; the wettings, all ticked, go on."""
    diary.plant(came=START)
    look = next(task for task in diary.looks(START) if task.joined_to is None)
    day = look.latest + DAY
    while (task := diary.next(START)).on < day:
        diary.says(task.on, done, task.care, ["tide"])
        if diary.next(day).status == "planned":
            break
    overdue = [task for task in diary.plan(day).tasks if task.status == "overdue"]
    assert [task.id for task in overdue] == [look.id]
    assert len(diary.wettings(day)) > 10


def test_what_the_round_excepted_is_overdue_and_never_assumed(diary: Diary) -> None:
    """Rule 2: named by --except."""
    diary.plant("tide")
    diary.plant("gable")
    diary.says(DUE, done_round, excepted=["gable"])
    assert diary.next(DUE + 2 * DAY, "gable").status == "overdue"
    assert diary.next(DUE, "tide").due == DUE + EVERY


def test_an_assumed_task_is_replaced_by_its_tick_inside_its_window(diary: Diary) -> None:
    """Rule 2: `--task` with a day of its window replaces an assumed wetting."""
    diary.plant()
    late = DUE + 3 * DAY
    diary.says(late, done, "watering", ["tide"], task="task/1/1/wetting/1", on=DUE + DAY)
    assert diary.past(late) == {"task/1/1/wetting/1": "done"}
    assert diary.next(late).due == DUE + DAY + EVERY


def test_left_is_due_again_after_a_quarter_of_the_days(diary: Diary) -> None:
    """Rule 3: ¼ of 6 days is 1.5, rounded half up 2 days later; the slot is closed."""
    diary.plant()
    diary.says(DUE, leave, "watering", ["tide"])
    assert diary.past(DUE) == {"task/1/1/wetting/1": "left"}
    assert diary.next(DUE).due == DUE + 2 * DAY


def test_leave_again_names_the_days(diary: Diary) -> None:
    """Interface 3: `leave --again DAYS`."""
    diary.plant()
    diary.says(DUE, leave, "watering", ["tide"], again_days=4)
    assert diary.next(DUE).due == DUE + 4 * DAY


def test_missed_takes_trailing_assumed_wettings_back(diary: Diary) -> None:
    """Rule 3: skipped, drying goes on from the last real one, due today."""
    diary.plant()
    day = DUE + EVERY + 3 * DAY
    diary.says(day, missed, "watering", ["tide"])
    assert set(diary.past(day).values()) == {"skipped"}
    task = diary.next(day)
    assert (task.due, task.status) == (day, "open")


def test_a_missed_moistening_is_the_aids_and_leaves_the_pot_alone(diary: Diary) -> None:
    """Rule 3: `missed moistening` takes back what the aid has, due today; the pot's wettings stay."""
    diary.plant(aids=("cloth",))
    day = START + 5 * DAY
    before = [(task.id, task.on) for task in diary.wettings(day)]
    diary.says(day, missed, "moistening", ["tide"])
    cloth = next(task for task in diary.plan(day).tasks if task.aid == "cloth")
    assert (cloth.due, cloth.status) == (day, "open")
    assert [(task.id, task.on) for task in diary.wettings(day)] == before


def test_a_left_moistening_is_the_aids(diary: Diary) -> None:
    """Rule 3: `leave moistening` answers the cloth, not the pot."""
    diary.plant(aids=("cloth",))
    before = [(task.id, task.on) for task in diary.wettings(START + 3 * DAY)]
    diary.says(START + 3 * DAY, leave, "moistening", ["tide"], again_days=2)
    cloth = next(task for task in diary.plan(START + 3 * DAY).tasks if task.aid == "cloth")
    assert cloth.due == START + 5 * DAY
    assert [(task.id, task.on) for task in diary.wettings(START + 3 * DAY)] == before


def test_an_early_wetting_takes_the_slot_and_starts_the_drying_anew(diary: Diary) -> None:
    """Rule 3: outside every window it takes the nearest unanswered one."""
    diary.plant()
    early = DUE - 3 * DAY
    diary.says(early, done, "watering", ["tide"])
    assert diary.past(early) == {"task/1/1/wetting/1": "done"}
    assert diary.next(early).due == early + EVERY


def test_a_late_wetting_within_the_window_counts_from_its_own_day(diary: Diary) -> None:
    """Rule 3: any wetting starts the drying anew."""
    diary.plant()
    diary.says(DUE + DAY, done, "watering", ["tide"])
    assert diary.next(DUE + DAY).due == DUE + DAY + EVERY


def test_a_flush_slot_answered_with_plain_water_leaves_the_flush_due(diary: Diary) -> None:
    """Rule 3: what was really done counts."""
    diary.plant()
    day = START
    for task in diary.wettings(START):
        day = task.on
        if task.care == "flushing":
            break
        diary.says(day, done, task.care, ["tide"], task=diary.next(day).id)
    diary.says(day, done, "watering", ["tide"])
    assert diary.next(day).care == "flushing"


def test_the_round_ticks_each_task_as_planned_with_joined_looks(diary: Diary) -> None:
    """Rule 3: a look joined to a wetting is done by the wetting's tick and needs no entry."""
    diary.plant()
    joined = next(task for task in diary.looks(START) if task.joined_to)
    for day in sorted({task.on for task in diary.plan(START).tasks if task.on <= joined.on}):
        diary.says(day, done_round)
    plan = diary.plan(joined.on, start=START)
    assert plan.task(joined.id).status == "done"
    assert joined.id not in {record.data.get("task") for record in diary.collection.journal.records()}


def test_the_round_takes_in_what_was_carried_over(diary: Diary) -> None:
    """Rule 3: `done --round` answers overdue tasks too."""
    diary.plant(came=START)
    day = DUE + 4 * DAY
    assert diary.next(day).status == "overdue"
    diary.says(day, done_round)
    assert diary.next(day).due == day + EVERY


def test_slot_1_is_a_look_on_the_day_of_entering(diary: Diary) -> None:
    """Rule 3, entered late: without a last wetting known slot 1 is a look that day."""
    diary.plant(watered=None)
    first = diary.next(START)
    assert (first.due, first.slot, first.certain) == (START, 1, False)


def test_watered_says_when_the_next_wetting_is(diary: Diary) -> None:
    """Rule 3, entered late: by `--watered` the next wetting is known."""
    diary.plant(watered=WATERED)
    assert diary.next(START).due == WATERED + EVERY


@pytest.mark.parametrize(("days_before", "begins"), [(27, True), (28, False)])
def test_quarantine_begins_by_itself_only_within_28_days(
    diary: Diary, days_before: int, begins: bool
) -> None:
    """Rule 3, entered late: less than 28 days before."""
    diary.plant(came=START - days_before * DAY)
    assert ("quarantine" in diary.plan(START).plants[0].states) is begins


def test_a_move_midway_keeps_the_elapsed_share(diary: Diary) -> None:
    """Rule 5: after 3 of 6 days half is left: of 3 days at a place that dries twice as fast, 2 (half up of 1.5)."""
    diary.plant()
    diary.writes(
        START,
        PlaceAdded(
            on=START, place="balcony", place_kind="warm-sill", climate=even_year(temp_c=27.0, light=10.0)
        ),
    )
    moved = WATERED + 3 * DAY
    diary.says(moved, move, ["tide"], "balcony")
    rhythm = diary.plan(moved).rhythms[0]
    elapsed = 3 / 6
    assert diary.next(moved).due == moved + timedelta(days=int((1 - elapsed) * rhythm.days + 0.5))
