"""Lines that a sensor sends, as JSON, CSV or a form: read and checked as a logger's file, and gathered to days."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from math import fsum
from typing import TYPE_CHECKING, Any
from urllib.parse import parse_qsl

from carecal.collection.entries import ReadingsDay
from carecal.collection.logger_checks import Values, absurd, celsius, line_of
from carecal.collection.logger_columns import MEASURES, Column, find_head
from carecal.collection.logger_files import column_values, gather_days, table_rows
from carecal.errors import DataFault, Fault
from carecal.horticulture.daylight import daily_light, ppfd_of_lux

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from carecal.collection.logger_columns import Role

__all__ = ["KEPT_DAYS", "MOST_LINES", "SensorLine", "days_of", "read_lines", "table_of_objects"]

SENT = "what was sent"
MOST_LINES = 3000  # our choice, because a week by five minutes has 2,016
KEPT_DAYS = 7  # our choice, because a sensor that lost its network brings what it kept within a week [d]
AHEAD = timedelta(minutes=10)  # our choice, because clocks of small devices drift by minutes
LIT_HOURS = 24  # each hour of a day has to be heard of, since a mean without the night is no day's light
_MEASURES: tuple[Role, ...] = (*MEASURES, "light")
_SECONDS = re.compile(r"\d{9,10}(?:\.\d+)?|\d{13}", re.ASCII)
_MILLISECONDS = 13  # digits of an instant in milliseconds


@dataclass(frozen=True, slots=True)
class SensorLine:
    """One line: its instant (UTC, whole minutes), its day in the collection's zone, what was measured.

    Args:
        at: The instant; two of one minute are one line.
        day: The day it counts to.
        temp_c: Air. [°C]
        rh_pct: Humidity. [%]
        medium_c: Medium. [°C]
        ppfd: Light of plants. [µmol m⁻² s⁻¹]
    """

    at: datetime
    day: date
    temp_c: float | None = None
    rh_pct: float | None = None
    medium_c: float | None = None
    ppfd: float | None = None


def read_lines(text: str, *, clock: datetime, zone: tzinfo) -> tuple[SensorLine, ...]:
    """Return the lines of what was sent; all of them are sound, or none is taken.

    JSON is one object or a list of them, a form one line, all else a table with headings. The columns, their units and
    what cannot be are those of a logger's file; a line without a time is of now.

    Args:
        text: What was sent.
        clock: The present instant.
        zone: The collection's zone, for times that carry none.

    Raises:
        DataFault: With all faults: no columns found, times that cannot be read, lie ahead or too far back, absurd
            values with a guess at their unit.
    """
    lines = _table(text.strip(), clock)
    head = find_head(SENT, lines, measures=_MEASURES)
    rows, faults = table_rows(SENT, lines, head)
    if len(rows) > MOST_LINES:
        raise DataFault([Fault(SENT, "lines", f"{len(rows)} are too many; at most {MOST_LINES} at once")])
    times = [column for column in head.columns if column.role == "time"]
    first = head.of_time()
    parts = [first, *(column for column in times if column is not first)]
    moments, old = _moments(rows, parts, clock, zone, faults)
    columns = [column_values(SENT, rows, c, faults) for c in head.columns if c.role != "time"]
    for column in columns:
        faults.extend(absurd(SENT, column))
    if not rows and not faults:
        faults.append(Fault(SENT, f"line {head.line}", "no readings below the headings"))
    if faults:
        raise DataFault(faults)
    found: list[dict[str, float]] = [{} for _ in rows]
    for values in columns:
        name = {"temperature": "temp_c", "humidity": "rh_pct", "medium": "medium_c", "light": "ppfd"}[
            values.column.role
        ]
        for row, number in zip(values.rows, values.numbers, strict=True):
            found[row][name] = _in_our_unit(values.column, number)
    return tuple(
        SensorLine(at, at.astimezone(zone).date(), **measured)
        for row, (at, measured) in enumerate(zip(moments, found, strict=True))
        if measured and row not in old
    )


def _in_our_unit(column: Column, number: float) -> float:
    if column.unit == "°F":
        return celsius(number)
    return ppfd_of_lux(number) if column.unit == "lux" else number


def _table(text: str, clock: datetime) -> list[str]:
    """Return what was sent as a table's lines, with a column of the time where there is none."""
    if text[:1] in {"{", "["}:
        return _written(_objects(SENT, text), clock)
    first = text.partition("\n")[0]
    if "=" in first and "\n" not in text:
        return _written([dict(parse_qsl(text, keep_blank_values=True))], clock)
    return text.splitlines()


def table_of_objects(file: str, text: str) -> str:
    """Return a JSON object, or a list of them, as a table with headings, parted by tabs.

    Raises:
        DataFault: It is neither.
    """
    return _table_of(_objects(file, text))


def _objects(file: str, text: str) -> list[dict[str, str]]:
    try:
        found = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise DataFault([Fault(file, "JSON", f"cannot be read: {error}")]) from error
    rows = found if isinstance(found, list) else [found]
    if not rows or not all(isinstance(row, dict) for row in rows):
        raise DataFault(
            [Fault(file, "JSON", 'allowed is an object, as {"temperature": 21.4}, or a list of them')]
        )
    return [{_cell(name): _cell(value) for name, value in row.items()} for row in rows]


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.6f}"
    return " ".join(str(value).split())


def _written(rows: Sequence[dict[str, str]], clock: datetime) -> list[str]:
    """Return rows by name as a table's lines, each with a time."""
    try:
        find_head(SENT, _table_of(rows).splitlines()[:1], measures=("time",))
    except DataFault:
        rows = [{"time": clock.isoformat(), **row} for row in rows]
    return _table_of(rows).splitlines()


def _table_of(rows: Sequence[dict[str, str]]) -> str:
    names = list(dict.fromkeys(name for row in rows for name in row))
    out = io.StringIO()
    table = csv.writer(out, delimiter="\t", lineterminator="\n")
    table.writerow(names)
    table.writerows([row.get(name, "") for name in names] for row in rows)
    return out.getvalue()


def _moments(
    rows: Sequence[tuple[int, list[str]]],
    parts: Sequence[Column],
    clock: datetime,
    zone: tzinfo,
    faults: list[Fault],
) -> tuple[list[datetime], set[int]]:
    """Return the instant of each row, and which rows are too old; what cannot be is added to the faults.

    What a sensor kept too long is left out beside what it kept well; where all is too old, its clock is wrong.
    """
    found: list[datetime] = []
    unread: list[tuple[int, str]] = []
    ahead: list[tuple[int, str]] = []
    past: list[tuple[int, str]] = []
    old: set[int] = set()
    for row, (line, cells) in enumerate(rows):
        text = " ".join(cells[part.index] for part in parts).strip()
        at = _instant(text, zone) if text else clock
        if at is None:
            unread.append((line, text))
            continue
        if at > clock + AHEAD:
            ahead.append((line, text))
        if at < clock - timedelta(days=KEPT_DAYS):
            past.append((line, text))
            old.add(row)
        found.append(at.replace(second=0, microsecond=0))
    for told, message in (
        (unread, "is no time; allowed is 2026-11-25T08:10, with or without +01:00, or seconds since 1970"),
        (ahead, "lies ahead; is the sensor's clock right?"),
        (
            past if len(past) == len(rows) else [],
            f"is more than {KEPT_DAYS} days past; older ones come in as a file, by carecal place readings",
        ),
    ):
        if told:
            faults.append(Fault(SENT, line_of([line for line, _ in told]), f"{told[0][1][:40]!a} {message}"))
    return found, old


def _instant(text: str, zone: tzinfo) -> datetime | None:
    """Return an instant (UTC) from ISO 8601, in a zone where it names none, or from seconds since 1970."""
    try:
        if _SECONDS.fullmatch(text):
            seconds = float(text) / (1000 if len(text) == _MILLISECONDS else 1)
            return datetime.fromtimestamp(seconds, UTC)
        found = datetime.fromisoformat(text)
        return (found if found.tzinfo is not None else found.replace(tzinfo=zone)).astimezone(UTC)
    except (ValueError, OverflowError, OSError):
        return None


def days_of(lines: Iterable[SensorLine], zone: tzinfo) -> tuple[ReadingsDay, ...]:
    """Return the days of some lines: minimum, mean and maximum as of a logger's file, and the light of whole days.

    A day's light is counted where each of its hours was heard of, as the mean of the hours.
    """
    kept = list(lines)
    columns = []
    for role, name in (("temperature", "temp_c"), ("humidity", "rh_pct"), ("medium", "medium_c")):
        values = Values(Column(role, 0, name, "" if role == "humidity" else "°C"))  # type: ignore[arg-type]  # a role
        for row, line in enumerate(kept):
            number = getattr(line, name)
            if number is not None:
                values.rows.append(row)
                values.numbers.append(number)
        columns.append(values)
    light = _light(kept, zone)
    found = {row.day: row for row in gather_days([line.day for line in kept], columns)}
    return tuple(
        found.get(day, ReadingsDay(day=day)).model_copy(update={"light_mol_m2_d": light.get(day)})
        for day in sorted({*found, *light})
    )


def _light(lines: Sequence[SensorLine], zone: tzinfo) -> dict[date, float]:
    hours: dict[date, dict[int, list[float]]] = {}
    for line in lines:
        if line.ppfd is not None:
            of_day = hours.setdefault(line.day, {})
            of_day.setdefault(line.at.astimezone(zone).hour, []).append(line.ppfd)
    return {
        day: round(
            daily_light(fsum(fsum(one) / len(one) for one in of_day.values()) / LIT_HOURS, LIT_HOURS), 2
        )
        for day, of_day in hours.items()
        if len(of_day) >= LIT_HOURS - 1  # a day that springs forward has 23
    }
