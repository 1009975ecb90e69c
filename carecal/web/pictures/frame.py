"""The frame of pictures as inline SVG: a chart over days with words and a table of the same numbers."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from carecal.web.pictures.scale import Scale, Tick
from carecal.wording.dates import day_month

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date


__all__ = ["Chart", "Line", "Sign", "Table", "scales", "short_day", "shown", "signs"]

WIDTH, HEIGHT = 360, 236  # as wide as a phone, so that letters keep their size there [px]
LEFT, RIGHT, TOP, BOTTOM = 32, 340, 20, 194
SAMPLE, LETTER = 38.0, 5.2  # a sample with its gaps, and one letter of the legend [px]

BOLD, ROW = 6.2, 11.0  # one bold letter's width, one line's height [px]

_ENV = Environment(
    loader=PackageLoader("carecal.web", "templates"),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a chart: its class tells its look, its name stands in the legend."""

    look: str
    name: str
    points: str

    @property
    def legend_width(self) -> float:
        """How wide its sample and name stand in the legend. [px]."""
        return SAMPLE + LETTER * len(self.name)


@dataclass(frozen=True, slots=True)
class Sign:
    """A day or a level that is drawn across a chart, with a letter or a word at its end."""

    place: float
    text: str
    look: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """The numbers of a picture: headings and rows."""

    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart over days, ready to be drawn; everything in it stands where its scales say."""

    key: str
    title: str
    caption: str
    text: str
    unit: str
    x_ticks: tuple[Sign, ...]
    y_ticks: tuple[Sign, ...]
    table: Table
    lines: tuple[Line, ...] = ()
    bands: tuple[Line, ...] = ()
    spans: tuple[tuple[float, float, str], ...] = ()
    levels: tuple[Sign, ...] = ()
    days: tuple[Sign, ...] = ()
    dots: tuple[tuple[float, float, str], ...] = ()
    notes: tuple[tuple[str, str], ...] = ()
    width: int = WIDTH
    height: int = HEIGHT
    frame: tuple[int, int, int, int] = field(default=(LEFT, RIGHT, TOP, BOTTOM))


def apart(
    signs: Sequence[Sign], across: tuple[float, float], top: float
) -> list[tuple[Sign, float, float, str]]:
    """Return days' names so that none lies upon another: each with its place, row and the side it is written to.

    Args:
        signs: Days with their names.
        across: Left and right end of the chart. [px]
        top: Upper end of the chart. [px]
    """
    rows: list[float] = []
    found = []
    for sign in sorted(signs, key=lambda s: s.place):
        wide = BOLD * len(sign.text) + 4
        is_end = sign.place + wide > across[1]
        begin = sign.place - wide if is_end else sign.place
        row = next((n for n, end in enumerate(rows) if begin >= end), len(rows))
        rows[row:] = [begin + wide, *rows[row + 1 :]]
        found.append(
            (sign, sign.place + (-2 if is_end else 2), top + 8 + ROW * row, "end" if is_end else "start")
        )
    return found


def stacked(signs: Sequence[Sign]) -> list[tuple[Sign, float]]:
    """Return levels with where their names stand, never closer than a line to one another. [px]."""
    found: list[tuple[Sign, float]] = []
    for sign in sorted(signs, key=lambda s: s.place):
        y = sign.place - 3
        found.append((sign, max(y, found[-1][1] + ROW) if found else y))
    return found


def shown(template: str, **values: object) -> Markup:
    """Return a picture as markup that may stand in a page."""
    return Markup(_ENV.get_template(template).render(**values))  # noqa: S704 - rendered with autoescape


_ENV.globals.update(apart=apart, stacked=stacked)


def scales(first: date, last: date, ticks: Sequence[Tick]) -> tuple[Scale, Scale]:
    """Return the scales of days and of values, from the first tick to the last."""
    end = max(last.toordinal(), first.toordinal() + 1)
    return Scale(first.toordinal(), end, LEFT, RIGHT), Scale(ticks[0].value, ticks[-1].value, BOTTOM, TOP)


def signs(scale: Scale, ticks: Iterable[Tick]) -> tuple[Sign, ...]:
    """Return where ticks stand, with their texts."""
    return tuple(Sign(scale.at(tick.value), tick.text) for tick in ticks)


def short_day(day: date) -> str:
    """Return a day without its year: 5 November."""
    return day_month(day).rsplit(" ", 1)[0]
