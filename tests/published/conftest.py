"""Prints the table of computed against published intervals at the end of a run that tested them."""

from __future__ import annotations

import pytest

from carecal.catalog.load import load_catalog
from tests.published.intervals import compared, report_lines


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Add the table to the report of a run in which any of its rows was tested."""
    tested = any(
        "test_published_intervals" in report.nodeid
        for outcome in ("passed", "failed")
        for report in terminalreporter.stats.get(outcome, [])
    )
    if tested and terminalreporter.config.get_verbosity() >= -1:
        terminalreporter.section("computed against published intervals")
        for line in report_lines(compared(load_catalog())):
            terminalreporter.write_line(line)
