"""Days as pages say them, worked by hand."""

from __future__ import annotations

from datetime import date

import pytest

from carecal.web.templating import day_seen

TODAY = date(2026, 11, 28)  # a Saturday


@pytest.mark.parametrize(
    ("day", "shown"),
    [
        (TODAY, "Sat 28 November"),
        (date(2026, 6, 2), "Tue 2 June"),  # 179 days before
        (date(2026, 6, 1), "1 June 2026"),  # 180 days before
        ("2025-01-18", "18 January 2025"),
    ],
)
def test_a_day_long_behind_names_its_year(day: date | str, shown: str) -> None:
    """From half a year on a weekday says nothing, and the year is needed."""
    assert day_seen(day, TODAY) == shown
