"""Days as people write them; it knows nothing of plans, so that what is kept can be told without planning."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

__all__ = ["MONTHS", "day_month", "day_text"]

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip


def day_month(day: date) -> str:
    """Return a date as a grower writes it: 5 November 2026."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def day_text(day: date) -> str:
    """Return a day as people say it, as '23 November'."""
    return f"{day.day} {MONTHS[day.month - 1]}"
