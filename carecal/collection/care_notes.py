"""A notebook of care as a table (CSV), read with the grower's own headings; it knows no plants of the collection."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from carecal.collection.columns import date_reader, simple_name
from carecal.collection.headings import columns_by_heading
from carecal.collection.note_words import told_as
from carecal.collection.plant_list import unmasked
from carecal.errors import DataFault, Fault, Refused

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import date

    from carecal.collection.note_words import Told
    from carecal.collection.text_files import Table

__all__ = ["COLUMNS", "NEEDED", "CareNote", "RowFault", "is_care_notes", "read_care_notes"]

COLUMNS = ("plant", "day", "what", "value", "note")
NEEDED = ("plant", "day", "what")
ALSO = {"date": "day", "care": "what", "remark": "note", "notes": "note"}


RowFault = tuple[int, str, str]
"""What is wrong with a row: its line, the column and a sentence."""


class CareNote(NamedTuple):
    """One row: its line, the plant as it is written there, the day and what is told."""

    line: int
    plant: str
    on: date
    told: Told


def is_care_notes(table: Table, mapping: Mapping[str, str]) -> bool:
    """Return whether a table's headings, by our names for them, are those of notes of care and not of a plant list."""
    theirs = {simple_name(heading): ours.strip() for heading, ours in mapping.items()}
    names = {
        theirs.get(simple_name(text), ALSO.get(simple_name(text), simple_name(text)))
        for text in table.headings
    }
    return "plant" in names and bool({"day", "what"} & names)


def read_care_notes(
    table: Table, mapping: Mapping[str, str], *, on: date, name_fault: Callable[[str], str]
) -> tuple[list[CareNote], list[RowFault]]:
    """Return the rows of a notebook in the order of its lines, and what is wrong with the others.

    Args:
        table: Its headings and rows.
        mapping: Our column for each of the file's own headings; '' leaves a column out.
        on: The day of the command; words for dates count from it.
        name_fault: Returns what is wrong with a plant as it is written; '' where it names one.

    Raises:
        DataFault: The headings are not those of notes of care; all that is wrong with them.
    """
    columns = _columns(table, mapping)
    read_day = date_reader(_cell(cells, columns["day"]) for _, cells in table.rows)
    notes: list[CareNote] = []
    faults: list[RowFault] = []
    for line, cells in table.rows:
        plant, day, what, value, note = (_cell(cells, columns.get(name)) for name in COLUMNS)
        wrong = []
        found: date | None = None
        told: Told | None = None
        if not plant:
            wrong.append(("plant", "nothing says which plant; write its id or its name"))
        elif unknown := name_fault(plant):
            wrong.append(("plant", unknown))
        try:
            found = read_day(day, on)
        except Refused as refusal:
            wrong.append(("day", str(refusal)))
        try:
            told = told_as(what, value, note)
        except Refused as refusal:
            wrong.append(("what", str(refusal)))
        faults += [(line, name, text) for name, text in wrong]
        if not wrong and found is not None and told is not None:
            notes.append(CareNote(line, plant, found, told))
    return notes, faults


def _cell(cells: list[str], index: int | None) -> str:
    return unmasked(cells[index]).strip() if index is not None and index < len(cells) else ""


def _columns(table: Table, mapping: Mapping[str, str]) -> dict[str, int]:
    columns, faults = columns_by_heading(table, mapping, COLUMNS, ALSO)
    missing = [name for name in NEEDED if name not in columns]
    if missing and not faults:
        faults.append(
            Fault(
                table.file,
                "line 1",
                f"no column for {' and '.join(missing)}; notes of care need "
                f"{', '.join(NEEDED)}, and may have value and note",
            )
        )
    if faults:
        raise DataFault(faults)
    return columns
