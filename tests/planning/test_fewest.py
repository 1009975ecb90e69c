"""The fewest days: brute force and a solver as oracles; the published rows run in tests/published.

One-off windows are promised the optimum. Repeated ones are promised a plan that keeps them all: a narrow beam may miss
the optimum, one that holds all plans cannot.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from carecal.errors import Refused
from carecal.planning.rounds.fewest import RepeatedTask, fewest_days, fewest_rounds

windows = st.lists(
    st.tuples(st.integers(0, 8), st.integers(0, 4)).map(lambda pair: (pair[0], sum(pair))), max_size=6
)
tasks = st.lists(
    st.builds(
        lambda start, width, gap, slack: RepeatedTask((start, start + width), (gap, gap + slack)),
        st.integers(0, 5),
        st.integers(0, 3),
        st.integers(2, 6),
        st.integers(0, 3),
    ),
    min_size=1,
    max_size=4,
)


def is_kept(task: RepeatedTask, days: list[int], horizon: int) -> bool:
    """Whether some choice among the days serves every window of a task that ends by the horizon."""
    open_windows = [task.first]
    while open_windows:
        earliest, latest = open_windows.pop()
        if latest > horizon:
            return True
        open_windows += [(day + task.gap[0], day + task.gap[1]) for day in days if earliest <= day <= latest]
    return False


def optimum(given_tasks: Sequence[RepeatedTask], horizon: int) -> int:
    """Return the fewest days that keep all tasks, proved by a solver: each task is a path through days of its own.

    A path starts in the first window, steps from each day into the window that hangs on it, and ends on a day whose
    next window ends beyond the horizon. A day that a path touches costs one, however many paths do.
    """
    paths: list[list[tuple[int | None, int | None]]] = []
    for task in given_tasks:
        if task.first[1] > horizon:
            continue
        days = range(horizon + 1)
        steps: list[tuple[int | None, int | None]] = [
            (None, day) for day in days if task.first[0] <= day <= task.first[1]
        ]
        steps += [(a, b) for a in days for b in days if task.gap[0] <= b - a <= task.gap[1]]
        paths.append([*steps, *((day, None) for day in days if day + task.gap[1] > horizon)])
    columns = horizon + 1 + sum(map(len, paths))
    rows, low, high = [], [], []
    offset = horizon + 1
    for arcs in paths:
        into = np.array([[b == day for _, b in arcs] for day in (*range(horizon + 1), None)], dtype=float)
        out = np.array([[a == day for a, _ in arcs] for day in (*range(horizon + 1), None)], dtype=float)
        for day in range(horizon + 1):
            flow, used = np.zeros(columns), np.zeros(columns)
            flow[offset : offset + len(arcs)] = into[day] - out[day]
            used[offset : offset + len(arcs)], used[day] = into[day], -1
            rows += [flow, used]
            low += [0.0, -np.inf]
            high += [0.0, 0.0]
        start = np.zeros(columns)
        start[offset : offset + len(arcs)] = out[-1]
        rows, low, high = [*rows, start], [*low, 1.0], [*high, 1.0]
        offset += len(arcs)
    if not rows:
        return 0
    cost = np.array([1.0] * (horizon + 1) + [0.0] * (columns - horizon - 1))
    solved = milp(
        cost, constraints=LinearConstraint(np.array(rows), low, high), integrality=1, bounds=Bounds(0, 1)
    )
    assert solved.success
    return int(solved.fun + 0.5)


@given(windows)
def test_one_off_windows_are_met_by_the_fewest_days(given_windows: list[tuple[int, int]]) -> None:
    """No smaller set of days meets all windows, by trying every set."""
    days = fewest_days(given_windows)
    assert all(any(first <= day <= last for day in days) for first, last in given_windows)
    for size in range(len(days)):
        for fewer in combinations(range(13), size):
            assert not all(any(first <= day <= last for day in fewer) for first, last in given_windows)


@given(tasks, st.integers(0, 20), st.sampled_from([1, 300]))
def test_repeated_windows_are_all_met(given_tasks: list[RepeatedTask], horizon: int, beam: int) -> None:
    """Whatever the beam, each window that ends by the horizon holds a round; a wide one finds the solver's fewest."""
    days = fewest_rounds(given_tasks, horizon, beam)
    assert days == sorted(set(days))
    assert all(is_kept(task, days, horizon) for task in given_tasks)
    best = optimum(given_tasks, horizon)
    assert len(days) == best if beam == 300 else len(days) >= best


@given(tasks, st.integers(0, 30), st.sampled_from([1, 30]))
def test_one_task_alone_gets_the_fewest_rounds(
    given_tasks: list[RepeatedTask], horizon: int, beam: int
) -> None:
    """A care that shares no round is done as late as it may be, which no plan beats; oracle: the solver."""
    assert len(fewest_rounds(given_tasks[:1], horizon, beam)) == optimum(given_tasks[:1], horizon)


SHARED = (
    RepeatedTask((10, 10), (20, 20)),
    RepeatedTask((12, 12), (12, 12)),
    RepeatedTask((10, 12), (12, 12)),
)
MISSED = (RepeatedTask((0, 1), (3, 4)), RepeatedTask((0, 2), (3, 4)), RepeatedTask((2, 2), (3, 3)))


@pytest.mark.parametrize(
    ("given_tasks", "horizon", "best", "beam", "found", "why"),
    [
        (SHARED, 36, 5, 1, 5, "who waits for the next round is left open, so even one plan finds it; ROU05"),
        (SHARED, 36, 5, 300, 5, "checks_rounds ROU05: optimum 5"),
        (MISSED, 10, 4, 1, 7, "who follows one plan alone never falls in step; a beam promises no optimum"),
        (MISSED, 10, 4, 300, 4, "1, 2, 5 and 8, by hand below"),
    ],
)
def test_a_beam_may_find_what_haste_does_not_and_may_miss_the_optimum(
    given_tasks: tuple[RepeatedTask, ...], horizon: int, best: int, beam: int, found: int, why: str
) -> None:
    """The solver's optimum and what each beam reaches, so that nobody takes a suggestion for the optimum."""
    assert optimum(given_tasks, horizon) == best, why
    assert len(fewest_rounds(given_tasks, horizon, beam)) == found, why


def test_the_optimum_that_the_beam_misses_can_be_checked_by_hand() -> None:
    """1, 5, 8 or 2, 5, 8 for the first two, 2, 5, 8 for the third: each next window ends after day 10."""
    assert all(is_kept(task, [1, 2, 5, 8], 10) for task in MISSED)


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
