"""Files that data loggers wrote, gathered to days: units, decimals and dates are settled for a column, or refused."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from math import fsum
from typing import TYPE_CHECKING

from carecal.collection.columns import DateOrder, date_order, numeric_day
from carecal.collection.entries import Readings, ReadingsDay
from carecal.collection.logger_checks import Values, absurd, celsius, line_of
from carecal.collection.logger_columns import MEASURES, Column, LoggerHead, find_head
from carecal.collection.text_files import read_text
from carecal.errors import DataFault, Fault, Refused

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

__all__ = ["LoggerFile", "column_values", "gather_days", "read_logger", "table_rows"]

_NOTHING = frozenset({"", "-", "--", "---", "nan", "n/a", "na", "null", "none", "error", "err"})
_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?", re.ASCII)
_FIELDS = {
    "temperature": ("temp_min_c", "temp_mean_c", "temp_max_c"),
    "humidity": ("rh_min_pct", "rh_mean_pct", "rh_max_pct"),
    "medium": ("medium_min_c", "medium_mean_c", ""),
}
_OFFSET = re.compile(r"(?:z|[+-]\d\d:?\d\d)$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class LoggerFile:
    """What a logger's file says: its columns in words, and its days."""

    columns: tuple[str, ...]
    rows: int
    days: tuple[ReadingsDay, ...]

    def entry(self, place: str, on: date) -> Readings:
        """Return the days as an entry about a place, not written yet."""
        return Readings(on=on, place=place, days=self.days)


def read_logger(
    path: Path,
    named: Mapping[str, str] | None = None,
    *,
    order: DateOrder | None = None,
    zone: tzinfo | None = None,
) -> LoggerFile:
    """Return the days of a logger's file.

    Args:
        path: A table parted by comma, semicolon or tab, perhaps with lines of settings before its headings.
        named: Heading by role (time, temperature, humidity, medium), where they are not to be guessed.
        order: Order of day, month and year in its dates, where they do not tell.
        zone: The collection's zone, for times that carry an offset; without it these keep their own day.

    Raises:
        DataFault: With all faults: columns not found, dates that may be read in two ways, absurd values with a
            guess at their unit.
        StorageError: When the file cannot be read.
    """
    lines = read_text(path).split("\n")
    head = find_head(path.name, lines, named)
    rows, faults = table_rows(path.name, lines, head)
    days = _days(path.name, rows, head, order, zone, faults)
    columns = [
        column_values(path.name, rows, column, faults) for column in head.columns if column.role in MEASURES
    ]
    for column in columns:
        faults.extend(absurd(path.name, column))
    if not rows and not faults:
        faults.append(Fault(path.name, f"line {head.line}", "no readings below the headings"))
    if faults:
        raise DataFault(faults)
    shown = tuple(str(column) for column in head.columns)
    return LoggerFile(shown, len(rows), gather_days(days, columns))


def table_rows(
    file: str, lines: Sequence[str], head: LoggerHead
) -> tuple[list[tuple[int, list[str]]], list[Fault]]:
    """Return the rows below the headings, each with its line and as many cells as are used, and what is wrong."""
    rows, wide = [], []
    needed = max(column.index for column in head.columns) + 1
    for number, cells in enumerate(csv.reader(lines[head.line :], delimiter=head.delimiter), head.line + 1):
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) > head.width and any(cell.strip() for cell in cells[head.width :]):
            wide.append(number)
        rows.append((number, [cell.strip() for cell in cells] + [""] * (needed - len(cells))))
    message = "more cells than headings; decimal commas need a semicolon or tab between the columns"
    return rows, [Fault(file, line_of(wide), message)] if wide else []


def _days(
    file: str,
    rows: Sequence[tuple[int, list[str]]],
    head: LoggerHead,
    order: DateOrder | None,
    zone: tzinfo | None,
    faults: list[Fault],
) -> list[date | None]:
    """The day of each row, read in one order for the whole file."""
    column = head.of_time()
    index = column.index
    texts = [cells[index] for _, cells in rows]
    known = {
        text: _local_day(text, zone) for text in dict.fromkeys(texts) if _OFFSET.search(text) and "T" in text
    }
    dates = {text: _date_part(text) for text in dict.fromkeys(texts) if known.get(text) is None}
    try:
        settled = order or date_order(dict.fromkeys(dates.values()))
    except Refused as refusal:
        faults.append(Fault(file, column.heading, str(refusal)))
        return []
    found = {text: known.get(text) or numeric_day(dates[text], settled) for text in dict.fromkeys(texts)}
    unread = [line for line, cells in rows if found[cells[index]] is None]
    if unread:
        faults.append(
            Fault(file, line_of(unread), f"no date in the order {settled}; allowed is that of the others")
        )
    return [found[text] for text in texts]


def _local_day(text: str, zone: tzinfo | None) -> date | None:
    try:
        instant = datetime.fromisoformat(text)
    except ValueError:
        return None
    return (instant.astimezone(zone) if zone is not None else instant).date()


def _date_part(text: str) -> str:
    return re.split(r"[T\s,]", text, maxsplit=1)[0].rstrip(".")


def column_values(
    file: str, rows: Sequence[tuple[int, list[str]]], column: Column, faults: list[Fault]
) -> Values:
    """Return the numbers of a column; what is none is added to the faults."""
    values = Values(column)
    strange: list[tuple[int, str]] = []
    signs: set[str] = set()
    for row, (line, cells) in enumerate(rows):
        text = (
            cells[column.index].removesuffix("%").removesuffix("C").removesuffix("F").rstrip(" °").casefold()
        )
        if text in _NOTHING:
            continue
        if not _NUMBER.fullmatch(text):
            strange.append((line, cells[column.index]))
            continue
        signs.update(sign for sign in ",." if sign in text)
        values.lines.append(line)
        values.rows.append(row)
        values.numbers.append(float(text.replace(",", ".")))
    if strange:
        message = f"{strange[0][1]!a} is not a number in column '{column.heading}'"
        faults.append(Fault(file, line_of([line for line, _ in strange]), message))
    if len(signs) > 1:
        faults.append(
            Fault(file, column.heading, "decimal points and commas are mixed; allowed is one of them")
        )
    return values


def gather_days(days: Sequence[date | None], columns: Sequence[Values]) -> tuple[ReadingsDay, ...]:
    """Return minimum, mean and maximum of each day, in degrees Celsius and percent, to two decimals."""
    fields: dict[date, dict[str, float]] = {}
    for values in columns:
        by_day: dict[date, list[float]] = {}
        for row, number in zip(values.rows, values.numbers, strict=True):
            day = days[row]
            if day is not None:
                by_day.setdefault(day, []).append(number)
        for day, numbers in by_day.items():
            found = (min(numbers), fsum(numbers) / len(numbers), max(numbers))
            if values.column.unit == "°F":
                found = (celsius(found[0]), celsius(found[1]), celsius(found[2]))
            names = zip(_FIELDS[values.column.role], found, strict=True)
            fields.setdefault(day, {}).update({name: round(value, 2) for name, value in names if name})
    return tuple(ReadingsDay.model_validate({"day": day, **fields[day]}) for day in sorted(fields))
