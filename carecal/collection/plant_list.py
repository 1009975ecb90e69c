"""The plant list as a table (CSV): read with the grower's own headings, written so that spreadsheets run nothing."""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from typing import TYPE_CHECKING

from pydantic import ValidationError

from carecal.collection.columns import date_reader, plain_number
from carecal.collection.entries import PlantAdded
from carecal.collection.entry_faults import sentences
from carecal.collection.headings import columns_by_heading
from carecal.collection.text_files import Table, read_table
from carecal.errors import DataFault, Fault, Refused

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from datetime import date
    from pathlib import Path

    from carecal.collection.entries import Entry

    Check = Callable[[Entry], Iterable[tuple[str, str]]]

__all__ = ["COLUMNS", "id_from_name", "read_plant_list", "write_plant_list"]

COLUMNS = (
    "id",
    "name",
    "profile",
    "medium",
    "container",
    "size_cm",
    "place",
    "came",
    "potted",
    "stage",
    "roots",
    "longest_mm",
    "tips",
    "leaves",
    "flowering",
    "aids",
    "note",
)
_NUMBERS = ("size_cm", "roots", "longest_mm", "tips", "leaves")
_DATES = ("came", "potted")
_FORMULA = re.compile(r"'*[=+\-@\t]")  # what a spreadsheet would run, and what already carries our mark
_MASKED = re.compile(r"'+[=+\-@\t]")


def id_from_name(name: str) -> str:
    """Return the id that a name gives: letters without marks, digits and hyphens; '' when none are left."""
    plain = unicodedata.normalize("NFKD", name.casefold()).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:40].rstrip("-")


def read_plant_list(
    path: Path, mapping: Mapping[str, str] | None = None, *, on: date, check: Check | None = None
) -> list[PlantAdded]:
    """Return the plants of a list as entries, none of them written yet.

    Args:
        path: A table parted by comma, semicolon or tab; a plant without an id gets one from its name.
        mapping: Our column for each of the file's own headings; '' leaves a column out.
        on: The day on which the plants are entered; words for dates count from it.
        check: What else may be wrong with an entry, as field and sentence.

    Raises:
        DataFault: With all faults of the file, each with its line.
        StorageError: When the file cannot be read.
    """
    table = read_table(path)
    columns, faults = _columns(table, mapping or {})
    if faults:
        raise DataFault(faults)
    readers = {
        name: date_reader(cells[index] for _, cells in table.rows if index < len(cells))
        for name, index in columns.items()
        if name in _DATES
    }
    entries: dict[str, PlantAdded] = {}
    lines: dict[str, int] = {}
    for line, cells in table.rows:
        entry, wrong = _entry(cells, columns, readers, on)
        wrong += list(check(entry)) if entry is not None and check is not None else []
        if entry is not None and entry.plant in lines:
            wrong.append(
                ("id", f"'{entry.plant}' stands on line {lines[entry.plant]} already; choose another id")
            )
        faults.extend(Fault(table.file, f"line {line}, {name}", sentence) for name, sentence in wrong)
        if entry is not None:
            entries[entry.plant] = entry
            lines.setdefault(entry.plant, line)
    if faults:
        raise DataFault(faults)
    return list(entries.values())


def _columns(table: Table, mapping: Mapping[str, str]) -> tuple[dict[str, int], list[Fault]]:
    columns, faults = columns_by_heading(table, mapping, COLUMNS)
    if not faults and not {"id", "name"} & columns.keys():
        faults.append(Fault(table.file, "line 1", "neither id nor name is among the columns; one is needed"))
    return columns, faults


def _entry(
    cells: list[str], columns: Mapping[str, int], dates: Mapping[str, Callable[[str, date], date]], on: date
) -> tuple[PlantAdded | None, list[tuple[str, str]]]:
    wrong: list[tuple[str, str]] = []
    values: dict[str, object] = {"on": on}
    if len(cells) < max(columns.values()) + 1:
        cells = [*cells, *[""] * (max(columns.values()) + 1 - len(cells))]
    for name, index in columns.items():
        text = unmasked(cells[index])
        if not text:
            continue
        try:
            values[name] = dates[name](text, on) if name in dates else _value(name, text)
        except Refused as refusal:
            wrong.append((name, str(refusal)))
    plant = values.pop("id", None) or id_from_name(str(values.get("name", "")))
    if not plant:
        return None, [*wrong, ("id", "neither id nor name; give one of them")]
    try:
        return (PlantAdded.model_validate({"plant": plant, **values}) if not wrong else None), wrong
    except ValidationError as error:
        return None, wrong + sentences(error, PlantAdded, {"plant": "id"})


def _value(name: str, text: str) -> object:
    if name in _NUMBERS:
        return plain_number(text)
    return tuple(re.split(r"[\s,;+|]+", text)) if name == "aids" else text


def write_plant_list(rows: Iterable[Mapping[str, object]]) -> str:
    """Return plants as a table with our columns, by the order given; absent values are empty cells.

    Args:
        rows: Values by column; a list of aids is written with blanks between.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for row in rows:
        writer.writerow([_cell(row.get(name)) for name in COLUMNS])
    return out.getvalue()


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, (list, tuple)):
        return " ".join(map(str, value))
    text = format(value, "g") if isinstance(value, float) else str(value)
    return f"'{text}" if _FORMULA.match(text) else text


def unmasked(text: str) -> str:
    """Return a cell without the mark that kept a spreadsheet from running it."""
    return text[1:] if _MASKED.match(text) else text
