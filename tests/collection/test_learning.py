"""What plants teach: scipy's integration as the second engine, bounds and priors worked by hand."""

from __future__ import annotations

from math import exp, log, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import norm

from carecal.errors import Refused
from carecal.horticulture import learning
from carecal.horticulture.learning import PRIOR, Belief

beliefs = st.builds(Belief, st.floats(-1, 1), st.floats(0.1, 0.6))
answers = st.floats(-1.2, 1.2)


def by_integration(
    belief: Belief, y: float, longer: bool | None, sd: float = learning.RIGHT_SD
) -> tuple[float, float]:
    """Mean and standard deviation of the belief times the chance of the answer, by scipy's integration.

    One answer in ten is any of three, or falls anywhere between a quarter and four times the interval; what is damp
    has a sixth of its way left, what is parched went a fifth past it.
    """

    def chance(x: float) -> float:
        if longer is None:
            return float(0.9 * norm.pdf(y, x, sd) + 0.1 / log(16))
        side = 1 if longer else -1
        return float(0.9 * norm.cdf((side * (x - y) - log(1.2)) / 0.2) + 0.1 / 3)

    def weight(x: float) -> float:
        return float(norm.pdf(x, belief.mean, belief.sd) * chance(x))

    low, high = belief.mean - 9 * belief.sd, belief.mean + 9 * belief.sd
    whole, first, second = (
        quad(lambda x, power=power: weight(x) * x**power, low, high, limit=200)[0] for power in (0, 1, 2)
    )
    return first / whole, sqrt(second / whole - (first / whole) ** 2)


@pytest.mark.parametrize("longer", [True, False])
@pytest.mark.parametrize("y", [-0.8, -0.2, 0.0, 0.3, 0.9])
@pytest.mark.parametrize("belief", [PRIOR, Belief(0.3, 0.2)])
def test_censored_answers_agree_with_integration(belief: Belief, y: float, longer: bool) -> None:
    """'Still damp' and 'parched' move mean and sd as the integral does."""
    got = learning.censored(belief, y, longer)
    assert (got.mean, got.sd) == pytest.approx(by_integration(belief, y, longer), abs=1e-5)


@pytest.mark.parametrize("sd", [learning.RIGHT_SD, learning.WEIGHT_SD])
@pytest.mark.parametrize("y", [-1.0, -0.2, 0.0, 0.3, 1.2])
@pytest.mark.parametrize("belief", [PRIOR, Belief(0.3, 0.2)])
def test_a_right_that_may_be_wrong_agrees_with_integration(belief: Belief, y: float, sd: float) -> None:
    """'Right' and a weight move mean and sd as the integral over right and wrong answers does."""
    got = learning.right_or_wrong(belief, y, sd)
    assert (got.mean, got.sd) == pytest.approx(by_integration(belief, y, None, sd), abs=1e-5)


@pytest.mark.parametrize(("longer", "low", "high"), [(True, 1.15, 1.2), (False, 0.8, 0.85)])
def test_a_first_answer_moves_by_a_fifth_and_a_second_goes_further(
    longer: bool, low: float, high: float
) -> None:
    """'Damp' or 'parched' on its day: 15 to 20 % at first, then on to a third; oracle: what growers do by hand."""
    first = learning.credited(PRIOR, learning.censored(PRIOR, 0.0, longer), confirms=False)
    assert low <= exp(first.mean) <= high + 1e-9
    second = learning.credited(first, learning.censored(first, first.mean, longer), confirms=True)
    assert abs(second.mean) > 1.5 * abs(first.mean)


def test_a_right_far_too_early_waits_for_a_second() -> None:
    """At half the interval once: a fifth shorter and as open as before; said again: more than a third shorter."""
    early = log(0.5)
    assert learning.is_beyond(PRIOR, early)
    assert not learning.is_beyond(PRIOR, log(0.8))
    first = learning.credited(PRIOR, learning.right_or_wrong(PRIOR, early), confirms=False)
    assert (exp(first.mean), first.sd) == pytest.approx((1 / 1.2, PRIOR.sd))
    second = learning.credited(first, learning.right_or_wrong(first, early), confirms=True)
    assert exp(second.mean) < 2 / 3


@pytest.mark.parametrize(
    ("age", "share"), [(None, 0.5), (0, 0.5), (12, 0.5), (18, 0.3), (24, 0.1), (60, 0.1)]
)
def test_what_old_medium_taught_counts_little_in_fresh(age: float | None, share: float) -> None:
    """Half while a bark of 12 to 24 months is sound, a tenth once it is broken down, straight between, by hand."""
    assert learning.kept_share(age, 12, 24) == pytest.approx(share)
    potted = learning.prior_from_neighbours(0.6, (), share)
    assert (potted.mean, potted.sd) == pytest.approx((0.6 * share, 0.25))


@given(beliefs, answers)
def test_damp_lengthens_and_parched_shortens(belief: Belief, y: float) -> None:
    """An answer to one side moves the mean to that side; one that was to be expected never widens the belief."""
    damp, parched = learning.censored(belief, y, True), learning.censored(belief, y, False)
    assert parched.mean <= belief.mean <= damp.mean
    expected = damp if y <= belief.mean else parched
    assert expected.sd <= belief.sd + 1e-12


@given(beliefs, answers)
def test_a_measured_answer_lies_between(belief: Belief, y: float) -> None:
    """The new mean lies between the old one and the answer, and the band narrows."""
    got = learning.measured(belief, y)
    assert min(belief.mean, y) - 1e-12 <= got.mean <= max(belief.mean, y) + 1e-12
    assert got.sd < belief.sd


@given(st.floats(2, 1e6))
def test_an_outlier_moves_no_further_than_its_weight(y: float) -> None:
    """However far off, one answer moves N(0, 0.5²) by τ²·1.345·√S/σ² = 3.008 at most: the limit, by hand."""
    assert learning.measured(Belief(0, 0.5), y).mean < min(0.8 * y, 3.0076)


def test_scales_are_trusted_more_than_fingers() -> None:
    """A weight moves the mean further and leaves a narrower band than 'right'."""
    finger, scales = learning.measured(PRIOR, 0.3), learning.measured(PRIOR, 0.3, learning.WEIGHT_SD)
    assert scales.mean > finger.mean
    assert scales.sd < finger.sd


def test_weeks_widen_by_variance() -> None:
    """100 weeks add 100·0.01² to the variance, by hand; no weeks nothing."""
    assert learning.weeks_pass(Belief(0.1, 0.1), 100).sd == pytest.approx(sqrt(0.02))
    assert learning.weeks_pass(Belief(0.1, 0.1), 25).mean == 0.1
    assert learning.weeks_pass(PRIOR, 0) == PRIOR


@pytest.mark.parametrize(
    ("mean", "has_measured", "factor", "reason"),
    [
        (log(1.5), False, 1.5, "inside"),
        (log(3), False, 2, "held at double"),
        (log(3), True, 3, "a measured answer frees it"),
        (log(9), True, 4, "but not beyond four"),
        (log(0.3), False, 0.5, "held at half"),
        (log(0.1), True, 0.25, "never below a quarter"),
    ],
)
def test_factor_is_held(mean: float, has_measured: bool, factor: float, reason: str) -> None:
    """Bounds of models K3, worked by hand."""
    assert learning.held_factor(Belief(mean, 0.2), has_measured) == pytest.approx(factor), reason


def test_a_grower_who_waters_early_over_and_over_does_not_run_away() -> None:
    """A hundred damp answers at half of the interval never pass the bound, and stay near what they say."""
    belief = PRIOR
    for _ in range(100):
        belief = learning.censored(learning.weeks_pass(belief, 0.5), log(0.5), longer=True)
    assert learning.held_factor(belief, has_measured=False) <= 2
    assert learning.factor_band(belief).factor < 2


def test_a_grower_who_answers_right_early_is_followed() -> None:
    """Thirty times right at half of the interval is a plant twice as thirsty, within the bounds."""
    belief = PRIOR
    for _ in range(30):
        belief = learning.measured(learning.weeks_pass(belief, 0.5), log(0.5))
    assert learning.held_factor(belief, has_measured=True) == pytest.approx(0.5, abs=0.01)


def test_band_is_eighty_per_cent() -> None:
    """A tenth of the belief lies under the low end, a tenth above the high one, by scipy."""
    band = learning.factor_band(Belief(0.2, 0.3))
    assert norm.cdf(log(band.low), 0.2, 0.3) == pytest.approx(0.1, abs=1e-4)
    assert norm.sf(log(band.high), 0.2, 0.3) == pytest.approx(0.1, abs=1e-4)
    assert band.factor == pytest.approx(exp(0.2))


def test_prior_is_new_without_own_and_neighbours() -> None:
    """A first plant begins at N(0, 0.29²); two neighbours teach nothing yet."""
    assert learning.prior_from_neighbours(None, []) == PRIOR
    assert learning.prior_from_neighbours(None, [(0.4, 0.2)] * 2) == PRIOR


def test_three_neighbours_teach_a_newcomer() -> None:
    """μ = Σwm/(Σw + 1/0.205²) with w = 1/(0.2²+0.205²); half of it, sd 0.25, by hand."""
    weight = 1 / (0.2**2 + 0.205**2)
    taught = weight * (0.3 + 0.4 + 0.5) / (3 * weight + 1 / 0.205**2)
    newcomer = learning.prior_from_neighbours(None, [(0.3, 0.2), (0.4, 0.2), (0.5, 0.2)])
    assert (newcomer.mean, newcomer.sd) == pytest.approx((taught / 2, 0.25))


def test_own_answers_count_half() -> None:
    """At a potting half the plant's own log-mean is kept, with a wider band; neighbours add half of theirs."""
    assert learning.prior_from_neighbours(0.6, ()) == Belief(0.3, 0.25)
    alone = learning.prior_from_neighbours(0.6, [(1.0, 0.2)] * 2)
    assert alone == Belief(0.3, 0.25)
    assert learning.prior_from_neighbours(0.6, [(1.0, 0.2)] * 5).mean > 0.3


@given(st.lists(st.tuples(st.floats(-1, 1), st.floats(0.1, 0.5)), min_size=3, max_size=24))
def test_a_place_teaches_less_than_its_mean(neighbours: list[tuple[float, float]]) -> None:
    """The place's own prior draws what neighbours teach towards 0, within their range."""
    got = learning.prior_from_neighbours(None, neighbours).mean
    assert abs(got) <= max(abs(mean) for mean, _ in neighbours) / 2


def test_weight_on_the_way_is_scaled_to_the_target() -> None:
    """At the target the progress stays; at 0.75, a quarter of the water gone, 0.35 takes 2.62 times as long."""
    assert learning.progress_at_target(0.8, 0.35, 0.35) == pytest.approx(0.8)
    expected = (0.5 + 0.45 * log(0.45 / 0.30)) / 0.25  # models D4: half evenly, then falling, by hand
    assert learning.progress_at_target(0.4, 0.75, 0.35) == pytest.approx(0.4 * expected)
    assert learning.progress_at_target(1.0, 0.2, 0.35) < 1


@pytest.mark.parametrize(
    ("now", "target", "what"),
    [
        (1.0, 0.35, "tells no pace"),
        (0.05, 0.35, "tells no pace"),
        (0.5, 1.0, "target of 1"),
        (0.5, 0.05, "target of 0.05"),
    ],
)
def test_weights_that_tell_nothing_are_refused(now: float, target: float, what: str) -> None:
    """Just wetted or dry beyond reach, a weight says nothing of the pace."""
    with pytest.raises(Refused, match=what):
        learning.progress_at_target(1, now, target)


def test_impossible_answers_are_refused() -> None:
    """Time does not run backwards and no answer is certain."""
    with pytest.raises(Refused, match="-1 weeks cannot pass"):
        learning.weeks_pass(PRIOR, -1)
    with pytest.raises(Refused, match="standard deviation 0 must be above 0"):
        learning.measured(PRIOR, 0.2, 0)
    with pytest.raises(Refused, match="standard deviation 0 must be above 0"):
        learning.right_or_wrong(PRIOR, 0.2, 0)
