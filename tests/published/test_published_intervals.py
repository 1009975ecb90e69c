"""Every published interval against the project's own, row by row; the table of both is a report of the test run."""

from __future__ import annotations

import pytest

from carecal.catalog.load import load_catalog
from tests.published.intervals import Compared, compared, report_lines

ROWS = compared(load_catalog())
RAW_TOLERANCE = 0.05  # the table prints one decimal [d]


def test_all_rows_are_read() -> None:
    """The table has the 40 rows it was published with, each id once."""
    assert len({row.id for row in ROWS}) == len(ROWS) == 40


@pytest.mark.parametrize("found", [pytest.param(row, id=row.id) for row in ROWS])
def test_an_interval_is_what_the_table_computed(found: Compared) -> None:
    """Raw days agree within what one printed decimal tells, whole days and verdict exactly (models I1, I2)."""
    assert found.raw == pytest.approx(float(found.row["computed_raw_days"]), abs=RAW_TOLERANCE + 1e-9)
    assert found.days == int(found.row["computed_days"])
    assert found.verdict == found.row["verdict"]


def test_exactly_one_published_interval_lies_outside() -> None:
    """I09 alone is shorter than published: one house that reports 18 to 21 days (models I, sense)."""
    assert [(row.id, row.verdict) for row in ROWS if row.verdict != "within"] == [("I09", "shorter")]


def test_the_report_names_every_row_and_the_one_outside() -> None:
    """The table of the report has a line a row, and its last line names I09."""
    lines = report_lines(ROWS)
    assert [line.split(" | ")[0].removeprefix("| ") for line in lines[2:42]] == [row.id for row in ROWS]
    assert lines[-1].startswith("39 of 40 within on whole days; outside: I09 ")
