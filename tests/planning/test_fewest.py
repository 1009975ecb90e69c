"""The fewest days: brute force on small cases as oracle; the published rows run in tests/published."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carecal.errors import Refused
from carecal.planning.rounds.fewest import RepeatedTask, fewest_days, fewest_rounds

windows = st.lists(
    st.tuples(st.integers(0, 8), st.integers(0, 4)).map(lambda pair: (pair[0], sum(pair))), max_size=6
)
tasks = st.lists(
    st.builds(
        lambda start, width, gap, slack: RepeatedTask((start, start + width), (gap, gap + slack)),
        st.integers(0, 5), st.integers(0, 3), st.integers(2, 6), st.integers(0, 3),
    ),
    min_size=1,
    max_size=4,
)  # fmt: skip


def is_kept(task: RepeatedTask, days: list[int], horizon: int) -> bool:
    """Whether some choice among the days serves every window of a task that ends by the horizon."""
    open_windows = [task.first]
    while open_windows:
        earliest, latest = open_windows.pop()
        if latest > horizon:
            return True
        open_windows += [(day + task.gap[0], day + task.gap[1]) for day in days if earliest <= day <= latest]
    return False


@given(windows)
def test_one_off_windows_are_met_by_the_fewest_days(given_windows: list[tuple[int, int]]) -> None:
    """No smaller set of days meets all windows, by trying every set."""
    days = fewest_days(given_windows)
    assert all(any(first <= day <= last for day in days) for first, last in given_windows)
    for size in range(len(days)):
        for fewer in combinations(range(13), size):
            assert not all(any(first <= day <= last for day in fewer) for first, last in given_windows)


@given(tasks, st.integers(0, 20), st.sampled_from([1, 30]))
def test_repeated_windows_are_all_met(given_tasks: list[RepeatedTask], horizon: int, beam: int) -> None:
    """Whatever the beam, every window that ends by the horizon holds a round that the next one hangs on."""
    days = fewest_rounds(given_tasks, horizon, beam)
    assert days == sorted(set(days))
    assert all(is_kept(task, days, horizon) for task in given_tasks)


@given(
    st.lists(
        st.builds(
            lambda s, w, g: RepeatedTask((s, s + w), (g, g + 1)),
            st.integers(0, 3),
            st.integers(0, 2),
            st.integers(2, 4),
        ),
        min_size=1,
        max_size=3,
    )
)
def test_a_beam_finds_the_optimum_of_small_cases(given_tasks: list[RepeatedTask]) -> None:
    """On ten days no smaller set of days keeps all tasks, by trying every set."""
    days = fewest_rounds(given_tasks, 9)
    for size in range(len(days)):
        for fewer in combinations(range(10), size):
            assert not all(is_kept(task, list(fewer), 9) for task in given_tasks)


def test_nothing_to_do_needs_no_days() -> None:
    """Without windows, or with all of them beyond the horizon, there is no round."""
    assert fewest_days([]) == []
    assert fewest_rounds([], 30) == []
    assert fewest_rounds([RepeatedTask((20, 31), (7, 9))], 30) == []


def test_a_window_at_the_horizon_is_served() -> None:
    """A window whose latest day is the horizon itself still counts."""
    assert fewest_rounds([RepeatedTask((20, 30), (7, 9))], 30) == [30]


def test_impossible_windows_are_refused() -> None:
    """Ends before beginnings, gaps of no day and beams of no plan are refused."""
    with pytest.raises(Refused, match="window from 5 to 4 ends before it begins"):
        fewest_days([(5, 4)])
    with pytest.raises(Refused, match="ends before it begins"):
        fewest_rounds([RepeatedTask((1, 2), (5, 4))], 30)
    with pytest.raises(Refused, match="a gap must be of 1 day at least"):
        fewest_rounds([RepeatedTask((1, 2), (0, 4))], 30)
    with pytest.raises(Refused, match="beam 0 must be 1 or more"):
        fewest_rounds([RepeatedTask((1, 2), (3, 4))], 30, beam=0)
