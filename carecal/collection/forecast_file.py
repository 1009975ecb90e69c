"""A weather forecast as a file: a row a day with the lowest of its night and its highest, as CSV or JSON."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from carecal.collection.columns import date_order, numeric_day, simple_name
from carecal.collection.logger_checks import absurd, celsius, line_of
from carecal.collection.logger_columns import Column, unit_of
from carecal.collection.logger_files import column_values
from carecal.collection.sensor_lines import table_of_objects
from carecal.collection.text_files import read_table, read_text
from carecal.errors import DataFault, Fault, Refused

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

__all__ = ["ForecastRow", "read_forecast"]

_DAY = re.compile(r"date|time|datum|(?:^|_)(?:on|for)(?:_|$)")
_NIGHT = re.compile(r"(?:^|_)(?:night|min|minimum|low|lowest|nacht)(?:_|$)")
_HIGH = re.compile(r"(?:^|_)(?:day|max|maximum|high|highest|tag)(?:_|$)")


class ForecastRow(NamedTuple):
    """One day: the lowest of the night that begins on it, and its highest. [°C]"""

    day: date
    night_c: float | None
    high_c: float | None


def read_forecast(path: Path) -> tuple[ForecastRow, ...]:
    """Return the days of a forecast in order.

    Args:
        path: A table parted by comma, semicolon or tab, or JSON (a list of objects, or one): a date, the lowest of the
            night (night, min, low), the highest of the day (day, max, high), in °C, or °F where the heading says so.

    Raises:
        DataFault: With all faults: columns not found, no dates, a day told twice, absurd values with a guess at their
            unit, a night warmer than its day.
        StorageError: When the file cannot be read.
    """
    file, text = path.name, read_text(path).strip()
    table = read_table(path, table_of_objects(file, text) if text[:1] in {"{", "["} else text)
    names = [simple_name(heading) for heading in table.headings]
    found = {
        what: _only(file, table.headings, names, what, rule)
        for what, rule in (("night", _NIGHT), ("day", _HIGH), ("date", _DAY))
    }
    if found["date"] is None or (found["night"] is None and found["day"] is None):
        needed = "date, and night (or min, low), day (or max, high) or both"
        raise DataFault(
            [Fault(file, "headings", f"no forecast among {', '.join(names)}; needed are {needed}")]
        )
    rows = [(line, cells + [""] * (len(names) - len(cells))) for line, cells in table.rows]
    faults: list[Fault] = []
    days = _days(file, rows, found["date"], faults)
    told: dict[str, dict[int, float]] = {"night": {}, "day": {}}
    for what, numbers in told.items():
        index = found[what]
        if index is None:
            continue
        column = Column("temperature", index, table.headings[index], unit_of(names[index], "temperature"))
        values = column_values(file, rows, column, faults)
        faults.extend(absurd(file, values))
        in_c = [celsius(number) if column.unit == "°F" else number for number in values.numbers]
        numbers.update(zip(values.rows, (round(number, 1) for number in in_c), strict=True))
    made = [
        ForecastRow(day, told["night"].get(row), told["day"].get(row))
        for row, day in enumerate(days)
        if row in told["night"] or row in told["day"]
    ]
    warm = [line for (line, _), row in zip(rows, made, strict=False) if _is_turned(row)] if not faults else []
    if warm:
        faults.append(Fault(file, line_of(warm), "the night is warmer than its day; which is which?"))
    if not made and not faults:
        faults.append(Fault(file, "line 1", "no forecast below the headings"))
    if faults:
        raise DataFault(faults)
    return tuple(sorted(made))


def _is_turned(row: ForecastRow) -> bool:
    return row.night_c is not None and row.high_c is not None and row.night_c > row.high_c


def _only(
    file: str, headings: Sequence[str], names: Sequence[str], what: str, rule: re.Pattern[str]
) -> int | None:
    """Return the one column of a kind; None without any. The date is looked for last, among what is no other."""
    found = [index for index, name in enumerate(names) if rule.search(name)]
    if what == "date":
        found = [i for i in found if not _NIGHT.search(names[i]) and not _HIGH.search(names[i])]
    if len(found) > 1:
        told = " and ".join(f"'{headings[index]}'" for index in found)
        raise DataFault([Fault(file, "headings", f"{told} may both be the {what}; keep one of them")])
    return found[0] if found else None


def _days(file: str, rows: Sequence[tuple[int, list[str]]], index: int, faults: list[Fault]) -> list[date]:
    texts = [re.split(r"[T\s]", cells[index], maxsplit=1)[0] for _, cells in rows]
    try:
        order = date_order(dict.fromkeys(texts))
    except Refused as refusal:
        faults.append(Fault(file, "dates", str(refusal)))
        return []
    days = [day for text in texts if (day := numeric_day(text, order)) is not None]
    twice = [line for (line, _), day in zip(rows, days, strict=False) if days.count(day) > 1]
    if twice:
        faults.append(
            Fault(file, line_of(twice), "a day stands there more than once; allowed is a row a day")
        )
    return days
