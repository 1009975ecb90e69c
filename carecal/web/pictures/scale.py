"""Scales and ticks of pictures: where a number or a day stands, and which of them are named. It draws nothing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import ceil, floor, log10
from typing import TYPE_CHECKING

from carecal.wording.dates import MONTHS

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["Scale", "Tick", "day_ticks", "month_ticks", "nice_ticks", "path_of"]

STEPS = (1.0, 2.0, 5.0, 10.0)
NARROWEST = 1e-6  # a narrower range is drawn as one value
EPSILON = 1e-9
QUARTERS = frozenset({4, 7, 10})
MOST_MONTHS, MOST_QUARTERS = 14, 36  # months; our choice, because more names than that touch one another


@dataclass(frozen=True, slots=True)
class Scale:
    """A straight line from values to places in a picture.

    Args:
        low: Value at `start`.
        high: Value at `end`; must differ from `low`.
        start: Place of the lowest value. [px]
        end: Place of the highest. [px]
    """

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """Return where a value stands, to a tenth. [px]."""
        share = (value - self.low) / (self.high - self.low)
        return round(self.start + share * (self.end - self.start), 1)


@dataclass(frozen=True, slots=True)
class Tick:
    """A value that is named beside an axis."""

    value: float
    text: str


def nice_ticks(low: float, high: float, most: int = 6) -> tuple[Tick, ...]:
    """Return round values that hold a range between the first and the last of them.

    Args:
        low: Lowest value.
        high: Highest value; an empty range is widened by 1.
        most: At most so many steps between ticks.
    """
    if high - low < NARROWEST:
        high = low + 1
    power = 10.0 ** floor(log10((high - low) / most))
    for step in (s * power * tens for tens in (1, 10, 100) for s in STEPS):
        first, last = floor(low / step + EPSILON), ceil(high / step - EPSILON)
        if last - first <= most:
            return tuple(Tick(n * step, f"{n * step:g}") for n in range(first, last + 1))
    raise AssertionError(f"no step holds {low} to {high} in {most} steps")  # a hundredfold step always does


def month_ticks(first: date, last: date) -> tuple[Tick, ...]:
    """Return the first days of months in a span by their initial, of quarters or years where the span is long.

    January is named by its year, so that a letter is never without one.
    """
    months = (last.year - first.year) * 12 + last.month - first.month
    found = []
    for n in range(months + 1):
        year, month = first.year + (first.month - 1 + n) // 12, (first.month - 1 + n) % 12 + 1
        day = date(year, month, 1)
        if day < first:
            continue
        if month == 1:
            found.append(Tick(day.toordinal(), f"{year}"))
        elif months <= MOST_MONTHS or (months <= MOST_QUARTERS and month in QUARTERS):
            found.append(Tick(day.toordinal(), MONTHS[month - 1][0]))
    return tuple(found)


def day_ticks(first: date, last: date, most: int = 6) -> tuple[Tick, ...]:
    """Return days in even steps of whole days, the first included, as '5 Nov'."""
    step = max(1, ceil(((last - first).days + 1) / most))
    days = range(first.toordinal(), last.toordinal() + 1, step)
    return tuple(Tick(day, _short(date.fromordinal(day))) for day in days)


def path_of(points: Iterable[tuple[float, float]], x: Scale, y: Scale) -> str:
    """Return points as the `points` of a polyline."""
    return " ".join(f"{x.at(a):g},{y.at(b):g}" for a, b in points)


def _short(day: date) -> str:
    return f"{day.day} {MONTHS[day.month - 1][:3]}"
