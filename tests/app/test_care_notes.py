"""Notebooks taken in; oracles: the same told by commands, rows counted by hand, the journal before and after."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from carecal.app.actions.care import done
from carecal.app.actions.corrections import undo
from carecal.app.files.care_notes import Noted, notes_of
from carecal.collection.entries import Entry
from carecal.collection.text_files import Table
from carecal.errors import DataFault
from tests.app.diary import START, Diary, at

ENTERED = date(2026, 9, 1)


def _read(diary: Diary, *rows: str, sure: bool = False) -> Noted:
    cells = [(number, row.split(";")) for number, row in enumerate(rows, 2)]
    table = Table("care.csv", ";", ["plant", "day", "what", "value", "note"], cells)
    return notes_of(diary.collection, at(ENTERED), table, {}, sure=sure)


def _wrong(diary: Diary, *rows: str, sure: bool = False) -> list[str]:
    with pytest.raises(DataFault, match="line") as told:
        _read(diary, *rows, sure=sure)
    return [f"{fault.key}: {fault.message}" for fault in told.value.faults]


def _said(entries: list[Entry]) -> list[tuple[str, str, str, dict[str, Any]]]:
    return [
        (
            str(getattr(entry, "plant", "")), entry.on.isoformat()[5:], entry.kind,
            {k: v for k, v in entry.model_dump(exclude={"plant", "on"}).items() if v not in (None, False)},
        )
        for entry in entries
    ]  # fmt: skip


@pytest.fixture
def noted(diary: Diary) -> Diary:
    """Return a diary with two plants that came on 2 March and were entered on 1 September."""
    diary.plant("tide", on=ENTERED, came=START, watered=None, name="Tide of gold")
    diary.plant("gull", on=ENTERED, came=date(2026, 6, 1), watered=None)
    return diary


def test_rows_become_what_the_commands_write(noted: Diary) -> None:
    """By day and not by line; a plant by id, name or as all of those that were there by then."""
    found = _read(
        noted, "gull;2026-08-03;watered;right;", "Tide of Gold;2026-08-01;fed;;weak", "ALL;2026-05-02;watered;;",
        "all;2026-07-02;root length;4 cm;",
    )  # fmt: skip
    assert found.known == 0
    assert _said(found.entries) == [
        ("tide", "05-02", "done", {"care": "watering"}),
        ("tide", "07-02", "observed", {"longest_mm": 40.0}),
        ("gull", "07-02", "observed", {"longest_mm": 40.0}),
        ("tide", "08-01", "done", {"care": "feeding", "note": "weak"}),
        ("gull", "08-03", "done", {"care": "watering", "felt": "right"}),
    ]


def test_how_it_felt_stands_at_the_water_of_its_day(noted: Diary) -> None:
    """Right with a watering is its answer, damp alone was left; a note of either is kept."""
    found = _read(
        noted, "tide;2026-08-01;felt;right;", "tide;2026-08-01;watered;;", "tide;2026-08-05;felt;damp;cool",
    )  # fmt: skip
    assert _said(found.entries) == [
        ("tide", "08-01", "done", {"care": "watering", "felt": "right"}),
        ("tide", "08-05", "left", {"care": "watering", "felt": "damp"}),
        ("tide", "08-05", "observed", {"note": "cool"}),
    ]


def test_a_notebook_read_again_is_known_and_grows_by_what_is_new(noted: Diary) -> None:
    """All rows twice: nothing; one row more: that row; a row twice in a file counts once; undo takes it all back."""
    rows = ("tide;2026-08-01;watered;right;", "gull;2026-08-02;fed;;", "tide;2026-08-03;weight;400 g;")
    before = noted.plan(ENTERED)
    noted.writes(ENTERED, *_read(noted, *rows, rows[0]).entries)
    assert _read(noted, *rows) == ([], 3)
    grown = _read(noted, *rows, "gull;2026-08-09;watered;;")
    assert (_said(grown.entries), grown.known) == ([("gull", "08-09", "done", {"care": "watering"})], 3)
    noted.says(ENTERED, undo)
    assert noted.plan(ENTERED).tasks == before.tasks
    assert len(_read(noted, *rows).entries) == 3


def test_what_a_command_said_is_known_and_what_adds_an_answer_is_new(noted: Diary) -> None:
    """Watered by hand on 1 August: a row of it says nothing new, one that says how it felt does."""
    noted.says(ENTERED, done, "watering", ["tide"], on=date(2026, 8, 1))
    assert _read(noted, "tide;2026-08-01;watered;;") == ([], 1)
    assert len(_read(noted, "tide;2026-08-01;watered;right;").entries) == 1


def test_every_wrong_row_is_named_with_its_line(noted: Diary) -> None:
    """Plants, days, words, values and what does not fit a plant; nothing comes of the good rows either."""
    assert _wrong(
        noted, "tyde;2026-08-01;watered;;", "tide;2026-08-01;watered;;", "gull;2026-09-02;watered;;",
        "gull;2026-05-01;watered;;", "gull;2026-05-02;watered;;", "tide;2026-08-02;refilled;;",
        "tide;2026-08-03;felt;right;",
        "tide;2026-08-02;found;greenfly;", "tide;2026-08-02;treated;sung to;", "tide;2026-08-02;found;rot;",
        "all;2026-01-01;watered;;",
    ) == [
        "line 2, plant: no plant named 'tyde'; did you mean tide?",
        "line 4, day: 2026-09-02 lies ahead; what happened is dated up to today, 2026-09-01",
        "line 5, day: 2026-05-01 lies before gull came, 2026-06-01 (entered 2026-09-01); allowed are 2026-06-01 to "
        "2026-09-01; if it came earlier, say so with carecal amend 6 came=2026-05-01 (1 more row of it likewise)",
        "line 7, value: tide has no filled reservoir; allowed are watering, feeding, flushing",
        "line 8, value: felt right, and no row of that day says watered; add one, or leave this out",
        "line 9, value: no pest or trouble named 'greenfly'; known are scale, mealybug, mite, thrips, aphid, "
        "fungus-gnat, snail-or-slug, virus, rot, flat-mite",
        "line 10, value: treatment 'sung-to' is not known; allowed are cut, wiped, washed, soaked, moved-apart, "
        "by-label",
        "line 11, what: rot without its place; write rot crown, rot stem, rot leaf, rot root",
        "line 12, plant: no plant is known to have been there on 2026-01-01",
    ]  # fmt: skip


def test_the_same_fault_is_told_once_and_many_are_counted(noted: Diary) -> None:
    """Six rows of one unknown name are one line; of thirty different ones twenty, and ten by number."""
    assert _wrong(noted, *["foam;2026-08-01;watered;;"] * 6) == [
        "line 2, plant: no plant named 'foam' (also lines 3, 4, 5, 6 and 1 more)"
    ]
    wrong = _wrong(noted, *(f"plant {n:02d};2026-08-01;watered;;" for n in range(30)))
    assert len(wrong) == 21
    assert wrong[-1] == "line 22: from here on 10 more rows are wrong; mend those above first"


def test_a_root_ten_times_as_long_is_asked_about(noted: Diary) -> None:
    """4 cm in May and 400 mm in June may be a slip; who says yes has it written."""
    rows = ("tide;2026-05-01;root length;40;", "tide;2026-06-01;root length;400;")
    assert _wrong(noted, *rows) == [
        "line 3, value: the longest root of tide was 40 mm, now 400 mm; in cm perhaps? is that right? "
        "(answer with --yes to go on)"
    ]
    assert len(_read(noted, *rows, sure=True).entries) == 2


def test_who_came_on_an_unknown_day_came_by_its_first_row_where_that_is_said(diary: Diary) -> None:
    """Without a yes the day is asked for; with it the entry of the plant is put right in the same command."""
    diary.plant("tide", on=ENTERED, watered=None)
    rows = ("tide;2026-06-01;watered;;", "tide;2026-04-01;watered;;")
    wrong = _wrong(diary, *rows)
    assert len(wrong) == 1
    assert "amend 5 came=2026-04-01 (1 more row of it likewise); --yes says so of every plant" in wrong[0]
    diary.writes(ENTERED, *_read(diary, *rows, sure=True).entries)
    line = diary.collection.timeline(ENTERED).plants[1]
    assert line.latest.came == date(2026, 4, 1).toordinal()
    assert line.watered == date(2026, 6, 1).toordinal()


def test_a_repotting_dates_the_pot_it_was_entered_in(noted: Diary) -> None:
    """The last one puts the entry right, an earlier one is a note; after the entry it needs a pot."""
    found = _read(noted, "tide;2026-04-01;repotted;;", "tide;2026-07-01;repotted;;old bark")
    noted.writes(ENTERED, *found.entries)
    line = noted.collection.timeline(ENTERED).plants[1]
    assert line.latest.potted == date(2026, 7, 1).toordinal()
    assert [e.text for e in line.told if e.kind == "look"] == ["repotted"]
    assert _read(noted, "tide;2026-07-01;repotted;;") == ([], 0)
    assert _wrong(noted, "tide;2026-09-01;repotted;;") == [
        "line 2, what: tide was repotted after it was entered: say into what; with carecal pot"
    ]


def test_two_plants_of_one_name_are_told_apart_by_their_ids(noted: Diary) -> None:
    """A name that two have is asked for as an id."""
    noted.plant("spar", on=ENTERED, came=START, name="Gull")
    assert _wrong(noted, "Gull;2026-08-01;watered;;") == [
        "line 2, plant: 'Gull' may be gull, spar; write the id"
    ]
