"""Notes from before a plant was entered; oracles: the same notes written day by day, and days counted by hand."""

from __future__ import annotations

from datetime import date

import pytest

from carecal.app.actions.care import done
from carecal.collection.entries import Entry
from carecal.collection.entries_care import Done
from tests.app.diary import DAY, START, Diary

ENTERED = date(2026, 9, 1)
EIGHT = 8 * DAY


def _notes(plant: str, every: int = 8) -> list[Entry]:
    """Wettings every so many days of half a year, each with its answer; the table asks for six."""
    days = [START + every * i * DAY for i in range(1, 200 // every) if START + every * i * DAY < ENTERED]
    return [Done(on=day, plant=plant, care="watering", felt="right") for day in days]


def _factor(diary: Diary, plant: str, day: date = ENTERED) -> float:
    number = diary.collection.number_of(plant)
    view = next(p for p in diary.plan(day, plants={number}).plants if p.number == number)
    return view.factor


def test_notes_of_half_a_year_teach_what_they_would_have_taught_day_by_day(diary: Diary) -> None:
    """Came on 2 March and entered on 1 September, or entered on 2 March: one pace, one next wetting."""
    diary.plant("daily")
    diary.writes(ENTERED, *_notes("daily"))
    diary.plant("noted", on=ENTERED, came=START, watered=None)
    diary.writes(ENTERED, *_notes("noted"))
    assert _factor(diary, "noted") == pytest.approx(8 / 6, rel=0.04)
    assert _factor(diary, "noted") == pytest.approx(_factor(diary, "daily"), rel=0.02)
    assert diary.next(ENTERED, "noted").on == diary.next(ENTERED, "daily").on


def test_nothing_is_assumed_or_overdue_before_the_day_it_was_entered(diary: Diary) -> None:
    """Two wettings far apart leave no slot in between; the first slot is due six days after the last of them."""
    diary.plant(on=ENTERED, came=START, watered=None)
    diary.says(ENTERED, done, "watering", ["tide"], on=date(2026, 4, 1), felt="right")
    diary.says(ENTERED, done, "watering", ["tide"], on=date(2026, 8, 29))
    first = diary.next(ENTERED)
    assert (first.on, first.status, first.certain) == (date(2026, 9, 4), "planned", True)
    assert diary.past(ENTERED + DAY) == {}
