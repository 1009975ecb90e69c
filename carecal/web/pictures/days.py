"""The year of care days as a picture: a square a day, filled where care was done, open where it is planned."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from math import sqrt
from typing import TYPE_CHECKING

from carecal.web.pictures.frame import Table, shown
from carecal.web.pictures.scale import Scale
from carecal.wording.dates import MONTHS

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from markupsafe import Markup

    from carecal.app.documents.pictures import CareDay

__all__ = ["Square", "month_rows", "squares", "year_picture"]

WIDTH, LEFT, TOP, ROW = 360, 30, 22, 18  # [px]
CELL = 10.0  # [px]
LEAST, MOST = 3.0, 9.0  # sides of squares [px]
FULL_DAY = 20  # our choice, because a day of more tasks is simply a full one
DAY_SCALE = Scale(1, 31, LEFT + CELL / 2, WIDTH - CELL)


@dataclass(frozen=True, slots=True)
class Square:
    """One day: its middle, its side and its look (done, planned)."""

    x: float
    y: float
    side: float
    look: str


def squares(days: Sequence[CareDay]) -> list[Square]:
    """Return a square for each day of care, its area by how much there is to do, up to 20."""
    found = []
    for day in days:
        middle = DAY_SCALE.at(day.on.day), TOP + ROW * (day.on.month - 1) + ROW / 2
        for look, count in (("done", day.done), ("planned", day.planned)):
            if count:
                found.append(Square(*middle, _side(count), look))
    return found


def _side(count: int) -> float:
    share = min(count, FULL_DAY) / FULL_DAY
    return round(sqrt(LEAST**2 + share * (MOST**2 - LEAST**2)), 1)


def month_rows(days: Sequence[CareDay]) -> tuple[tuple[str, ...], ...]:
    """Return month, days with care done, cares done, days planned, tasks planned; months with nothing left out."""
    rows = []
    for month, group in groupby(days, key=lambda day: day.on.month):
        mine = list(group)
        numbers = (
            sum(1 for d in mine if d.done),
            sum(d.done for d in mine),
            sum(1 for d in mine if d.planned),
            sum(d.planned for d in mine),
        )
        if any(numbers):
            rows.append((MONTHS[month - 1], *map(str, numbers)))
    return tuple(rows)


def year_picture(days: Sequence[CareDay], today: date) -> Markup:
    """Return the year of care days with a table by months.

    Args:
        days: Every day of one year.
        today: The plan's day, ringed where it lies in the year.
    """
    year = days[0].on.year
    done, planned = (sum(1 for d in days if d.done), sum(1 for d in days if d.planned))
    text = (
        f"{done} days with care done, filled; {planned} days with care planned, open. "
        f"The larger the square, the more there is to do, up to {FULL_DAY}"
    )
    ring = None
    if today.year == year:
        ring = DAY_SCALE.at(today.day), TOP + ROW * (today.month - 1) + ROW / 2
    months = [(TOP + ROW * i + ROW / 2, MONTHS[i][:3]) for i in range(12)]
    table = Table(("month", "days done", "cares done", "days planned", "tasks planned"), month_rows(days))
    return shown(
        "pictures_days.html",
        key=f"year-{year}",
        title=f"Care days of {year}",
        text=text,
        squares=squares(days),
        months=months,
        ticks=[(DAY_SCALE.at(n), n) for n in (1, 5, 10, 15, 20, 25, 30)],
        ring=ring,
        table=table,
        width=WIDTH,
        height=TOP + 12 * ROW + 6,
        left=LEFT,
    )
