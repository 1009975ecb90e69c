"""Rules 14, 15, 19, 20 and 23: what counts on a day, corrections, two people, stages by hand, the clock."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from carecal.app import Now
from carecal.app.actions.care import done, leave
from carecal.app.actions.corrections import amend, undo
from carecal.app.actions.looks import observe
from carecal.app.actions.pots import move, pot
from carecal.app.command_context import believed, check_clock, clock_doubt
from carecal.app.documents.today import today
from carecal.collection.entries import ClockConfirmed, PlaceAdded, PlaceChanged
from carecal.errors import AlreadyDone, ClockError, Refused
from tests.app.diary import DAY, DUE, EVERY, START, Diary, at, even_year


@pytest.fixture
def two(diary: Diary) -> Diary:
    """Return a diary with a plant on the sill and a second, warmer place."""
    diary.plant()
    diary.writes(
        START, PlaceAdded(on=START, place="balcony", place_kind="warm-sill", climate=even_year(temp_c=27.0))
    )
    return diary


# Rule 14


def test_entries_dated_later_do_not_count(two: Diary) -> None:
    """Rule 14: as_of D counts what is dated up to D."""
    before = two.plan(DUE - DAY).tasks
    two.says(DUE, done, "watering", ["tide"])
    assert two.plan(DUE - DAY).tasks == before


def test_facts_dated_in_the_future_are_refused(two: Diary) -> None:
    """Rule 14: nothing happened tomorrow."""
    with pytest.raises(Refused, match=r"2026-03-07 lies ahead; .* up to today, 2026-03-06"):
        two.tries(DUE, done, "watering", ["tide"], on=DUE + DAY)


def test_a_planned_move_changes_nothing_until_confirmed(two: Diary) -> None:
    """Rule 14: nothing else changes; on its day the round asks; confirmed it is asked no more."""
    before = two.plan(START).rhythms
    two.says(START, move, ["tide"], "balcony", on=DUE, planned=True)
    assert two.plan(START).rhythms == before
    assert today(two.collection, DUE - DAY)["asks"] == []
    assert [ask["plant"] for ask in today(two.collection, DUE)["asks"]] == ["tide"]
    two.says(DUE, move, ["tide"], "balcony")
    assert today(two.collection, DUE)["asks"] == []


def test_a_changed_place_is_read_on_that_day_for_its_plants(two: Diary) -> None:
    """Rule 14: `place change` is a reading on that day."""
    day = START + DAY
    two.writes(day, PlaceChanged(on=day, place="sill", climate=even_year(temp_c=27.0, light=12.0)))
    first = two.plan(day).rhythms[0]
    assert first.start == day
    assert first.days < 6


# Rule 15


def test_undo_restores_the_plan(two: Diary) -> None:
    """Rule 15: an undo takes back the whole command."""
    before = two.plan(DUE).tasks
    two.says(DUE, done, "watering", ["tide"])
    two.says(DUE, undo)
    assert two.plan(DUE).tasks == before


def test_undo_again_takes_back_the_command_before(two: Diary) -> None:
    """Rule 15: what was undone is not undone twice."""
    before = two.plan(DUE + DAY).tasks
    two.says(DUE, leave, "watering", ["tide"], again_days=1)
    two.says(DUE + DAY, done, "watering", ["tide"])
    two.says(DUE + DAY, undo)
    two.says(DUE + DAY, undo)
    assert two.plan(DUE + DAY).tasks == before


def test_an_undo_can_be_undone(two: Diary) -> None:
    """Rule 15: an undo is an entry; taking it back brings the command again."""
    two.says(DUE, done, "watering", ["tide"])
    after = two.plan(DUE).tasks
    number = two.says(DUE, undo).records[0].n
    two.says(DUE, undo, number)
    assert two.plan(DUE).tasks == after


@pytest.fixture
def needed(two: Diary) -> tuple[Diary, int]:
    """Return a diary in which a tick names a task of a potting, and the potting's entry."""
    entry = two.says(DUE, pot, ["tide"], "bark", "plastic", 12).records[0].n
    task = two.next(DUE)
    two.says(task.on, done, "watering", ["tide"], task=task.id)
    return two, entry


def test_undo_is_refused_while_later_entries_need_it(needed: tuple[Diary, int]) -> None:
    """Rule 15: the later entry is named."""
    diary, entry = needed
    with pytest.raises(
        Refused, match=rf"later entries need it: entry {entry + 1} \(done\).*take them back too"
    ):
        diary.tries(DUE + 10 * DAY, undo, entry)


def test_undo_with_later_takes_those_back_too(needed: tuple[Diary, int]) -> None:
    """Rule 15: `--with-later`."""
    diary, entry = needed
    diary.says(DUE + 10 * DAY, undo, entry, with_later=True)
    assert diary.plan(DUE + 10 * DAY).plants[0].potting == 1
    assert not [e for e in diary.collection.timeline(DUE + 10 * DAY).plants[1].events if e.kind == "wet"]


def test_what_was_taken_back_cannot_be_taken_back_again(two: Diary) -> None:
    """Rule 15: the same entry twice."""
    entry = two.says(DUE, done, "watering", ["tide"]).records[0].n
    two.says(DUE, undo, entry)
    with pytest.raises(Refused, match=f"entry {entry} was taken back already"):
        two.tries(DUE, undo, entry)


def test_an_amended_day_refolds_everything(two: Diary) -> None:
    """Rule 15: corrections of any age refold."""
    entry = two.says(DUE, done, "watering", ["tide"]).records[0].n
    two.says(DUE + DAY, amend, entry, {"on": str(DUE - DAY)})
    assert two.next(DUE + DAY).due == DUE - DAY + EVERY


@pytest.mark.parametrize(
    ("changes", "match"),
    [
        ({"felt": "soggy"}, "felt: 'soggy' is not"),
        ({"on": "2026-12-01"}, "2026-12-01 lies ahead"),
        ({"on": "2026-02-01"}, "lies before its plant was entered"),
        ({"plant": "gable"}, "the plant of an entry cannot be amended"),
        ({"colour": "red"}, "colour: unknown key"),
        ({"care": "watering"}, "says so already"),
    ],
)
def test_an_amendment_is_checked_as_the_entry_was(two: Diary, changes: dict[str, str], match: str) -> None:
    """What the entry's own model and its plant's life do not allow is refused."""
    entry = two.says(DUE, done, "watering", ["tide"]).records[0].n
    with pytest.raises(Refused, match=match):
        two.tries(DUE, amend, entry, changes)


def test_an_amendment_takes_a_field_out(two: Diary) -> None:
    """An empty value is no value."""
    entry = two.says(DUE, done, "watering", ["tide"], felt="right").records[0].n
    two.says(DUE, amend, entry, {"felt": ""})
    assert next(e for e in two.collection.timeline(DUE).plants[1].events if e.kind == "wet").felt is None


# Rule 19


def test_the_second_tick_of_a_task_is_answered(two: Diary) -> None:
    """Rule 19: 'already done 09:00 by …', no entry."""
    two.says(DUE, done, "watering", ["tide"], task="task/1/1/wetting/1", by="Ida")
    head = two.collection.journal.head()
    with pytest.raises(AlreadyDone, match="already done 09:00 by Ida"):
        two.says(DUE, done, "watering", ["tide"], task="task/1/1/wetting/1", by="Jon")
    assert two.collection.journal.head() == head


def test_a_tick_without_its_task_answers_it_too(two: Diary) -> None:
    """Rule 19: whoever was first answered the task, whether it was named or not."""
    two.says(DUE, done, "watering", ["tide"], by="Ida")
    with pytest.raises(AlreadyDone, match="already done 09:00 by Ida"):
        two.tries(DUE, done, "watering", ["tide"], task="task/1/1/wetting/1")


def test_a_task_that_was_left_is_answered(two: Diary) -> None:
    """Rule 19: leaving is an answer."""
    two.says(DUE, leave, "watering", ["tide"], by="Ida")
    with pytest.raises(AlreadyDone, match="already looked at and left 09:00 by Ida"):
        two.tries(DUE, done, "watering", ["tide"], task="task/1/1/wetting/1")


# Rule 20

ESTABLISHED: dict[str, Any] = {"roots": 6, "longest_mm": 120.0, "leaves": 4}
ROOTING: dict[str, Any] = {"roots": 4, "longest_mm": 60.0, "leaves": 4}


def test_a_stage_set_by_hand_holds_while_observations_yield_what_they_did(two: Diary) -> None:
    """Rule 20: the same yield again changes nothing."""
    two.says(START, observe, "tide", **ROOTING)
    two.says(START + DAY, observe, "tide", stage="new-tips")
    two.says(START + 2 * DAY, observe, "tide", **ROOTING)
    assert two.plan(START + 2 * DAY).plants[0].stage == "new-tips"


def test_a_stage_set_by_hand_ends_with_another_yield(two: Diary) -> None:
    """Rule 20: an observation yields another stage than observations gave when it was set."""
    two.says(START, observe, "tide", **ROOTING)
    two.says(START + DAY, observe, "tide", stage="new-tips")
    two.says(START + 30 * DAY, observe, "tide", **ESTABLISHED)
    assert two.plan(START + 30 * DAY).plants[0].stage == "established"


# Rule 23


def clock(day: date) -> Now:
    """Return the real clock's moment."""
    instant = datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
    return Now(day, instant, instant)


@pytest.mark.parametrize(
    ("days", "match"),
    [
        (-1, "the newest entry was written on 2026-03-02"),
        (0, None),
        (400, None),
        (401, "401 days after the newest entry, 2026-03-02"),
    ],
)
def test_a_clock_before_the_newest_entry_or_400_days_after_it_is_not_believed(
    two: Diary, days: int, match: str | None
) -> None:
    """Rule 23: both ends."""
    now = clock(START + timedelta(days=days))
    if match is None:
        check_clock(two.collection, now)
        assert believed(two.collection, now) == now
        return
    with pytest.raises(ClockError, match=match):
        check_clock(two.collection, now)


def test_nothing_ages_by_a_clock_that_is_not_believed(two: Diary) -> None:
    """Rule 23: reading goes on from the newest entry's day."""
    assert believed(two.collection, clock(START + timedelta(days=900))).day == START


def test_a_named_day_is_exempt(two: Diary) -> None:
    """Rule 23: `--as-of`."""
    assert clock_doubt(two.collection, at(START + timedelta(days=900))) == ""


def test_a_confirmed_clock_is_believed(two: Diary) -> None:
    """Rule 23: until `settings clock confirmed`."""
    now = clock(START + timedelta(days=900))
    two.collection.record(ClockConfirmed(on=now.day), now=now)
    check_clock(two.collection, now)
