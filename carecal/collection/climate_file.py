"""A place's own climate: a table of twelve months, read whole with all its faults."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import ValidationError

from carecal.catalog.schema import unknown_key
from carecal.collection.columns import plain_number, simple_name
from carecal.collection.entries import MonthRow
from carecal.collection.entry_faults import sentences
from carecal.collection.text_files import Table, read_table
from carecal.errors import DataFault, Fault, Refused

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

__all__ = ["read_climate"]

_NEEDED = ("month", "day_c", "night_c", "rh_pct", "air", "light_mol_m2_d")
_KNOWN = (*_NEEDED, "light_source", "place", "source")
_TEXTS = ("air", "light_source")


def read_climate(path: Path, place: str | None = None) -> tuple[MonthRow, ...]:
    """Return the twelve months of a climate file in order.

    Args:
        path: A table with the columns month, day_c [°C], night_c [°C], rh_pct [%], air, light_mol_m2_d and
            perhaps light_source; a column place parts several places.
        place: Whose rows to take where the file has several places.

    Raises:
        DataFault: With all faults: unknown or missing columns, values out of range, months missing or doubled.
        StorageError: When the file cannot be read.
    """
    table = read_table(path)
    headings = [simple_name(heading) for heading in table.headings]
    faults = _heading_faults(table.file, headings)
    if faults:
        raise DataFault(faults)
    lines = [(line, dict(zip(headings, cells, strict=False)), len(cells)) for line, cells in table.rows]
    wanted = _one_place(table, [values.get("place", "") for _, values, _ in lines], place)
    months: dict[int, MonthRow] = {}
    for line, values, length in lines:
        if wanted is not None and values.get("place", "") != wanted:
            continue
        if length != len(headings):
            message = f"{length} cells; allowed are {len(headings)}, one for each heading"
            faults.append(Fault(table.file, f"line {line}", message))
            continue
        faults.extend(_take(table.file, line, values, months))
    missing = [str(month) for month in range(1, 13) if month not in months]
    if missing and not faults:
        faults.append(
            Fault(table.file, "month", f"no row for {', '.join(missing)}; allowed are the months 1 to 12")
        )
    if faults:
        raise DataFault(faults)
    return tuple(row for _, row in sorted(months.items()))


def _heading_faults(file: str, headings: list[str]) -> list[Fault]:
    unknown = [
        Fault(file, name or "line 1", unknown_key(name, _KNOWN)) for name in headings if name not in _KNOWN
    ]
    doubled = {name for name in headings if headings.count(name) > 1}
    missing = [name for name in _NEEDED if name not in headings]
    return [
        *unknown,
        *(Fault(file, name, "the column appears twice; once is allowed") for name in sorted(doubled)),
        *(Fault(file, name, f"the column is missing; needed are {', '.join(_NEEDED)}") for name in missing),
    ]


def _one_place(table: Table, names: list[str], place: str | None) -> str | None:
    """The place whose rows count, None where all do."""
    found = sorted(set(names))
    if place in found:
        return place
    if len(found) > 1:
        message = f"no rows for '{place}'" if place else "rows of several places"
        raise DataFault([Fault(table.file, "place", f"{message}; there are {', '.join(found)}")])
    return None


def _take(file: str, line: int, values: Mapping[str, str], months: dict[int, MonthRow]) -> list[Fault]:
    row: dict[str, object] = {}
    faults = []
    for name, text in values.items():
        if name in ("place", "source") or (name == "light_source" and not text):
            continue
        try:
            row[name] = text if name in _TEXTS else plain_number(text)
        except Refused as refusal:
            faults.append(Fault(file, f"line {line}, {name}", str(refusal)))
    read = {name for name in values if name in row}
    try:
        month = MonthRow.model_validate(row)
    except ValidationError as error:
        told = [(name, text) for name, text in sentences(error, MonthRow) if name in read or not faults]
        return [*faults, *(Fault(file, f"line {line}, {name}", text) for name, text in told)]
    if month.month in months:
        return [Fault(file, f"line {line}, month", f"month {month.month} appears twice; once is allowed")]
    months[month.month] = month
    return []
