"""Gates and runs of days: brute force as oracle, ends and hysteresis by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carecal.horticulture import windows

flags = st.lists(st.booleans(), min_size=1, max_size=60)


@given(flags, st.integers(1, 20))
def test_starts_are_those_of_brute_force(holds: list[bool], days: int) -> None:
    """A day is a start if every one of the days from it holds; past the last day it goes on as on that day."""
    longer = holds + [holds[-1]] * days
    brute = [all(longer[index : index + days]) for index in range(len(holds))]
    assert windows.run_starts(holds, days) == brute


def test_no_days_have_no_starts() -> None:
    """An empty walk has nothing to start on."""
    assert windows.run_starts([], 7) == []


def test_means_ahead_are_of_fewer_days_at_the_end() -> None:
    """The mean of a day and those after it, by hand over four days."""
    assert windows.ahead_means([1.0, 2.0, 3.0, 6.0], 2) == pytest.approx([1.5, 2.5, 4.5, 6.0])


def test_a_gate_looks_a_fortnight_ahead() -> None:
    """One cold day shuts nothing by itself: it counts as a fourteenth in each of the fourteen days up to it."""
    values = [16.0] * 20 + [2.0] + [16.0] * 20
    means = windows.ahead_means(values)
    assert [index for index, mean in enumerate(means) if mean < 16] == list(range(7, 21))
    assert means[7] == pytest.approx(15.0)


@pytest.mark.parametrize(
    ("values", "state", "reason"),
    [
        ([15.5], True, "nothing decisive: open"),
        ([15.5, 15.5], True, "in the band all along: open"),
        ([17.0, 15.5], True, "the last decisive day opened it"),
        ([14.0, 15.5], False, "the last decisive day shut it"),
        ([14.0, 17.0, 15.2], True, "the later of two decides"),
    ],
)
def test_inside_the_band_the_last_decisive_day_tells(values: list[float], state: bool, reason: str) -> None:
    """Between 15 and 16 °C only what was before tells how the gate stands (models W4)."""
    assert windows.gate_states(values, 16, 15)[-1] is state, reason


def test_a_gate_does_not_tremble() -> None:
    """It shuts below the lower limit, opens at the upper one and keeps its state between, by hand."""
    values = [16.0, 15.4, 15.0, 14.9, 15.5, 15.99, 16.0, 15.2]
    assert windows.gate_states(values, 16, 15) == [True, True, True, False, False, False, True, True]


def test_a_gate_against_heat_works_the_other_way_round() -> None:
    """It opens at 32 °C and below and shuts above 33 °C."""
    values = [32.5, 33.0, 33.1, 32.5, 32.0, 32.9]
    assert windows.gate_states(values, 32, 33, is_upper=True) == [True, True, False, False, True, True]
