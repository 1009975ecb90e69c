"""Every row of checks_survival: a published trial, published intervals, and what lifelines answers."""

from __future__ import annotations

from typing import Any

from carecal.horticulture import survival
from tests.published.published_rows import Row, answer, checks, hold, params, table


def trial() -> tuple[list[float], list[bool]]:
    """Weeks and relapses of the published trial."""
    rows = table("data_6mp")
    assert len(rows) == 21
    return [float(row["weeks"]) for row in rows], [row["relapsed"] == "1" for row in rows]


def kaplan_meier(data: str, at: float) -> Any:
    """The step of the published trial at a week."""
    assert data == "6-MP"
    step = survival.survival_at(survival.kaplan_meier(*trial()), at)
    assert step is not None
    assert step.time == at
    return step


def kaplan_meier_median(data: str) -> Any:
    """The median of the published trial."""
    assert data == "6-MP"
    return survival.kaplan_meier_median(*trial())


def kaplan_meier_interval(data: str, at: float, confidence: float, form: str) -> Any:
    """The log-log interval of the published trial at a week."""
    assert (data, form) == ("6-MP", "log-log")
    return survival.kaplan_meier_interval(*trial(), at, confidence)


def cumulative_incidence(days: list[float], kind: list[int], at: float, codes: str) -> Any:
    """Competing outcomes by the codes that the table names."""
    assert codes == "0 still open, 1 recovered, 2 lost"
    return survival.cumulative_incidence(days, kind, at)


FUNCTIONS: dict[str, Any] = {
    "kaplan_meier": kaplan_meier,
    "kaplan_meier_median": kaplan_meier_median,
    "kaplan_meier_interval": kaplan_meier_interval,
    "wilson_interval": survival.wilson_interval,
    "cumulative_incidence": cumulative_incidence,
}


def test_all_rows_are_read() -> None:
    """The table has the sixteen rows it was published with."""
    assert len(checks("checks_survival")) == 16


@params("checks_survival")
def test_balance_agrees_with_the_published_row(row: Row) -> None:
    """Each published value is met within its tolerance."""
    hold(row, answer(row, FUNCTIONS))
