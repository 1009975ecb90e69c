"""Which column of a logger's file holds what: guessed from the headings, or named; it reads no rows."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from carecal.collection.columns import simple_name
from carecal.collection.text_files import DELIMITERS
from carecal.errors import DataFault, Fault

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["MEASURES", "Column", "LoggerHead", "find_head", "unit_of"]

Role = Literal["time", "temperature", "humidity", "medium", "light"]
MEASURES: tuple[Role, ...] = ("temperature", "humidity", "medium")
ROLES: tuple[Role, ...] = ("time", *MEASURES)
_HEAD_WITHIN = (
    40  # lines in which the headings must stand; our choice, because loggers put their settings first
)
_TIME = re.compile(r"date|time|datum|zeit|uhrzeit")
_DATE = re.compile(r"date|datum|stamp")
_MEDIUM = re.compile(r"medium|soil|substrate|root|probe|bark|moss|pot\b|pot_")
_HUMIDITY = re.compile(r"humid|(?:^|_)rh(?:_|$)|(?:^|_)r_h(?:_|$)|%rh|feuchte")
_TEMPERATURE = re.compile(r"temp|celsius|fahrenheit|°c|°f")
_OTHER = re.compile(r"dew|wet_bulb|vpd|heat_index|light|lux|battery|volt|pressure|alarm|max|min")
_LIGHT = re.compile(r"lux|illuminance|(?:^|_)(?:light|licht|ppfd|par)(?:_|$)")
_PPFD = re.compile(
    r"ppfd|(?:^|_)u?mol(?:_|$)|(?:^|_)par(?:_|$)"
)  # the small mu is no letter of a plain heading
_FAHRENHEIT = re.compile(r"°f|fahrenheit|(?:^|_)(?:deg_?)?f(?:_|$)")
_CELSIUS = re.compile(r"°c|celsius|(?:^|_)(?:deg_?)?c(?:_|$)")


@dataclass(frozen=True, slots=True)
class Column:
    """One column in use: what it holds, its heading, and the unit its heading names ('' for none)."""

    role: Role
    index: int
    heading: str
    unit: str = ""

    def __str__(self) -> str:
        """Return the column as it is shown to the grower."""
        guess = (
            f" in {self.unit}"
            if self.unit
            else " taken as °C"
            if self.role in ("temperature", "medium")
            else ""
        )
        return f"{self.role}: column '{self.heading}'{guess}"


@dataclass(frozen=True, slots=True)
class LoggerHead:
    """Where the headings stand, what parts the columns, and which are used."""

    line: int
    delimiter: str
    width: int
    columns: tuple[Column, ...]

    def of_time(self) -> Column:
        """Return the column of the time; where date and time of day stand apart that of the date."""
        times = [column for column in self.columns if column.role == "time"]
        return min(times, key=lambda column: not _DATE.search(simple_name(column.heading)))


def find_head(
    file: str,
    lines: Sequence[str],
    named: Mapping[str, str] | None = None,
    measures: tuple[Role, ...] = MEASURES,
) -> LoggerHead:
    """Return the first line that has a time and something measured among its headings.

    Args:
        file: The file's name, for the fault.
        lines: The file's lines.
        named: Heading of the columns that were named, by role: time, temperature, humidity, medium.
        measures: What is looked for; light only where it is among them, since a file's rows have no time of day.

    Raises:
        DataFault: When no line has both, a named heading does not exist, or two columns may hold the same.
    """
    wanted = {role: simple_name(heading) for role, heading in (named or {}).items()}
    strange = [
        Fault(file, role, f"unknown column; known are {', '.join(ROLES)}")
        for role in wanted
        if role not in ROLES
    ]
    if strange:
        raise DataFault(strange)
    for number, line in enumerate(lines[:_HEAD_WITHIN], 1):
        for delimiter in sorted(DELIMITERS, key=line.count, reverse=True):
            cells = _cells(line, delimiter)
            columns = _columns(cells, wanted, is_lit="light" in measures)
            roles = {column.role for column in columns}
            if "time" in roles and roles & set(measures) and set(wanted) <= roles:
                _refuse_doubles(file, columns)
                return LoggerHead(number, delimiter, len(cells), tuple(columns))
    what = (
        " and ".join(f"'{heading}'" for heading in (named or {}).values())
        or "a time and a temperature or humidity"
    )
    raise DataFault([Fault(file, "headings", f"no line names {what}; name the columns as time=HEADING")])


def _cells(line: str, delimiter: str) -> list[str]:
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter), [])]
    except csv.Error:
        return []


def _columns(cells: Sequence[str], wanted: Mapping[str, str], *, is_lit: bool = False) -> list[Column]:
    columns = []
    for index, heading in enumerate(cells):
        name = simple_name(heading)
        role = next((role for role in ROLES if wanted.get(role) == name), None) or _guess(name, wanted)
        if role is None and is_lit and _LIGHT.search(name):
            role = "light"
        if role is not None:
            columns.append(Column(role, index, heading, unit_of(name, role)))
    return columns


def _guess(name: str, wanted: Mapping[str, str]) -> Role | None:
    """What a heading says it holds; nothing for roles that were named."""
    role: Role | None = None
    if _OTHER.search(name):
        return None
    if _TIME.search(name):
        role = "time"
    elif _HUMIDITY.search(name) and not _MEDIUM.search(name):
        role = "humidity"
    elif _MEDIUM.search(name) and (_TEMPERATURE.search(name) or unit_of(name, "medium")):
        role = "medium"
    elif _TEMPERATURE.search(name):
        role = "temperature"
    return None if role in wanted else role


def unit_of(name: str, role: Role) -> str:
    """Return the unit that a heading names, as a plain name; '' where it names none."""
    if role == "light":
        return "µmol/m²/s" if _PPFD.search(name) else "lux"
    if role not in ("temperature", "medium"):
        return ""
    return "°F" if _FAHRENHEIT.search(name) else "°C" if _CELSIUS.search(name) else ""


def _refuse_doubles(file: str, columns: Sequence[Column]) -> None:
    faults = []
    for role in (*MEASURES, "light"):
        headings = [f"'{column.heading}'" for column in columns if column.role == role]
        if len(headings) > 1:
            message = f"{' and '.join(headings)} may both be meant; name one as {role}=HEADING"
            faults.append(Fault(file, role, message))
    if faults:
        raise DataFault(faults)
