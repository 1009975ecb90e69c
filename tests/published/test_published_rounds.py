"""Every row of checks_rounds: optimal numbers of days, the repeated ones proved by a solver."""

from __future__ import annotations

from typing import Any

from carecal.planning.rounds.fewest import RepeatedTask, fewest_days, fewest_rounds
from tests.published.published_rows import Row, answer, checks, number, params


def days_for_windows(windows: list[list[int]]) -> list[int]:
    """The days for one-off windows, each of which must hold one of them."""
    pairs = [(first, last) for first, last in windows]
    days = fewest_days(pairs)
    assert all(any(first <= day <= last for day in days) for first, last in pairs)
    return days


def rounds_for_tasks(tasks: list[dict[str, Any]], horizon_days: int) -> list[int]:
    """The days for repeated windows."""
    repeated = [
        RepeatedTask((a, b), (c, d)) for task in tasks for (a, b), (c, d) in [(task["first"], task["gap"])]
    ]
    return fewest_rounds(repeated, horizon_days)


FUNCTIONS: dict[str, Any] = {"fewest_days": days_for_windows, "fewest_rounds": rounds_for_tasks}


def test_all_rows_are_read() -> None:
    """The table has the nine rows it was published with."""
    assert len(checks("checks_rounds")) == 9


@params("checks_rounds")
def test_rounds_agree_with_the_published_row(row: Row) -> None:
    """One-off windows are met by the optimal days; repeated ones within 10 % of the optimum, never below it."""
    days = answer(row, FUNCTIONS)
    best = number(row.expected)
    if row.function == "fewest_days":
        assert f"{len(days)} days: {days}" == row.expected
    else:
        assert best <= len(days) <= 1.1 * best
