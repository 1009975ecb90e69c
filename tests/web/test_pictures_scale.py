"""Scales and ticks of pictures, worked by hand."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carecal.web.pictures.scale import Scale, day_ticks, month_ticks, nice_ticks, path_of


@pytest.mark.parametrize(
    ("value", "place"),
    [
        (10, 194.0),  # the lowest stands at the start
        (20, 20.0),  # the highest at the end
        (15, 107.0),  # (194 + 20) / 2
        (12.5, 150.5),  # 194 - 174 / 4
    ],
)
def test_scale_puts_a_value_where_its_share_is(value: float, place: float) -> None:
    """A scale from 10 at 194 px up to 20 at 20 px is a straight line (worked by hand)."""
    assert Scale(10, 20, 194, 20).at(value) == place


@pytest.mark.parametrize(
    ("low", "high", "texts"),
    [
        (13.2, 23.4, ["12", "14", "16", "18", "20", "22", "24"]),  # steps of 2: six
        (0, 141, ["0", "50", "100", "150"]),  # steps of 20 would be eight
        (0, 5, ["0", "1", "2", "3", "4", "5"]),
        (0, 0, ["0", "0.2", "0.4", "0.6", "0.8", "1"]),  # an empty range is widened by 1
        (-3, 4, ["-4", "-2", "0", "2", "4"]),  # frost
    ],
)
def test_ticks_are_round_and_hold_the_range(low: float, high: float, texts: list[str]) -> None:
    """Ticks step by 1, 2 or 5 times a power of ten and hold the whole range (worked by hand)."""
    assert [tick.text for tick in nice_ticks(low, high)] == texts


@given(st.floats(-1000, 1000), st.floats(0, 5000))
def test_ticks_are_few_and_never_leave_a_value_out(low: float, wide: float) -> None:
    """Whatever the range, there are at most six steps and both ends lie between first and last tick."""
    ticks = nice_ticks(low, low + wide)
    assert 2 <= len(ticks) <= 7
    assert ticks[0].value <= low + 1e-6
    assert ticks[-1].value >= low + wide - 1e-6


def test_months_of_a_year_are_initials_and_january_its_year() -> None:
    """From 1 November a year's ticks are N D, the year, F M ... O, each on the first of its month."""
    ticks = month_ticks(date(2026, 11, 1), date(2027, 10, 31))
    assert [tick.text for tick in ticks] == ["N", "D", "2027", *"FMAMJJASO"]
    assert ticks[2].value == date(2027, 1, 1).toordinal()


def test_months_before_the_first_day_are_left_out() -> None:
    """A span that begins within a month has no tick for that month's first."""
    assert [tick.text for tick in month_ticks(date(2026, 3, 2), date(2026, 5, 1))] == ["A", "M"]


def test_long_spans_name_quarters_and_longer_ones_years() -> None:
    """Two years name January, April, July, October; five years their Januaries alone."""
    assert [t.text for t in month_ticks(date(2025, 1, 1), date(2026, 12, 31))] == [
        "2025",
        *"AJO",
        "2026",
        *"AJO",
    ]
    assert [t.text for t in month_ticks(date(2024, 2, 1), date(2028, 12, 1))] == [
        "2025",
        "2026",
        "2027",
        "2028",
    ]


def test_days_step_evenly_from_the_first() -> None:
    """Thirteen days in at most six names step by three."""
    texts = [tick.text for tick in day_ticks(date(2026, 2, 26), date(2026, 3, 10))]
    assert texts == ["26 Feb", "1 Mar", "4 Mar", "7 Mar", "10 Mar"]


def test_path_writes_each_point_once() -> None:
    """A path is x,y pairs with at most one decimal, in the order given (worked by hand)."""
    x, y = Scale(0, 10, 0, 100), Scale(0, 1, 50, 0)
    assert path_of([(0, 0), (2.55, 0.5), (10, 1)], x, y) == "0,50 25.5,25 100,0"
