"""Fertiliser arithmetic: inverses by hypothesis, the printed worksheets in tests/published, refusals by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carecal.errors import Refused
from carecal.horticulture import nutrition

percents = st.floats(0.5, 33)
strengths = st.floats(1, 400)


@given(percents, percents, percents, strengths)
def test_grams_give_the_strength_they_are_for(n: float, p: float, k: float, ppm: float) -> None:
    """Weighing for a strength and reckoning it back gives the strength."""
    grams = nutrition.grams_for_ppm((n, p, k), ppm)
    assert nutrition.ppm_from_grams((n, p, k), grams).n == pytest.approx(ppm)


@given(percents, strengths, st.floats(0.5, 500))
def test_ounces_give_the_strength_they_are_for(n: float, ppm: float, gallons: float) -> None:
    """So it is in ounces and gallons by the exact rule; the rule of 75 is within 0.2 % of it."""
    ounces = nutrition.ounces_for_ppm(n, ppm, gallons)
    grams_per_litre = ounces * 28.349523125 / (gallons * 3.785411784)
    assert nutrition.ppm_from_grams((n, 0, 0), grams_per_litre).n == pytest.approx(ppm)
    assert nutrition.ounces_for_ppm(n, ppm, gallons, "75") == pytest.approx(ounces, rel=2e-3)


@pytest.mark.parametrize(
    ("stage", "profile", "factor", "label", "ppm", "reason"),
    [
        (60, 100, 1, None, 60, "the stage bears less"),
        (100, 50, 1, None, 50, "the kind is given less"),
        (100, 100, 0.6, None, 60, "in spike the feed is weaker"),
        (100, 100, 1, 40, 40, "the label decides"),
        (100, 100, 0.3, 40, 30, "the label is a ceiling, no aim"),
        (100, 100, 0, 40, 0, "no feed at all"),
    ],
)
def test_the_weakest_claim_is_the_dose(
    stage: float, profile: float, factor: float, label: float | None, ppm: float, reason: str
) -> None:
    """The smaller of stage and kind, times the states' factor, never above the label (models F2)."""
    assert nutrition.dose(stage, profile, factor, label) == pytest.approx(ppm), reason


@pytest.mark.parametrize("analysis", [(20, 20), (60, 30, 20), (-1, 2, 3), (20, 20, 20, 20)])
def test_impossible_analyses_are_refused(analysis: tuple[float, ...]) -> None:
    """Three percentages, none negative, that fit into 100."""
    with pytest.raises(Refused, match="must be three percentages"):
        nutrition.ppm_from_grams(analysis, 1)


def test_fertiliser_without_nitrogen_has_no_dose_by_nitrogen() -> None:
    """Free of nitrogen, a fertiliser cannot be weighed by it."""
    with pytest.raises(Refused, match="nitrogen 0 % must be above 0"):
        nutrition.grams_for_ppm((0, 10, 10), 100)
    with pytest.raises(Refused, match="nitrogen 0 % must be above 0"):
        nutrition.ounces_for_ppm(0, 100, 1)


def test_unknown_words_are_refused_with_the_known_ones() -> None:
    """Volumes, rules and oxides each name what is allowed."""
    with pytest.raises(Refused, match="'pint' is unknown; allowed are litre, US gallon"):
        nutrition.grams_for_ppm((20, 20, 20), 100, per="pint")
    with pytest.raises(Refused, match="rule '80' is unknown; allowed are exact, 75"):
        nutrition.ounces_for_ppm(20, 100, 1, "80")
    with pytest.raises(Refused, match="oxide 'SO3' is unknown; allowed are P2O5"):
        nutrition.element_from_oxide("SO3")
