"""Every row of checks_salts: closed forms and the worked example of FAO 29."""

from __future__ import annotations

from typing import Any

from carecal.horticulture import salts
from tests.published.published_rows import Row, answer, checks, having, hold


def salt_after_waterings(start_ms_cm: float, n: int, **rest: float) -> float:
    """The strength after so many like wettings, one by one."""
    for _ in range(n):
        start_ms_cm = salts.salt_after_wetting(start_ms_cm, **rest)
    return start_ms_cm


def applied_depth(lost_mm: float, leaching: float) -> float:
    """The water to apply; the balance is the same in millimetres as in litres."""
    return salts.wetting_amounts(lost_mm, leaching).applied_l


FUNCTIONS: dict[str, Any] = {
    **{name: getattr(salts, name) for name in salts.__all__},
    "salt_after_waterings": salt_after_waterings,
    "applied_depth": applied_depth,
}


def test_all_rows_are_read() -> None:
    """The table has the fifteen rows it was published with."""
    assert len(checks("checks_salts")) == 15


@having("checks_salts", "ec_concentrated", "leaching_requirement")
def test_salts_agree_with_the_published_row(row: Row) -> None:
    """Each published value is met within its tolerance."""
    hold(row, answer(row, FUNCTIONS))
