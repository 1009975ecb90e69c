"""Days as people say them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

__all__ = ["FAR_DAYS", "MONTHS", "WEEKDAY_NAMES", "day_month", "day_text", "listed", "span_text", "spoken"]

MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
WEEKDAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")

FAR_DAYS = 180  # our choice, because within half a year a month names its year [d]


def day_month(day: date) -> str:
    """Return a date as a grower writes it: 5 November 2026."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def day_text(day: date) -> str:
    """Return a day as people say it, as '23 November'."""
    return f"{day.day} {MONTHS[day.month - 1]}"


def span_text(first: date, last: date) -> str:
    """Return two days and what lies between, as '1 November to 20 November 2026'; one day alone as itself."""
    begin, end = (f"{day.day} {MONTHS[day.month - 1]}" for day in (first, last))
    if first == last:
        return f"{begin} {first.year}"
    year = f" {first.year}" if first.year != last.year else ""
    return f"{begin}{year} to {end} {last.year}"


def spoken(day: date, today: date) -> str:
    """Return a day as somebody says it: 'Saturday 5 December', with its year where it is far away."""
    year = f" {day.year}" if abs((day - today).days) >= FAR_DAYS else ""
    return f"{WEEKDAY_NAMES[day.weekday()]} {day_text(day)}{year}"


def listed(names: Sequence[str]) -> str:
    """Return names as people list them: 'Rose, Tide and Gable'."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
