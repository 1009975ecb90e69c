"""Notes from before a plant was entered; oracles: the same notes written day by day, and days counted by hand."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from carecal.app.actions.care import done, leave, missed
from carecal.app.actions.corrections import amend, undo
from carecal.app.actions.looks import observe, weigh
from carecal.app.actions.pots import pot
from carecal.app.actions.sick import treat
from carecal.app.documents.pictures_plants import growth
from carecal.app.documents.why import why
from carecal.app.files.upkeep import journal_faults
from carecal.collection.entries import Entry
from carecal.collection.entries_care import Done
from carecal.collection.plants import PlantHistory
from carecal.errors import ConfirmationNeeded, Refused
from carecal.planning.wettings.feeding import Tally
from tests.app.diary import DAY, START, Diary, at

ENTERED = date(2026, 9, 1)
AUGUST = date(2026, 8, 1)


def _noted(diary: Diary, plant: str = "tide", **values: Any) -> str:
    """Add a plant on 1 September that came on 2 March; nobody said when it was watered."""
    return diary.plant(plant, on=ENTERED, **{"came": START, "watered": None, **values})


def _notes(plant: str, every: int = 8, until: date = ENTERED) -> list[Entry]:
    """Wettings every so many days of half a year, each felt right; the table asks for six."""
    days = [START + every * i * DAY for i in range(1, 25)]
    return [Done(on=day, plant=plant, care="watering", felt="right") for day in days if day < until]


def _factor(diary: Diary, plant: str = "tide", day: date = ENTERED) -> float:
    return diary.plan(day).plant(diary.collection.number_of(plant)).factor


def _line(diary: Diary, day: date = ENTERED) -> PlantHistory:
    return diary.collection.timeline(day).plants[1]


def _tally(diary: Diary) -> Tally:
    return diary.collection.planner(ENTERED).plant_planners[1].chain.tally


def test_notes_of_half_a_year_teach_what_they_would_have_taught_day_by_day(diary: Diary) -> None:
    """Came on 2 March and entered on 1 September, or entered on 2 March: one pace, one next wetting, one winter."""
    diary.plant("daily")
    diary.writes(ENTERED, *_notes("daily"))
    _noted(diary, "noted")
    diary.writes(ENTERED, *_notes("noted"))
    views = diary.plan(ENTERED).plants
    daily, noted = ((v.factor, v.factor_low, v.factor_high) for v in views)
    assert noted == pytest.approx(daily, rel=0.02)
    assert noted[0] == pytest.approx(8 / 6, rel=0.04)
    assert diary.next(ENTERED, "noted").on == diary.next(ENTERED, "daily").on


def test_nothing_is_assumed_or_overdue_before_the_day_it_was_entered(diary: Diary) -> None:
    """Two wettings five months apart leave no slot between them; the first one is due six days after the last."""
    _noted(diary)
    diary.says(ENTERED, done, "watering", ["tide"], on=date(2026, 4, 1), felt="right")
    diary.says(ENTERED, done, "watering", ["tide"], on=date(2026, 8, 29))
    first = diary.next(ENTERED)
    assert (first.id, first.on, first.status) == ("task/1/1/wetting/1", date(2026, 9, 4), "planned")
    assert diary.past(ENTERED + DAY) == {}
    assert all(task.on >= ENTERED for task in diary.plan(ENTERED + DAY, start=START).tasks)


def test_who_was_watered_long_ago_is_due_on_the_day_it_was_entered(diary: Diary) -> None:
    """Three weeks before: due at once and not overdue, and its slot opens no day earlier."""
    _noted(diary)
    diary.says(ENTERED, done, "watering", ["tide"], on=date(2026, 8, 10), felt="right")
    first = diary.next(ENTERED)
    assert (first.on, first.earliest, first.status) == (ENTERED, ENTERED, "open")


def test_the_last_watering_told_at_the_entry_and_one_noted_are_one_thing(diary: Diary) -> None:
    """`--watered` of 30 August or a note of it: the same first look, on 5 September."""
    diary.plant("told", on=ENTERED, came=START, watered=date(2026, 8, 30))
    _noted(diary, "noted")
    diary.says(ENTERED, done, "watering", ["noted"], on=date(2026, 8, 30))
    told, noted = diary.next(ENTERED, "told"), diary.next(ENTERED, "noted")
    assert told.on == noted.on == date(2026, 9, 5)
    assert (told.certain, noted.certain) == (False, False)


def test_a_watering_of_the_entry_later_than_all_notes_still_stands(diary: Diary) -> None:
    """Notes end on 20 August, it was watered on 31 August by its entry: six days from there."""
    _noted(diary, watered=date(2026, 8, 31))
    diary.says(ENTERED, done, "watering", ["tide"], on=date(2026, 8, 20), felt="right")
    assert diary.next(ENTERED).on == date(2026, 9, 6)


def test_damp_on_the_eve_is_looked_at_again(diary: Diary) -> None:
    """Left damp on 31 August, six days after water: again after a quarter of six, on 2 September, as a look."""
    _noted(diary)
    diary.says(ENTERED, done, "watering", ["tide"], on=date(2026, 8, 25))
    diary.says(ENTERED, leave, "watering", ["tide"], on=date(2026, 8, 31))
    first = diary.next(ENTERED)
    assert (first.on, first.certain) == (date(2026, 9, 2), False)


def test_what_lies_before_the_present_pot_teaches_nothing(diary: Diary) -> None:
    """Potted on 1 August as it stands: the notes of July go into no pace, those of August do."""
    _noted(diary, potted=AUGUST)
    diary.writes(ENTERED, *_notes("tide", until=AUGUST))
    assert _factor(diary) == 1.0
    assert _line(diary).watered is None
    later = [AUGUST + 9 * i * DAY for i in range(4)]
    diary.writes(ENTERED, *(Done(on=day, plant="tide", care="watering", felt="right") for day in later))
    assert _factor(diary) > 1.15


def test_feeds_and_flushes_that_are_told_count(diary: Diary) -> None:
    """Flushed on 1 August, fed on the 10th and the 20th: two feeds since the flush, the last on the 20th."""
    _noted(diary)
    for care, day in (("flushing", 1), ("feeding", 10), ("feeding", 20), ("watering", 28)):
        diary.says(ENTERED, done, care, ["tide"], on=AUGUST.replace(day=day))
    tally = _tally(diary)
    assert (tally.last_flush, tally.last_feed) == (AUGUST.toordinal(), AUGUST.replace(day=20).toordinal())
    assert (tally.feeds_since_flush, tally.fed_running) == (2, 0)


def test_the_last_things_done_are_told_with_their_days(diary: Diary) -> None:
    """`why` names the last feed and the last watering, whichever side of the entry they lie on."""
    _noted(diary)
    diary.says(ENTERED, done, "feeding", ["tide"], on=date(2026, 8, 20))
    diary.says(ENTERED, done, "watering", ["tide"], on=date(2026, 8, 29))
    last = why(diary.collection, ENTERED, "tide")["last"]
    assert (last["watered"], last["fed"]) == ("2026-08-29", "2026-08-20")
    assert diary.plan(ENTERED).plants[0].last_done == date(2026, 8, 29)


def test_days_before_it_came_are_refused_with_both_days(diary: Diary) -> None:
    """Of whatever is told 1 March is refused and 2 March is not; the refusal tells how to put its coming right."""
    _noted(diary)
    acts: list[tuple[Any, tuple[Any, ...], dict[str, Any]]] = [
        (done, ("watering", ["tide"]), {}),
        (leave, ("watering", ["tide"]), {}),
        (observe, ("tide",), {"roots": 3}),
        (weigh, ("tide", 400.0), {}),
        (treat, (["tide"], "wiped"), {}),
    ]
    words = r"2026-03-01 lies before tide came, 2026-03-02 \(entered 2026-09-01\)"
    for act, said, options in acts:
        with pytest.raises(Refused, match=words) as told:
            diary.tries(ENTERED, act, *said, on=START - DAY, **options)
        assert told.value.command == "amend 5 came=2026-03-01"
        assert diary.tries(ENTERED, act, *said, on=START, **options)[0].on == START


def test_who_came_on_an_unknown_day_is_asked_when(diary: Diary) -> None:
    """What is to be typed gives it the day that was meant; then the note is taken."""
    diary.plant(on=ENTERED, watered=None)
    with pytest.raises(
        Refused, match=r"2026-08-01 lies before tide was entered, .* not known when it came"
    ) as told:
        diary.tries(ENTERED, done, "watering", ["tide"], on=AUGUST)
    verb, entry, change = told.value.command.split()
    assert verb == "amend"
    diary.says(ENTERED, amend, int(entry), dict([change.split("=")]))
    assert diary.tries(ENTERED, done, "watering", ["tide"], on=AUGUST)


def test_pots_and_misses_of_the_time_before_are_refused(diary: Diary) -> None:
    """What would change the plant, or speaks of a plan that was not there, is told by other words."""
    _noted(diary)
    with pytest.raises(Refused, match="of the days since it came, 2026-03-02, only what was done"):
        diary.tries(ENTERED, pot, ["tide"], medium="bark", container="plastic", on=AUGUST)
    with pytest.raises(Refused, match="2026-08-01 lies before tide was entered"):
        diary.tries(ENTERED, missed, "watering", ["tide"], on=AUGUST)


def test_the_same_care_of_a_day_is_asked_about(diary: Diary) -> None:
    """A second watering of one day before the entry is asked about, as any is."""
    _noted(diary)
    diary.says(ENTERED, done, "watering", ["tide"], on=AUGUST)
    with pytest.raises(ConfirmationNeeded, match="was watered on 1 August already"):
        diary.tries(ENTERED, done, "watering", ["tide"], on=AUGUST)


def test_counts_of_before_grow_into_those_of_the_entry(diary: Diary) -> None:
    """Six roots at the entry, 40 and 90 mm told of May and July: six stay, the length is the last one told."""
    _noted(diary, roots=6)
    diary.says(ENTERED, observe, "tide", on=date(2026, 7, 1), longest_mm=90.0)
    diary.says(ENTERED, observe, "tide", on=date(2026, 5, 1), longest_mm=40.0, roots=3)
    state, picture = _line(diary).latest, growth(diary.collection, at(ENTERED), "tide")
    assert (state.roots, state.longest_mm) == (6, 90.0)
    assert picture is not None
    assert [(d.month, v) for d, v in picture.longest_mm] == [(5, 40.0), (7, 90.0)]
    with pytest.raises(ConfirmationNeeded, match=r"was 40 mm, now 4 mm; in cm perhaps"):
        diary.tries(ENTERED, observe, "tide", on=date(2026, 6, 1), longest_mm=4.0)


def test_a_pest_of_the_last_weeks_is_watched_and_an_old_one_is_not(diary: Diary) -> None:
    """A find of 20 August still holds on 1 September; one of May is in the log alone."""
    _noted(diary)
    diary.says(ENTERED, observe, "tide", on=date(2026, 5, 1), seen="scale")
    assert _line(diary).latest.pests == ()
    diary.says(ENTERED, observe, "tide", on=date(2026, 8, 20), seen="mealybug")
    assert [watch.pest for watch in _line(diary).latest.pests] == ["mealybug"]


def test_flowers_and_soft_leaves_go_on(diary: Diary) -> None:
    """A spike told in August is in spike at the entry, since then; leaves felt soft in August are soft."""
    _noted(diary)
    diary.says(ENTERED, observe, "tide", on=date(2026, 8, 10), flowering="in-spike", newest_mm=12.0)
    diary.says(ENTERED, observe, "tide", on=date(2026, 8, 20), firmness="soft")
    state = _line(diary).latest
    assert (state.flowering, state.flowering_since) == ("in-spike", date(2026, 8, 10).toordinal())
    assert (state.firmness, state.newest_mm) == ("soft", 12.0)


def test_an_undo_leaves_the_plan_as_it_was(diary: Diary) -> None:
    """A note and its undo leave tasks and pace as before; so does a day amended to one before it came."""
    _noted(diary)
    before = [(t.id, t.on, t.care) for t in diary.plan(ENTERED).tasks]
    diary.says(ENTERED, done, "watering", ["tide"], on=date(2026, 8, 29), felt="right")
    assert [(t.id, t.on, t.care) for t in diary.plan(ENTERED).tasks] != before
    diary.says(ENTERED, undo)
    assert [(t.id, t.on, t.care) for t in diary.plan(ENTERED).tasks] == before


def test_its_coming_is_not_put_behind_its_notes(diary: Diary) -> None:
    """Who has a note of 1 August did not come on the 2nd; a journal that says so is found damaged."""
    _noted(diary)
    diary.says(ENTERED, done, "watering", ["tide"], on=AUGUST)
    with pytest.raises(Refused, match="lies before its plant came, 2026-08-02"):
        diary.tries(ENTERED, amend, 5, {"came": "2026-08-02"})
    records = diary.collection.journal.records()
    assert list(journal_faults(records, diary.collection.catalog)) == []
    early = [r._replace(on=START - DAY) if r.kind == "done" else r for r in records]
    assert "before its plant came" in str(list(journal_faults(early, diary.collection.catalog)))
    moved = [r._replace(kind="quarantine", data={"end": True}) if r.kind == "done" else r for r in records]
    assert "before its plant was entered" in str(list(journal_faults(moved, diary.collection.catalog)))
