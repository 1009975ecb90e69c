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
from carecal.app.actions.sick import treat
from carecal.app.actions.spans import away_add, pause, resume
from carecal.app.actions.whole_round import done_round
from carecal.app.answers import answer
from carecal.app.documents.looking_back import assumed_in
from carecal.app.documents.spans import before_leaving
from carecal.app.documents.today import today
from carecal.app.documents.why import why
from carecal.collection.entries import Observed, PlaceAdded, Retired
from carecal.errors import ConfirmationNeeded, Refused
from carecal.plan.model import Gate, Reason, Task
from carecal.wording.tasks import window_line
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
    assert said["tide"].felt == "right"  # type: ignore[attr-defined]
    assert {name: said[name].kind for name in ("tide", "gable", "winch")} == {
        "tide": "done",
        "gable": "left",
        "winch": "excepted",
    }
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
        tuple(t._replace(care=care, status="planned") for t in diary.wettings(DUE, grouping="each")[1:6])
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
    days = [
        date(2026, month, day) for month in range(4, 12) for day in (1, 16)
    ]  # the seasons move by half-months
    changes = [text for day in days for text in today(diary.collection, day)["changes"]]
    told = [text for text in changes if "new rhythm" in text]
    assert len(told) >= 2
    assert all("mol a day" in text or "°C" in text for text in told)


def test_of_a_plant_that_left_nothing_more_is_changed(diary: Diary) -> None:
    """Given away: that is said, and neither 'no watering for now' nor gates that are shut on it."""
    diary.plant()
    diary.says(DUE - DAY, done, "watering", ["tide"])
    plans = [diary.plan(DUE)]
    gone = diary.collection.record(Retired(on=DUE, plant="tide", because="given-away"), now=at(DUE))
    told, changed = answer(gone.records, [], plans[0], diary.plan(DUE))
    assert (told, changed) == (["Tide: left the collection, given away."], [])
    assert today(diary.collection, DUE)["changes"] == []


def test_a_look_that_rides_beside_its_day_names_none_that_is_out_of_reach() -> None:
    """Its own day may lie behind the last on which it may be done: then the two ends are said alone."""
    known = Task(
        id="look/1/9", plant=1, care="inspection", technique="look", slot=9, status="planned",
        earliest=date(2026, 7, 17), due=date(2026, 7, 18), latest=date(2026, 7, 19), on=date(2026, 7, 17),
    )  # fmt: skip
    assert window_line(known) == "Earliest 17 July, due 18 July, latest 19 July."
    assert window_line(known._replace(due=date(2026, 7, 21))) == "Earliest 17 July, latest 19 July."


def test_a_round_of_yesterday_that_was_answered_today_is_not_done_twice(diary: Diary) -> None:
    """Open yesterday, watered today: `--round --on` of yesterday finds nothing more; of another plant it does."""
    diary.plant()
    diary.plant("gable")
    diary.says(DUE + DAY, done, "watering", ["tide"])
    found = diary.tries(DUE + DAY, done_round, on=DUE)
    assert [entry.plant for entry in found] == ["gable"]  # type: ignore[attr-defined]
    diary.says(DUE + DAY, done_round, on=DUE)
    with pytest.raises(Refused, match="nothing is to be done on Friday 6 March"):
        diary.tries(DUE + DAY, done_round, on=DUE)


def test_a_pest_just_found_is_answered_with_what_is_done_first(diary: Diary) -> None:
    """Apart, by hand (treatments.toml names wiped and cut against scale), and what to type; told once it was not."""
    diary.plant()
    diary.plant("gable")
    diary.writes(DUE, Observed(on=DUE, plant="tide", seen="scale", where="leaf"))

    def watched(day: date) -> str:
        return " ".join(row["text"] for row in today(diary.collection, day)["watch"] if row["code"] == "pest")

    assert watched(DUE).startswith(
        "Set it a metre or a room away from all others. Say what was done (wiped, cut …):"
    )
    assert "carecal treat tide --did wiped --against scale." in watched(DUE)
    diary.says(DUE, treat, ["tide"], "wiped", against="scale")
    assert "Say what was done" not in watched(DUE)
    assert "Look over the others" in watched(DUE)


def test_what_is_wetted_sooner_for_an_absence_is_said_when_it_is_told(diary: Diary) -> None:
    """Due on the 6th with a day to spare, away from the 6th on: the 5th, today, is the day, and it is said."""
    diary.plant()
    diary.plant("gable", medium="moss")
    entries = diary.tries(DUE - DAY, away_add, DUE, DUE + 8 * DAY)
    told = before_leaving(diary.collection, at(DUE - DAY), entries, DUE)
    assert told == ["Before you go, today: Tide, look – feed if dry, 100 ppm N"]
    diary.says(DUE - DAY, away_add, DUE, DUE + 8 * DAY)
    assert (diary.next(DUE - DAY).on, diary.next(DUE - DAY).status) == (DUE - DAY, "open")
    again = diary.tries(DUE - DAY, away_add, DUE + 3 * DAY, DUE + 20 * DAY)
    assert before_leaving(diary.collection, at(DUE - DAY), again, DUE + 3 * DAY) == []
