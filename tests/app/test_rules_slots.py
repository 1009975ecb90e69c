"""Rules 6, 7, 11 and 16-18: potting, slots, care days, pauses, seasons, absences; oracle: the rules' text."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from carecal.app.actions.care import done
from carecal.app.actions.pots import pot
from carecal.app.actions.spans import away_add, away_end, pause, resume
from carecal.app.documents.today import today
from carecal.collection.entries import Observed, PlaceAdded, PlantAdded, RoundMoved, SettingChanged, SideTaken
from tests.app.diary import DAY, DUE, EVERY, START, Diary, even_year


def fed(diary: Diary, day: date, plant: str = "tide") -> list[date]:
    """Return the days on which a plant is to be fed."""
    return [task.due for task in diary.wettings(day, plant, "each") if task.care == "feeding"]


def days(diary: Diary, day: date, plant: str = "tide") -> list[date]:
    """Return the due days of a plant's wettings in the grouping `each`."""
    return [task.due for task in diary.wettings(day, plant, "each")]


def test_potting_is_day_0_and_starts_a_new_number(diary: Diary) -> None:
    """Rule 6: watered that day unless said; slots count from 1 in potting 2; in bark settling takes ×1.2, 7 days."""
    diary.plant()
    diary.says(DUE, pot, ["tide"], "bark", "plastic", 12)
    first = diary.next(DUE)
    assert (first.id, first.due) == ("task/1/2/wetting/1", DUE + 7 * DAY)


@pytest.mark.parametrize(("pruned", "days"), [(False, 3), (True, 5)])
def test_potted_dry_is_first_wetted_after_some_days(diary: Diary, *, pruned: bool, days: int) -> None:
    """Rule 6: `--watered no`; day 3, cut roots 5 (after_potting.toml), as the round says it in words."""
    diary.plant(medium="moss")
    diary.says(DUE, pot, ["tide"], "moss", "plastic", 12, watered=False, pruned=pruned)
    assert diary.next(DUE).due == DUE + days * DAY
    said = " ".join(row["text"] for row in today(diary.collection, DUE)["watch"])
    assert f"First wetting on {(DUE + days * DAY).day} March." in said


def test_after_rot_no_first_wetting_is_named_in_its_dry_days(diary: Diary) -> None:
    """Potted dry for rot at the roots: five dry days from the potting (rot_courses.toml), the wetting on the sixth."""
    diary.plant()
    diary.writes(DUE, Observed(on=DUE, plant="tide", seen="rot", where="root"))
    diary.says(DUE, pot, ["tide"], "bark", "plastic", 12, watered=False)
    first = DUE + 5 * DAY
    assert diary.next(DUE).due == first
    said = " ".join(row["text"] for row in today(diary.collection, DUE)["watch"])
    assert said.count(f"{first.day} March") == 2  # 'No water before' and 'First wetting on'


def test_settling_brings_no_flush_for_42_days_and_no_feed_for_21(diary: Diary) -> None:
    """Rules 6 and 7: settling rules follow a potting."""
    diary.plant()
    diary.says(DUE, pot, ["tide"], "bark", "plastic", 12)
    tasks = diary.wettings(DUE, grouping="each")
    assert all(task.care != "flushing" for task in tasks if task.due < DUE + 42 * DAY)
    assert min(task.due for task in tasks if task.care == "feeding") >= DUE + 21 * DAY


def test_a_potting_ends_the_series_the_day_before(diary: Diary) -> None:
    """Rule 6: nothing of potting 1 stands on or after day 0."""
    diary.plant()
    diary.says(DUE, pot, ["tide"], "bark", "plastic", 12)
    assert {task.potting for task in diary.wettings(DUE)} == {2}


def test_every_feed_and_flush_rides_on_a_wetting(diary: Diary) -> None:
    """Rule 7: wettings stand where they would without feeding; none is added for a feed or flush."""
    diary.plant()
    assert days(diary, START) == [DUE + i * EVERY for i in range(len(days(diary, START)))]
    assert {task.care for task in diary.wettings(START)} == {"watering", "feeding", "flushing"}


def test_pausing_feeding_removes_no_wetting(diary: Diary) -> None:
    """Rule 7: each feed of the span becomes a watering on the same day, nothing is made up for afterwards."""
    diary.plant()
    before = days(diary, START)
    first, last = date(2026, 5, 1), date(2026, 7, 31)
    diary.says(START, pause, "feeding", start=first, until=last)
    assert days(diary, START) == before
    assert not [day for day in fed(diary, START) if first <= day <= last]


def test_a_pause_ends_with_its_last_day_included(diary: Diary) -> None:
    """Rule 16: `until` is the last day included, everywhere."""
    diary.plant()
    fourth = DUE + 3 * EVERY
    diary.says(START, pause, "watering", start=fourth - DAY, until=fourth)
    found = days(diary, START)
    assert fourth not in found
    assert fourth + DAY in found


def test_a_pause_of_watering_stops_every_wetting(diary: Diary) -> None:
    """Rule 16: none of watering, feeding, flushing; afterwards due on the first free day if its time has come."""
    diary.plant()
    first, last = DUE + DAY, DUE + 20 * DAY
    diary.says(DUE, done, "watering", ["tide"])
    diary.says(DUE, pause, "watering", start=first, until=last)
    found = days(diary, DUE)
    assert found[0] == last + DAY
    assert diary.wettings(DUE)[0].slot == 2  # a gap uses no slot number


def test_after_a_short_pause_the_wetting_keeps_its_time(diary: Diary) -> None:
    """Rule 16: where its time has not come, by the elapsed share: due as it was."""
    diary.plant()
    diary.says(START, pause, "watering", start=START + DAY, until=START + 2 * DAY)
    assert days(diary, START)[0] == DUE


def test_a_pause_may_lie_behind_if_it_holds_today(diary: Diary) -> None:
    """Rule 16: `from` may lie behind if the span holds today."""
    diary.plant()
    day = START + 20 * DAY
    diary.says(day, done, "watering", ["tide"])
    diary.says(day, pause, "feeding", start=day - 10 * DAY, until=day + 60 * DAY)
    assert min(fed(diary, day)) > day + 60 * DAY


def test_no_feed_is_drawn_into_a_pause_by_its_care_day(tmp_path: Path) -> None:
    """Rule 16: a slot due on the first free day whose care day is the last paused one is not fed."""
    diary = Diary(tmp_path, weekdays="thu")  # due on Friday the 6th, done on Thursday the 5th
    diary.plant()
    assert (diary.next(START).care, diary.next(START).on) == ("feeding", DUE - DAY)
    diary.says(START, pause, "feeding", until=DUE - DAY)
    assert (diary.next(START).care, diary.next(START).due) == ("watering", DUE)
    diary.close()


def test_a_yearly_pause_crosses_new_year_and_comes_again(diary: Diary) -> None:
    """Rule 16: month-day pairs that may cross New Year."""
    diary.plant()
    day = date(2026, 10, 1)
    diary.says(day, done, "watering", ["tide"])
    diary.says(day, pause, "feeding", start=date(2026, 11, 1), until=date(2027, 2, 28), every_year=True)
    assert not [d for d in fed(diary, day) if date(2026, 11, 1) <= d <= date(2027, 2, 28)]
    year_later = date(2027, 10, 1)
    diary.says(year_later, done, "watering", ["tide"])
    assert not [d for d in fed(diary, year_later) if date(2027, 11, 1) <= d <= date(2028, 2, 28)]
    assert [d for d in fed(diary, year_later) if date(2028, 3, 1) <= d]


def test_resume_ends_this_years_only(diary: Diary) -> None:
    """Rule 16: of a yearly one this year's; next year's runs again."""
    diary.plant()
    diary.says(START, pause, "feeding", start=date(2026, 3, 2), until=date(2026, 6, 30), every_year=True)
    day = date(2026, 4, 1)
    diary.says(day, done, "watering", ["tide"])
    diary.says(day, resume, "feeding")
    found = fed(diary, day)
    assert [d for d in found if d <= date(2026, 6, 30)]
    assert not [d for d in found if date(2027, 3, 2) <= d <= date(2027, 6, 30)]


def test_resume_for_good_ends_all_years(diary: Diary) -> None:
    """Interface 3: `resume --for-good`."""
    diary.plant()
    diary.says(START, pause, "feeding", start=date(2026, 3, 2), until=date(2026, 6, 30), every_year=True)
    day = date(2026, 4, 1)
    diary.says(day, done, "watering", ["tide"])
    diary.says(day, resume, "feeding", for_good=True)
    assert [d for d in fed(diary, day) if d >= date(2027, 3, 2)]


def test_the_first_feed_after_a_pause_has_the_lowest_strength(diary: Diary) -> None:
    """Rule 16: 35 ppm N, then as usual."""
    diary.plant()
    diary.says(START, pause, "feeding", start=START, until=date(2026, 4, 30))
    feeds = [task for task in diary.wettings(START, grouping="each") if task.care == "feeding"]
    assert [task.ppm_n for task in feeds[:2]] == [35.0, 100.0]


def test_a_pause_of_everything_stops_looks_and_aids(diary: Diary) -> None:
    """Rule 16: `all` stops wettings, looks and aids."""
    diary.plant(aids=("cloth",))
    first, last = START + DAY, START + 30 * DAY
    diary.says(START, pause, "all", start=first, until=last)
    assert not [task for task in diary.plan(START, "each").tasks if first <= task.due <= last]


def test_a_care_day_is_the_preferred_weekday_nearest_the_due_day(tmp_path: Path) -> None:
    """Rule 11: 6 March is a Friday, Saturday the 7th lies in its window."""
    diary = Diary(tmp_path, weekdays="wed,sat")
    diary.plant()
    assert diary.next(START).on == date(2026, 3, 7)
    diary.close()


@pytest.mark.parametrize(("stage", "side"), [("established", 1), ("new-tips", -1)])
def test_a_tie_goes_later_in_bark_and_earlier_for_new_tips(diary: Diary, stage: str, side: int) -> None:
    """Rule 11: of two preferred days as near, the later in media that stay wet, the earlier for new tips."""
    diary.plant(stage=stage, roots=2, longest_mm=20, size_cm=30)
    due = diary.next(START).due
    names = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
    either = ",".join(names[(due + i * DAY).weekday()] for i in (-1, 1))
    diary.writes(START, SettingChanged(on=START, key="weekdays", value=either))
    task = diary.next(START)
    assert task.earliest <= due - DAY
    assert task.latest >= due + DAY
    assert task.on == due + side * DAY


def test_without_a_fitting_weekday_a_task_keeps_its_own_day(tmp_path: Path) -> None:
    """Rule 11: if none fits, its own day."""
    diary = Diary(tmp_path, weekdays="mon")
    diary.plant()
    task = diary.next(START)
    assert (task.on, task.due) == (DUE, DUE)
    diary.close()


def test_windows_chain_from_the_day_chosen(tmp_path: Path) -> None:
    """Rule 11: Saturday the 7th, then 6 days on Friday the 13th, whose Saturday is the 14th."""
    diary = Diary(tmp_path, weekdays="sat")
    diary.plant()
    assert [task.on for task in diary.wettings(START)[:2]] == [date(2026, 3, 7), date(2026, 3, 14)]
    diary.close()


def test_one_plants_slip_moves_no_other(tmp_path: Path) -> None:
    """Rule 11: what is late for one leaves the others where they are."""
    diary = Diary(tmp_path, weekdays="wed,sat")
    diary.plant("tide")
    diary.plant("gable")
    before = [(t.id, t.on) for t in diary.wettings(DUE + DAY, "gable")]
    diary.says(DUE + DAY, done, "watering", ["tide"])
    assert [(t.id, t.on) for t in diary.wettings(DUE + DAY, "gable")] == before
    diary.close()


def test_a_moved_round_takes_its_tasks_along(tmp_path: Path) -> None:
    """`rounds move` does a care day on another day."""
    diary = Diary(tmp_path, weekdays="sat")
    diary.plant()
    diary.writes(START, RoundMoved(on=START, start=date(2026, 3, 7), to=date(2026, 3, 8)))
    assert diary.next(START).on == date(2026, 3, 8)
    diary.close()


def test_an_absence_moves_a_task_to_a_present_day_of_its_window(diary: Diary) -> None:
    """Rule 18: rounds choose a present day inside the window."""
    diary.plant()
    diary.says(START, away_add, DUE, DUE + 10 * DAY)
    task = diary.next(START)
    assert (task.on, task.due, task.latest) == (DUE - DAY, DUE, DUE + DAY)


def test_where_no_day_is_present_it_will_not_keep(diary: Diary) -> None:
    """Rule 18: it keeps its due day and is listed; `latest` is never stretched."""
    diary.plant()
    diary.says(START, away_add, DUE - DAY, DUE + 10 * DAY)
    plan = diary.plan(START)
    task = diary.next(START)
    assert (task.on, task.latest) == (DUE, DUE + DAY)
    assert task.id in {entry.task for entry in plan.will_not_keep}


def test_nothing_is_assumed_or_overdue_while_away(diary: Diary) -> None:
    """Rule 18: on the day of return it stands open."""
    diary.plant()
    back = DUE + 11 * DAY
    diary.says(START, away_add, DUE - DAY, back - DAY)
    for day in (DUE + 5 * DAY, back):
        assert diary.past(day) == {}
        assert [task.status for task in diary.wettings(day) if task.on == day] == ["open"]


def test_after_the_day_of_return_it_is_assumed_on_that_day(diary: Diary) -> None:
    """Rules 2 and 18: nothing is assumed on a day on which nobody was there."""
    diary.plant()
    back = DUE + 11 * DAY
    diary.says(START, away_add, DUE - DAY, back - DAY)
    assert diary.past(back + DAY) == {"task/1/1/wetting/1": "assumed"}
    assert diary.next(back + DAY).due == back + EVERY


def test_coming_back_early_ends_the_absence(diary: Diary) -> None:
    """Interface 3: `away end`."""
    diary.plant()
    diary.says(START, away_add, DUE - DAY, DUE + 10 * DAY)
    diary.says(DUE - DAY, away_end)
    assert diary.plan(DUE - DAY).will_not_keep == ()


@pytest.mark.parametrize(
    ("latitude", "day", "rests"),
    [
        (54.3, date(2026, 9, 30), False),
        (54.3, date(2026, 10, 1), True),  # the profile's October, first day included
        (54.3, date(2027, 2, 28), True),  # its February, last day included
        (54.3, date(2027, 3, 1), False),
        (-35.0, date(2026, 3, 31), False),
        (-35.0, date(2026, 4, 1), True),  # six months later
        (-35.0, date(2026, 8, 31), True),
        (-35.0, date(2026, 9, 1), False),
        (1.0, date(2026, 12, 15), False),  # within 10 degrees of the equator there is no such rest
        (1.0, date(2026, 6, 15), False),
    ],
)
def test_a_rest_by_months_follows_the_hemisphere(
    tmp_path: Path, latitude: float, day: date, rests: bool
) -> None:
    """Rule 17, rest by the month: dendrobium-nobile October to February in the north, April to August in the south."""
    diary = Diary(tmp_path, latitude=latitude)
    diary.plant(profile="dendrobium-nobile")
    diary.writes(START, SideTaken(on=START, key="rest-end", side="a"))
    assert ("resting" in diary.plan(day).plants[0].states) is rests
    diary.close()


def test_each_plant_is_planned_alone(diary: Diary) -> None:
    """A plant's plan is the same whether another is there or not."""
    diary.plant("tide")
    before = days(diary, START)
    diary.writes(START, PlaceAdded(on=START, place="shelf", place_kind="warm-sill", climate=even_year(24.0)))
    diary.writes(
        START,
        PlantAdded(on=START, plant="winch", medium="moss", container="plastic", size_cm=9, place="shelf"),
    )
    assert days(diary, START) == before
