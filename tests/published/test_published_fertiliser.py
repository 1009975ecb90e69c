"""Every row of checks_fertiliser: printed worksheets of universities and definitions."""

from __future__ import annotations

from typing import Any

from carecal.horticulture import nutrition
from tests.published.published_rows import Row, answer, checks, hold, params

FUNCTIONS: dict[str, Any] = {name: getattr(nutrition, name) for name in nutrition.__all__}


def test_all_rows_are_read() -> None:
    """The table has the 24 rows it was published with."""
    assert len(checks("checks_fertiliser")) == 24


@params("checks_fertiliser")
def test_arithmetic_agrees_with_the_published_row(row: Row) -> None:
    """Each published value is met within its tolerance."""
    hold(row, answer(row, FUNCTIONS))
