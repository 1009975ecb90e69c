"""Weighing for a can of feed, worked by hand: grams = g/L times litres, never less than half a gram."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carecal.errors import Refused
from carecal.horticulture.mixing import weighing


def test_half_a_gram_and_more_is_weighed_as_it_is() -> None:
    """0.3 g/L in 2.5 L are 0.75 g."""
    found = weighing(0.3, 2.5)
    assert (found.grams, found.can_l, found.away_l) == pytest.approx((0.75, 2.5, 0.0))
    assert found.stock_l is None


def test_a_little_less_becomes_a_larger_can() -> None:
    """0.3 g/L in 1 L are 0.3 g; 0.5 g make 1.667 L, of which 0.667 L are poured away."""
    found = weighing(0.3, 1.0)
    assert (found.grams, found.can_l, found.away_l) == pytest.approx((0.5, 5 / 3, 2 / 3))
    assert found.stock_l is None


@pytest.mark.parametrize(
    ("g_per_l", "litres", "stock_l", "dose_ml"),
    [
        (0.175, 0.46, 0.1, 16),  # 0.0805 g is 16.1 % of 0.5 g; a can of 2.9 L would waste 2.4
        (0.3, 0.08, 0.25, 12),  # 0.024 g: 4.8 mL of 100 are below a spoon, 12 of 250 are not
        (0.1, 0.03, 1.0, 6),  # 0.003 g is 0.6 %: 3 mL of 500, 6 of a litre
        (0.1, 0.005, 1.0, 1),  # less than any stock measures well: the weakest of them
    ],
)
def test_much_less_becomes_a_stock_solution(
    g_per_l: float, litres: float, stock_l: float, dose_ml: float
) -> None:
    """The dose holds what is needed; the rest of the stock is poured away."""
    found = weighing(g_per_l, litres)
    assert (found.grams, found.can_l, found.stock_l) == (0.5, litres, stock_l)
    assert found.dose_ml == pytest.approx(dose_ml)
    assert found.away_l == pytest.approx(stock_l - dose_ml / 1000)


@given(st.floats(0.01, 2), st.floats(0.01, 20))
def test_what_is_poured_is_of_the_strength_that_was_asked_for(g_per_l: float, litres: float) -> None:
    """Whatever way is told, the feed holds its grams: to a fiftieth, or as well as a syringe's two digits."""
    found = weighing(g_per_l, litres)
    share = (found.dose_ml / 1000 / found.stock_l) if found.stock_l and found.dose_ml else 1.0
    assert found.grams >= 0.5
    assert found.grams * share / found.can_l == pytest.approx(g_per_l, rel=0.051)
    assert found.can_l - litres <= 1.0 + 1e-9


def test_nothing_to_mix_is_refused() -> None:
    """There is no can of nothing."""
    with pytest.raises(Refused, match="must be above 0"):
        weighing(0.3, 0.0)
