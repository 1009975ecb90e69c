"""A plant going down: the newest look against the firmest within the days, and the look before them; by hand."""

from __future__ import annotations

import pytest

from carecal.horticulture.decline import fall_within, loss_within


@pytest.mark.parametrize(
    ("scores", "steps", "reason"),
    [
        ([], 0, "never looked at"),
        ([(100, 2)], 0, "one look tells no fall"),
        ([(90, 0), (100, 1)], 1, "a step in ten days"),
        ([(86, 0), (100, 1)], 1, "the look on the day the days begin counts as their beginning"),
        ([(50, 0), (100, 1)], 1, "the last look before the days is where they begin, however old"),
        ([(50, 0), (80, 1), (100, 1)], 0, "it had gone soft before the days began"),
        ([(90, 0), (95, 2), (100, 1)], 1, "firmer again: the newest look decides"),
        ([(90, 2), (100, 0)], 0, "firmer is no fall"),
        ([(90, 0), (100, 1), (105, 3)], 1, "a look after the day asked for is not known yet"),
        ([(50, 0), (80, 3)], 0, "no look within the days"),
    ],
)
def test_a_fall_is_that_of_the_newest_look_within_the_days(
    scores: list[tuple[int, int]], steps: int, reason: str
) -> None:
    """Fourteen days up to day 100; by hand."""
    assert fall_within(scores, 14, 100) == steps, reason


@pytest.mark.parametrize(
    ("counts", "lost", "reason"),
    [
        ([(50, 5), (100, 3)], 2, "two gone"),
        ([(50, 5), (70, 6), (100, 4)], 2, "a new one came first"),
        ([(50, 3), (100, 4)], 0, "one more"),
        ([(30, 6), (40, 4), (100, 4)], 0, "lost before the days began"),
    ],
)
def test_leaves_lost_are_those_up_to_the_newest_count(
    counts: list[tuple[int, int]], lost: int, reason: str
) -> None:
    """Sixty days up to day 100; by hand."""
    assert loss_within(counts, 60, 100) == lost, reason
