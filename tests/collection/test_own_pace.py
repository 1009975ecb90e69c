"""A plant's pace and winter as one belief: scipy's double integration as the second engine, seasons by hand."""

from __future__ import annotations

from math import log, sqrt

import numpy as np
import pytest
from scipy.integrate import trapezoid
from scipy.stats import multivariate_normal, norm

from carecal.errors import Refused
from carecal.horticulture import learning, own_pace
from carecal.horticulture.learning import Belief
from carecal.horticulture.own_pace import OwnPace
from carecal.horticulture.windows import trailing_means

PACES = [OwnPace(), OwnPace(0.2, 0.2, -0.1, 0.15, 0.012)]


def by_integration(pace: OwnPace, light: float, y: float, felt: str) -> list[float]:
    """Means, deviations and covariance of pace and winter after one answer, over a fine grid of both."""
    means = np.linspace(pace.mean - 7 * pace.sd, pace.mean + 7 * pace.sd, 301)
    winters = np.linspace(pace.winter - 7 * pace.winter_sd, pace.winter + 7 * pace.winter_sd, 301)
    a, e = np.meshgrid(means, winters, indexing="ij")
    covariance = [[pace.sd**2, pace.shared], [pace.shared, pace.winter_sd**2]]
    prior = multivariate_normal([pace.mean, pace.winter], covariance).pdf(np.dstack((a, e)))
    own = a - light * e
    if felt == "right":
        chance = 0.9 * norm.pdf(y, own, 0.25) + 0.1 / log(16)
    else:
        side = 1 if felt == "damp" else -1
        chance = 0.9 * norm.cdf((side * (own - y) - log(1.2)) / 0.2) + 0.1 / 3
    weight = prior * chance

    def mean_of(what: np.ndarray) -> float:
        return float(trapezoid(trapezoid(what * weight, winters), means) / whole)

    whole = trapezoid(trapezoid(weight, winters), means)
    mean, winter = mean_of(a), mean_of(e)
    return [
        mean,
        sqrt(mean_of((a - mean) ** 2)),
        winter,
        sqrt(mean_of((e - winter) ** 2)),
        mean_of((a - mean) * (e - winter)),
    ]


@pytest.mark.parametrize("felt", ["damp", "right", "parched"])
@pytest.mark.parametrize(("light", "y"), [(-1.1, 0.1), (0.7, -0.3)])
@pytest.mark.parametrize("pace", PACES)
def test_both_numbers_move_as_the_double_integral(pace: OwnPace, light: float, y: float, felt: str) -> None:
    """One answer of a day moves pace, winter and what they share as scipy's integral over both does (models K5)."""
    before = pace.at(light)
    after = (
        learning.right_or_wrong(before, y)
        if felt == "right"
        else learning.censored(before, y, felt == "damp")
    )
    got = own_pace.told(pace, light, after)
    assert list(got) == pytest.approx(by_integration(pace, light, y, felt), abs=2e-5)


def test_what_a_day_is_believed_is_the_sum_of_both() -> None:
    """Mean 0.2 + 1.1·(−0.1); variance 0.2² + 2·1.1·0.012 + (1.1·0.15)², by hand."""
    day = PACES[1].at(-1.1)
    assert day.mean == pytest.approx(0.09)
    assert day.sd == pytest.approx(sqrt(0.04 + 0.0264 + 0.027225))
    assert PACES[1].at(0.0) == Belief(0.2, 0.2)


def test_slow_in_january_is_not_slow_in_july() -> None:
    """Ten 'right' at half again the interval in deep winter: summer gets less than half of it."""
    pace = OwnPace()
    for _ in range(10):
        pace = own_pace.told(pace, -1.1, learning.right_or_wrong(pace.at(-1.1), log(1.5)))
    assert pace.at(-1.1).mean == pytest.approx(log(1.5), abs=0.03)
    assert pace.at(0.75).mean < log(1.5) / 2
    assert pace.winter > 0


def test_one_answer_of_each_season_parts_them() -> None:
    """Slow in winter and as the table in summer is a winter of its own, whichever came first; order is no matter."""
    one = other = OwnPace()
    seasons = [(-1.1, log(1.4)), (0.75, 0.0)]
    for light, y in seasons * 6:
        one = own_pace.told(one, light, learning.right_or_wrong(one.at(light), y))
    for light, y in seasons[::-1] * 6:
        other = own_pace.told(other, light, learning.right_or_wrong(other.at(light), y))
    assert one.at(-1.1).mean == pytest.approx(log(1.4), abs=0.04)
    assert one.at(0.75).mean == pytest.approx(0, abs=0.04)
    assert list(other) == pytest.approx(list(one), abs=0.02)


def test_a_move_keeps_a_share_of_the_winter() -> None:
    """Half of −0.1 and the first width again; what both shared is gone, by hand."""
    assert PACES[1].as_fresh(Belief(0.1, 0.25), 0.5) == OwnPace(0.1, 0.25, -0.05, 0.3, 0.0)


def test_light_is_told_from_the_middle_of_the_year() -> None:
    """A quarter of the middle light is 2·(½ − 1); 2¼ times as much 2·(1½ − 1); beyond ±1.25 it is held, by hand."""
    assert own_pace.swing(2.0, 2.0) == 0
    assert own_pace.swing(4.5, 2.0) == pytest.approx(1.0)
    assert own_pace.swing(0.5, 2.0) == pytest.approx(-1.0)
    assert own_pace.swing(0.0, 2.0) == -1.25
    assert own_pace.swing(9.0, 2.0) == 1.25
    with pytest.raises(Refused, match="middle light 0 mol must be above 0"):
        own_pace.swing(1.0, 0.0)


def test_the_middle_light_is_where_the_year_swings_by_nothing() -> None:
    """Roots 1, 2 and 3 have the mean 2, whose square is 4; a dark cupboard counts as 0.05 mol, by hand."""
    assert own_pace.middle_light([1.0, 4.0, 9.0]) == pytest.approx(4.0)
    assert own_pace.middle_light([0.0, 0.0]) == pytest.approx(0.05)


def test_the_light_of_the_last_days() -> None:
    """Each day's mean with those before it, fewer at the beginning, by hand."""
    assert trailing_means([1.0, 2.0, 3.0, 6.0], 2) == [1.0, 1.5, 2.5, 4.5]
