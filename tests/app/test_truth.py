"""What was really done against what was taken as done; oracle: the rules' text (design §3 rules 1-4), days by hand."""

from __future__ import annotations

from contextlib import closing
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from carecal.app.actions.assumed import confirm
from carecal.app.actions.care import done, leave, missed
from carecal.app.actions.looks import observe
from carecal.app.actions.spans import pause, resume
from carecal.app.actions.whole_round import done_round
from carecal.app.answers import answer
from carecal.app.documents.looking_back import assumed_in
from carecal.app.documents.today import today
from carecal.app.documents.why import why
from carecal.collection.entries import PlaceAdded
from carecal.collection.entries_care import Done, Excepted, Left
from carecal.errors import ConfirmationNeeded, Refused
from carecal.plan.model import Gate, Reason, Task
from carecal.wording.today import today_lines
from carecal.wording.why import why_lines
from tests.app.diary import DAY, DUE, START, Diary, at


def _ordered(diary: Diary, day: date) -> Task:
    """Say that the rhythm was right once, so that the next wetting is an order; return it."""
    diary.plant()
    diary.says(DUE, done, "watering", ["tide"], felt="right")
    return diary.next(day)


def test_damp_leads_to_another_look_and_no_blind_order(diary: Diary) -> None:
    """Felt damp, the next one is 'look – water if dry'; after one that was right it is an order again."""
    assert _ordered(diary, DUE).certain
    diary.says(DUE + 6 * DAY, leave, "watering", ["tide"])
    following = diary.next(DUE + 6 * DAY)
    assert not following.certain
    diary.says(following.on, done, "watering", ["tide"], felt="right")
    assert diary.next(following.on).certain


def test_a_round_ticked_blindly_makes_no_order_of_a_look(diary: Diary) -> None:
    """`done --round` says that it was wetted, not that it was due; said by its name or felt, it does."""
    diary.plant()
    diary.says(DUE, done_round)
    after = diary.next(DUE)
    assert diary.past(DUE)["task/1/1/wetting/1"] == "done"
    assert not after.certain
    diary.says(after.on, done_round, felt="right")
    assert diary.next(after.on).certain


def test_parched_is_asked_sooner_next_time(diary: Diary) -> None:
    """The look after 'parched' stands on the first day of its window, and is a look."""
    _ordered(diary, DUE)
    diary.says(DUE + 7 * DAY, done, "watering", ["tide"], felt="parched")
    following = diary.next(DUE + 7 * DAY)
    assert (following.on, following.certain) == (following.earliest, False)
    assert following.earliest < following.due


def test_wait_until_it_is_right_is_said_of_damp_alone(diary: Diary) -> None:
    """Two answers of 'parched' never lead to 'leave it until it is right'; two of 'damp' do."""
    diary.plant()
    diary.plant("gable")
    day = DUE
    for _ in range(3):
        diary.says(day, done, "watering", ["tide"], felt="parched")
        diary.says(day, done, "watering", ["gable"], felt="damp")
        day += 6 * DAY
    assert "leave it until" not in diary.next(day - 6 * DAY, "tide").asks
    assert "leave it until" in diary.next(day - 6 * DAY, "gable").asks


def test_the_reason_of_a_change_is_the_answer_that_made_it(diary: Diary) -> None:
    """A rhythm that an answer moved names the answer and its day."""
    diary.plant()
    diary.says(DUE, leave, "watering", ["tide"])
    told = why(diary.collection, DUE, "tide")
    assert told["rhythms"][0]["reasons"][0]["text"].endswith("you felt it damp on 6 March")


def test_what_was_assumed_is_asked_and_said_to_be_true(diary: Diary) -> None:
    """Two days after its window `today`, why and the log tell it; one word makes it a fact on that day."""
    diary.plant()
    later = DUE + 2 * DAY
    shown = list(today_lines(today(diary.collection, later, 1)))
    assert "? I took Tide as fed on 6 March; true?" in shown
    assert "  yes: carecal confirm tide   no: carecal missed tide" in shown
    assert assumed_in(diary.collection, at(later), "tide") == [
        "2026-03-06  tide  taken as fed, nobody said so"
    ]
    assert any(
        "taken as fed, nobody said so" in line for line in why_lines(why(diary.collection, later, "tide"))
    )
    diary.says(later, confirm, ["tide"])
    assert diary.past(later) == {"task/1/1/wetting/1": "done"}
    assert today(diary.collection, later, 1)["assumed"] == []
    with pytest.raises(Refused, match="nothing was taken as done of tide"):
        diary.tries(later, confirm, ["tide"])
    with pytest.raises(Refused, match="every wetting was answered"):
        diary.tries(later, confirm)


def test_what_was_assumed_and_never_happened_is_missed(diary: Diary) -> None:
    """The other word takes it back, and nothing is asked any more."""
    diary.plant()
    later = DUE + 2 * DAY
    diary.says(later, missed, "watering", ["tide"])
    assert today(diary.collection, later, 1)["assumed"] == []
    assert diary.next(later).on == later


def test_last_watered_means_water(diary: Diary) -> None:
    """A look or a plant that was left is no watering."""
    diary.plant()
    diary.says(DUE - DAY, observe, "tide", note="a leaf")
    diary.says(DUE, leave, "watering", ["tide"])
    row = next(r for r in today(diary.collection, DUE + DAY, 5)["rounds"] if r["tasks"])["tasks"][0]
    assert row["last_done_text"] == "watered 28 February"


def test_ticking_water_leaves_the_count_open(diary: Diary) -> None:
    """A joined look that asks for a count stays when water is ticked; what is counted answers it."""
    diary.plant(stage="new-tips", medium="moss")
    day = next(
        r
        for r in today(diary.collection, START, 40)["rounds"]
        if any(row["joined"] and "count" in row["text"] for row in r["tasks"])
    )["on"]
    when = date.fromisoformat(day)
    diary.says(when, done, "watering", ["tide"])
    assert [t.asks[:5] for t in diary.looks(when) if t.on == when] == ["count"]
    diary.says(when, observe, "tide", roots=2, longest_mm=12, tips=1)
    assert [t for t in diary.looks(when) if t.on == when] == []


def test_an_open_count_makes_no_day_of_its_own(tmp_path: Path) -> None:
    """Off watch it comes again on the next Wednesday or Saturday, or with the next wetting, never on a day alone."""
    with closing(Diary(tmp_path, weekdays="wed,sat")) as diary:
        diary.plant(stage="rooting-in", container="clear-plastic")
        for day in (START + n * DAY for n in range(60)):
            wettings = [t for t in diary.wettings(day) if t.on == day]
            if wettings and any(t.on == day and t.joined_to and "count" in t.asks for t in diary.looks(day)):
                break
            for task in wettings:
                diary.says(day, done, task.care, ["tide"], task=task.id)
        diary.says(day, done, wettings[0].care, ["tide"], task=wettings[0].id)
        assert diary.looks(day)[0].on == day  # on the day itself it stays open
        again = diary.looks(day + DAY)[0]
        assert (again.on.weekday() in {2, 5}, again.on > day, "count" in again.asks) == (True, True, True)
        assert again.status == ("open" if again.on == day + DAY else "planned")
        assert diary.looks(again.on)[0].status == "open"


def test_a_round_takes_how_it_felt_and_who_was_damp(diary: Diary) -> None:
    """`--felt` goes to what is wetted, `--damp` leaves, `--except` leaves out, also one with nothing to do."""
    for name in ("tide", "gable", "winch"):
        diary.plant(name)
    diary.plant("idle", watered=DUE - DAY, on=DUE - DAY)
    found = diary.tries(DUE, done_round, felt="right", damp=["gable"], excepted=["winch", "idle"])
    said = {entry.plant: entry for entry in found}  # type: ignore[attr-defined]
    assert isinstance(said["tide"], Done)
    assert said["tide"].felt == "right"
    assert isinstance(said["gable"], Left)
    assert isinstance(said["winch"], Excepted)
    assert "idle" not in said
    with pytest.raises(Refused, match="idle is not to be wetted in the round"):
        diary.tries(DUE, done_round, damp=["idle"])


def test_the_same_pause_twice_writes_nothing_and_one_may_end_ahead(diary: Diary) -> None:
    """An identical pause is refused by what it is; a pause resumed for a day ahead holds until the day before it."""
    diary.plant()
    start, until = START, START + 60 * DAY
    diary.says(START, pause, "feeding", start=start, until=until)
    with pytest.raises(Refused, match="that pause stands already: feeding, 2 March to 1 May 2026; nothing"):
        diary.tries(START, pause, "feeding", start=start, until=until)
    ahead = START + 10 * DAY
    diary.says(START, resume, "feeding", on=ahead)
    planner = diary.collection.planner(START).plant_planners[1]
    shut = ["pause" in planner.gates.shut_on(day.toordinal()) for day in (START, ahead - DAY, ahead)]
    assert shut == [True, True, False]
    diary.says(START, pause, "feeding", start=start, until=until)  # after it has ended it may be said anew


@pytest.mark.parametrize("longest", [12, 1200])
def test_a_root_ten_times_as_long_or_short_is_questioned(diary: Diary, longest: int) -> None:
    """A ruler read in centimetres for millimetres errs by ten, either way."""
    diary.plant(longest_mm=120, roots=3)
    with pytest.raises(ConfirmationNeeded, match="in cm perhaps"):
        diary.tries(DUE, observe, "tide", longest_mm=longest)


def test_a_gate_behind_one_that_is_shut_is_no_news(diary: Diary) -> None:
    """Who rests is not fed: that it gets cold meanwhile, or warm, changes nothing for the grower; salts never do."""
    diary.plant()
    plan = diary.plan(DUE)
    number = diary.collection.number_of("tide")

    def told(
        rests: tuple[bool, bool], others: tuple[bool, bool], gate: str = "medium-temperature"
    ) -> list[str]:
        former, later = (
            replace(
                plan,
                gates=(
                    Gate(number, "feeding", "rest", rest, None, None, (Reason("rest", "it rests"),)),
                    Gate(number, "feeding", gate, other, None, None, (Reason(gate, "too cold"),)),
                ),
            )
            for rest, other in zip(rests, others, strict=True)
        )
        return answer([], [], former, later)[1]

    assert told((True, True), (True, False)) == ["Tide: no feed for now: too cold."]
    assert told((False, False), (True, False)) == []
    assert told((False, False), (False, True)) == []
    assert told((True, True), (True, False), "salts") == []


def test_feeds_that_only_shift_are_no_news(diary: Diary) -> None:
    """Of three feeds that became plain water two come on other days: one is told."""
    diary.plant()
    plan = diary.plan(DUE)
    water, feed = (
        tuple(replace(t, care=care, status="planned") for t in diary.wettings(DUE, grouping="each")[1:6])
        for care in ("watering", "feeding")
    )
    former = replace(plan, tasks=(*feed[:3], *water[3:]))
    assert answer([], [], former, replace(plan, tasks=(*water[:3], *feed[3:])))[1] == [
        "One feed of March became plain water."
    ]
    assert answer([], [], former, replace(plan, tasks=(feed[0], *water[1:3], *feed[3:])))[1] == []


def test_a_season_is_not_laid_at_the_door_of_an_old_answer(diary: Diary) -> None:
    """An answer of spring moves the days of spring; what autumn changes is told of autumn, not of the answer."""
    diary.writes(START, PlaceAdded(on=START, place="window", place_kind="warm-sill", aspect="E"))
    diary.plant(place="window")
    diary.says(DUE + 2 * DAY, done, "watering", ["tide"], felt="right")
    later = [line for line in why_lines(why(diary.collection, DUE + 60 * DAY, "tide")) if ", was " in line]
    assert len(later) >= 2
    assert not [line for line in later if "you felt it" in line]
