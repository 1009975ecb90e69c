"""A notebook's words and columns; oracle: the table of words in examples/README.md and rows read by hand."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

from carecal.collection.care_notes import is_care_notes, read_care_notes
from carecal.collection.note_words import told_as
from carecal.collection.text_files import Table
from carecal.errors import DataFault, Refused

DAY = date(2026, 9, 1)
README = Path(__file__).parents[2] / "examples" / "README.md"


def _table(*rows: str, headings: str = "plant;day;what;value;note") -> Table:
    cells = [(number, row.split(";")) for number, row in enumerate(rows, 2)]
    return Table("care.csv", ";", headings.split(";"), cells)


def _faults(table: Table, mapping: dict[str, str] | None = None) -> list[tuple[int, str, str]]:
    return read_care_notes(table, mapping or {}, on=DAY, name_fault=lambda _: "")[1]


@pytest.mark.parametrize(
    ("what", "value", "note", "kind", "values"),
    [
        ("watered", "", "", "done", {"care": "watering"}),
        ("Water", "Right", "", "done", {"care": "watering", "felt": "right"}),
        ("FED", "parched", "half", "done", {"care": "feeding", "felt": "parched", "note": "half"}),
        ("flushed", "damp", "", "done", {"care": "flushing", "felt": "damp"}),
        ("looked over", "", "", "done", {"care": "inspection"}),
        ("look_over", "", "", "done", {"care": "inspection"}),
        ("moistened", "", "", "done", {"care": "moistening"}),
        ("weight", "412", "", "weighed", {"weight_g": 412.0}),
        ("weighed", "1,31 kg", "", "weighed", {"weight_g": 1310.0}),
        ("weight full", "530 g", "", "weighed", {"weight_g": 530.0, "mark": "full"}),
        ("root length", "6,2 cm", "", "observed", {"longest_mm": 62.0}),
        ("longest root", "62", "", "observed", {"longest_mm": 62.0}),
        ("new root", "4 mm", "", "observed", {"newest_mm": 4.0}),
        ("new root", "", "", "observed", {"note": "new root"}),
        ("new leaf", "", "from the side", "observed", {"note": "new leaf: from the side"}),
        ("new spike", "", "", "observed", {"flowering": "in-spike"}),
        ("new spike", "12 mm", "", "observed", {"flowering": "in-spike", "spike_mm": 12.0}),
        ("spike length", "15 cm", "", "observed", {"spike_mm": 150.0}),
        ("in bloom", "five flowers", "", "observed", {"flowering": "in-bloom", "note": "five flowers"}),
        ("flowers over", "", "", "observed", {"flowering": "spent"}),
        ("roots", "5", "", "observed", {"roots": 5}),
        ("leaves", "4", "", "observed", {"leaves": 4}),
        ("leaves feel", "soft", "", "observed", {"firmness": "soft"}),
        ("found", "mealybugs", "", "observed", {"seen": "mealybug"}),
        ("found", "thrips", "", "observed", {"seen": "thrips"}),
        ("found", "fungus gnats", "", "observed", {"seen": "fungus-gnat"}),
        ("found", "rot on the crown", "", "observed", {"seen": "rot", "where": "crown"}),
        ("treated", "wiped against scale", "", "treated", {"did": "wiped", "against": "scale"}),
        ("treated", "by label", "", "treated", {"did": "by-label"}),
        ("note", "", "by the window now", "observed", {"note": "by the window now"}),
    ],
)
def test_words_of_a_notebook(what: str, value: str, note: str, kind: str, values: dict[str, object]) -> None:
    """Each word gives the entry that the command of it gives, whatever its capitals, strokes and units."""
    told = told_as(what, value, note)
    assert told.model is not None
    assert told.model.kind == kind
    assert {key: found for key, found in told.values.items() if found is not None} == values


def test_how_it_felt_alone_and_a_repotting_wait_for_their_plant() -> None:
    """Whether damp was left or watered stands in other rows, and which pot is meant in the plant."""
    assert told_as("felt", "damp", "")[::2] == ("felt", {"felt": "damp", "note": None})
    assert told_as("still damp", "", "").values["felt"] == "damp"
    assert told_as("repotted", "", "old bark").word == "repotted"


@pytest.mark.parametrize(
    ("what", "value", "fault"),
    [
        ("waterd", "", "'waterd' is not known; did you mean watered"),
        ("sang to", "", "'sang to' is not known; allowed are watered, fed"),
        ("", "", "nothing says what was done or seen; allowed are watered"),
        (
            "watered",
            "wet",
            "'wet' does not say how it felt before it was watered; allowed are parched, right, damp",
        ),
        ("felt", "", "nothing says how the medium felt; allowed are parched, right, damp"),
        ("looked", "right", "'right' is no value of looked, which takes none"),
        ("weight", "", r"no number for weight \[g\]"),
        ("weight", "heavy", r"'heavy' is no number for weight \[g\]"),
        ("weight", "12 mm", "'12 mm' is no number for weight"),
        ("weight", "1,310", "'1,310' may be thousands or decimals"),
        ("root length", "-4", "'-4' is no number for root length"),
        ("roots", "2.5", "'2.5' is no count of roots; allowed are whole numbers"),
        ("leaves feel", "sad", "'sad' does not say how the leaves feel; allowed are firm, soft"),
        ("found", "", "nothing stands as what was found"),
        ("note", "", "a note without words"),
    ],
)
def test_what_cannot_be_read_says_what_is_allowed(what: str, value: str, fault: str) -> None:
    """The value stands in the refusal, and what may stand there instead."""
    with pytest.raises(Refused, match=fault):
        told_as(what, value, "")


def test_every_word_of_the_readme_is_read() -> None:
    """The table a grower reads names no word that is refused as unknown."""
    table = README.read_text(encoding="utf-8").split("| what | value |")[1].split("\n\n")[0]
    words = [word for row in table.splitlines()[2:] for word in row.split("|")[1].strip().split(", ")]
    unknown = []
    for word in words:
        try:
            told_as(word, "", "")
        except Refused as refusal:
            unknown += [word] if "is not known" in str(refusal) else []
    assert len(words) > 20
    assert unknown == []


def test_columns_are_found_by_our_names_and_by_mapped_ones() -> None:
    """Date and remark are known words; others are mapped, or left out by nothing."""
    table = _table("tide;2025-09-02;watered;x;dry", headings="Pot;Date;Care;Mood;Remark")
    mapping = {"Pot": "plant", "Mood": ""}
    notes, faults = read_care_notes(table, mapping, on=DAY, name_fault=lambda _: "")
    assert is_care_notes(table, mapping)
    assert not is_care_notes(table, {})
    assert faults == []
    assert [(n.line, n.plant, n.on, n.told.values["note"]) for n in notes] == [
        (2, "tide", date(2025, 9, 2), "dry")
    ]


@pytest.mark.parametrize(
    ("headings", "mapping", "fault"),
    [
        ("plant;what", {}, "line 1: no column for day; notes of care need plant, day, what"),
        ("plant;day;what;wat", {}, "wat: unknown column 'wat'; map it to what"),
        ("plant;day;date;what", {}, "date: a second column for day; allowed is one"),
        ("plant;day;what", {"Pot": "plant"}, "Pot: no such heading; the file has plant, day, what"),
    ],
)
def test_headings_that_do_not_fit_are_refused(headings: str, mapping: dict[str, str], fault: str) -> None:
    """Before any row is read."""
    with pytest.raises(DataFault, match=re.escape(fault)):
        _faults(_table("a;b;c", headings=headings), mapping)


def test_all_that_is_wrong_with_a_row_is_told_and_its_dates_do_not_spoil_the_others() -> None:
    """13.8. tells that the day stands first, so 5.8. is 5 August; what is no date is named alone."""
    table = _table("tide;5.8.2026;watered", "tide;13.8.2026;fed", "tide;40.8.2026;waterd", ";;fed", "tide")
    notes, faults = read_care_notes(table, {}, on=DAY, name_fault=lambda _: "")
    assert [note.on for note in notes] == [date(2026, 8, 5), date(2026, 8, 13)]
    assert [(line, column) for line, column, _ in faults] == [
        (4, "day"), (4, "what"), (5, "plant"), (5, "day"), (6, "day"), (6, "what"),
    ]  # fmt: skip


def test_a_column_that_never_tells_day_from_month_is_refused_in_one_sentence() -> None:
    """2.3. and 3.4. may be either; a year that stands first is read beside them."""
    faults = _faults(_table("tide;2.3.2026;fed", "tide;2026-05-06;fed", "tide;3.4.2026;fed"))
    sentence = "day and month cannot be told apart in any date of this column; write them as 2026-11-25"
    assert faults == [(2, "day", sentence), (4, "day", sentence)]
