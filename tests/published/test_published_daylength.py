"""Every row of checks_daylength: examples of FAO56, and what astral and pvlib answer."""

from __future__ import annotations

from datetime import date
from typing import Any

from carecal.horticulture import daylight
from tests.published.published_rows import Row, answer, checks, having, hold


def day_length(latitude: float, date: str) -> float:
    """The length of a day written as text."""
    return daylight.day_length(latitude, _date(date))


def _date(text: str) -> date:
    return date.fromisoformat(text)


FUNCTIONS: dict[str, Any] = {
    **{name: getattr(daylight, name) for name in daylight.__all__},
    "day_length": day_length,
}


def test_all_rows_are_read() -> None:
    """The table has the thirty rows it was published with."""
    assert len(checks("checks_daylength")) == 30


@having("checks_daylength", "lux_from_footcandle", "ppfd_from_footcandle")
def test_daylight_agrees_with_the_published_row(row: Row) -> None:
    """Each published value is met within its tolerance."""
    hold(row, answer(row, FUNCTIONS))
