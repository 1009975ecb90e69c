"""Days as people say them."""

from __future__ import annotations

from datetime import date

__all__ = ["MONTHS", "WEEKDAY_NAMES", "day_month", "day_text", "span_text"]

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
WEEKDAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


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
