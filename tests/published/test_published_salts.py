"""Every row of checks_salts: closed forms and the worked example of FAO 29."""

from __future__ import annotations

from typing import Any

from carecal.horticulture import salts
from tests.published.published_rows import Row, answer, checks, hold, params

FUNCTIONS: dict[str, Any] = {name: getattr(salts, name) for name in salts.__all__}


def test_all_rows_are_read() -> None:
    """The table has the fifteen rows it was published with."""
    assert len(checks("checks_salts")) == 15


@params("checks_salts")
def test_salts_agree_with_the_published_row(row: Row) -> None:
    """Each published value is met within its tolerance."""
    hold(row, answer(row, FUNCTIONS))
