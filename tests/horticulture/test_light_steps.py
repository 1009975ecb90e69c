"""Classes of light and steps up at their ends, worked by hand; papers' values are in tests/published."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carecal.errors import Refused
from carecal.horticulture.light_steps import best_half_year, class_of, light_scale, steps_up

BOUNDS = [0, 0.6, 1.1, 2.2, 6, 9]


@pytest.mark.parametrize(
    ("mol", "number"), [(0, 0), (0.59, 0), (0.6, 1), (1.09, 1), (1.1, 2), (2.2, 3), (6, 4), (9, 5), (40, 5)]
)
def test_a_bound_belongs_to_the_class_above_it(mol: float, number: int) -> None:
    """Each end of each class; by hand."""
    assert class_of(BOUNDS, mol) == number


@pytest.mark.parametrize("bounds", [[], [0.6, 1.1], [0, 1.1, 1.1]])
def test_bounds_without_a_bottom_or_out_of_order_are_refused(bounds: list[float]) -> None:
    """Every light has one class or there are none."""
    with pytest.raises(Refused, match="do not begin with 0 and ascend"):
        class_of(bounds, 1)


def test_light_below_nothing_is_refused() -> None:
    """The value is named."""
    with pytest.raises(Refused, match="light of -1 mol"):
        class_of(BOUNDS, -1)


def test_the_best_half_year_leaves_the_six_darkest_months_out() -> None:
    """Six months of 2 and six of 0.4 make 2; by hand."""
    assert best_half_year([2] * 6 + [0.4] * 6) == 2
    with pytest.raises(Refused, match="11 months of light are given; give twelve"):
        best_half_year([1] * 11)


@pytest.mark.parametrize(
    ("there", "days"), [(1.0, []), (1.5, []), (1.6, [0, 3]), (2, [0, 3]), (2.1, [0, 3, 6])]
)
def test_an_easy_rise_needs_no_steps_and_a_doubling_one(there: float, days: list[int]) -> None:
    """From 1: up to half as much again nothing, up to twice one step; by hand."""
    assert [step.day for step in steps_up(1, there)] == days


@given(st.floats(0.1, 50), st.floats(1.51, 40))
def test_no_step_more_than_doubles_the_light_and_the_last_is_the_full_light(now: float, times: float) -> None:
    """What a leaf meets never rises by more than twice at once."""
    lights = [step.light for step in steps_up(now, now * times)]
    assert lights[0] == now
    assert lights[-1] == now * times
    assert all(after <= before * 2 * (1 + 1e-9) for before, after in itertools.pairwise(lights))


def test_lights_that_cannot_be_compared_are_refused() -> None:
    """No light has no multiple."""
    with pytest.raises(Refused, match="light of 0 must be above 0"):
        steps_up(0, 2)
    with pytest.raises(Refused, match="reference light 0 must be above 0"):
        light_scale(100, 0)
