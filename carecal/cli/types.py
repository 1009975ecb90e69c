"""What people type after an option: days, ids, sizes, times; they are read here and judged elsewhere."""

from __future__ import annotations

import re
from contextlib import closing, suppress
from datetime import date, time
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from carecal.app.lazy import LazyModule
from carecal.cli.context import Session, home_folder
from carecal.collection.journal import Journal
from carecal.errors import CarecalError, Refused

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from click.shell_completion import CompletionItem

    from carecal.collection import dates
    from carecal.collection.dates import Use
else:
    dates = LazyModule("carecal.collection.dates")

__all__ = [
    "AHEAD",
    "ANALYSIS",
    "DAY",
    "GRAMS",
    "LENGTH",
    "NUMBER",
    "PLACE",
    "PLANT",
    "SIZE",
    "TEMPERATURES",
    "TIME",
    "DayType",
    "NumberType",
    "Temperatures",
]

CM_PER_INCH = 2.54
SMALLEST_CM, LARGEST_CM = 3.0, 60.0  # as the entries have it


class Temperatures(NamedTuple):
    """Temperatures of a day and of its night. [°C]"""

    day_c: float
    night_c: float


class DayType(click.ParamType[date]):
    """A day in ISO form or in words, counted from today or `--as-of`."""

    name = "day"

    def __init__(self, use: Use = "on") -> None:
        self.use = use

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """Return the day.

        Raises:
            Refused: It cannot be read, or may be read in two ways.
        """
        del param
        if isinstance(value, date):
            return value
        session = ctx.find_root().ensure_object(Session) if ctx is not None else Session()
        return dates.parse_day(str(value), today=session.now().day, use=self.use)


_ID = re.compile(r"[a-z0-9_-]+")  # what is written so is taken for an id at once


class _IdType(click.ParamType[str]):
    """An id; the collection's own are offered to the shell.

    Args:
        name: What it is of.
        read: Returns the ids.
        by_name: Returns the id of what people read under a name; None where names are not taken.
    """

    def __init__(
        self,
        name: str,
        read: Callable[[Journal], Iterable[str]],
        by_name: Callable[[Journal, str], str | None] | None = None,
    ) -> None:
        self.name, self.read, self.by_name = name, read, by_name

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """Return the id as it was typed, or that of the name typed; whether it exists is asked where it is used."""
        del param
        word = str(value)
        if self.by_name is None or ctx is None or _ID.fullmatch(word):
            return word
        with suppress(CarecalError):  # that there is no collection is said where it is opened
            named = ctx.find_root().params.get("home") or ctx.find_root().ensure_object(Session).home
            with closing(Journal.open(home_folder(named), readonly=True)) as journal:
                return self.by_name(journal, word) or word
        return word

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        """Return the ids that begin so; none where the collection cannot be read."""
        from click.shell_completion import CompletionItem  # noqa: PLC0415 - needed while a shell completes alone

        del param
        with suppress(Exception):  # a shell that asks for completions must never see an error
            named = ctx.find_root().params.get("home") or ctx.find_root().ensure_object(Session).home
            with closing(Journal.open(home_folder(named), readonly=True)) as journal:
                return [CompletionItem(name) for name in self.read(journal) if name.startswith(incomplete)]
        return []


def _places(journal: Journal) -> list[str]:
    return sorted({r.data["place"] for r in journal.records(()) if r.kind == "place"})


class _SizeType(click.ParamType[float]):
    """The top diameter of a pot: `9`, `9cm` or `3.5in`. [cm]"""

    name = "size"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Return the size. [cm]

        Raises:
            Refused: It is out of range.
        """
        if isinstance(value, float | int):
            return float(value)
        match = re.fullmatch(r"(-?\d+(?:\.\d+)?) ?(cm|in|)", _pointed(value), re.ASCII)
        if not match:
            self.fail(f"'{value}' is not a size; write it as 9, 9cm or 3.5in", param, ctx)
        size = float(match[1]) * (CM_PER_INCH if match[2] == "in" else 1)
        if not SMALLEST_CM <= size <= LARGEST_CM:
            raise Refused(
                f"a size of {value} is out of range; allowed are {SMALLEST_CM:g} to {LARGEST_CM:g} cm"
            )
        return round(size, 1)


def _pointed(value: object) -> str:
    """Return a number as it was typed with a point for its comma; a comma before three digits may mean thousands."""
    return re.sub(r"(?<=\d),(?=\d{1,2}(?!\d))", ".", str(value).strip())


class NumberType(click.ParamType[float]):
    """A number as people write it, with its unit or without: `2,5`, `412g`, `120 mm`.

    Args:
        units: The units it may be given in, as factors of the one it is kept in.
    """

    name = "number"

    def __init__(self, **units: float) -> None:
        self.units = {name.casefold(): factor for name, factor in units.items()}

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Return the number in the unit it is kept in."""
        if isinstance(value, float | int):
            return float(value)
        if str(value).strip().casefold() in {"nan", "inf", "-inf"}:
            return float(value)  # a number to the machine; what it is for says what is allowed
        if re.fullmatch(r"-?\d{1,3},\d{3}", str(value).strip(), re.ASCII):
            whole, part = str(value).strip().split(",")
            self.fail(f"'{value}' may be {whole}{part} or {whole}.{part}; write one of them", param, ctx)
        match = re.fullmatch(r"(-?\d+(?:\.\d*)?|-?\.\d+) ?([^\d\s]*)", _pointed(value), re.ASCII)
        unit = match[2].casefold() if match else ""
        if match is None or (unit and unit not in self.units):
            allowed = f", or with {' or '.join(self.units)}" if self.units else ""
            self.fail(f"'{value}' is not a number; write it as 2.5 or 2,5{allowed}", param, ctx)
        return float(match[1]) * self.units.get(unit, 1.0)


class _TimeType(click.ParamType[time]):
    """A time of day as `18:30`."""

    name = "time"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> time:
        """Return the time."""
        if isinstance(value, time):
            return value
        match = re.fullmatch(r"([01]?\d|2[0-3]):([0-5]\d)", str(value), re.ASCII)
        if not match:
            self.fail(f"'{value}' is not a time; write it as 18:30", param, ctx)
        return time(int(match[1]), int(match[2]))


class _TemperaturesType(click.ParamType[Temperatures]):
    """A day's and a night's temperature as `20/16`. [°C]"""

    name = "day/night"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Temperatures:
        """Return both. [°C]"""
        if isinstance(value, Temperatures):
            return value
        number = r"(-?\d+(?:\.\d+)?) ?(?:°?c)?"
        match = re.fullmatch(rf"{number} ?/ ?{number}", _pointed(value).casefold(), re.ASCII)
        if not match:
            self.fail(
                f"'{value}' is not a day's and a night's temperature; write it as 20/16 [°C]", param, ctx
            )
        return Temperatures(float(match[1]), float(match[2]))


class _AnalysisType(click.ParamType[tuple[float, float, float]]):
    """A fertiliser's label as `20-20-20`: N, P₂O₅ and K₂O. [%]"""

    name = "n-p-k"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[float, float, float]:
        """Return the three. [%]

        Raises:
            Refused: They are out of range.
        """
        if isinstance(value, tuple):
            return value
        number = r"(\d+(?:\.\d+)?)"
        match = re.fullmatch(rf"{number}-{number}-{number}", str(value).strip(), re.ASCII)
        if not match:
            self.fail(f"'{value}' is not an analysis; write N-P-K as 20-20-20 [%]", param, ctx)
        n, p, k = (float(part) for part in match.groups())
        if n + p + k > 100:
            raise Refused(f"analysis {value} makes {n + p + k:g} %; allowed are 100 % in all")
        return n, p, k


ANALYSIS = _AnalysisType()
GRAMS = NumberType(g=1.0, kg=1000.0, oz=28.349523125)
LENGTH = NumberType(mm=1.0, cm=10.0, **{"in": 25.4})
NUMBER = NumberType()
DAY = DayType("on")
AHEAD = DayType("ahead")
PLANT = _IdType("plant", lambda journal: journal.ids(), lambda journal, name: journal.named(name))
PLACE = _IdType("place", _places)
SIZE = _SizeType()
TIME = _TimeType()
TEMPERATURES = _TemperaturesType()
