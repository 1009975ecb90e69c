"""Fertiliser arithmetic: strengths, weights, oxides and conductivity; a label decides over all of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

from carecal.errors import Refused

__all__ = [
    "Analysis",
    "Nutrients",
    "dose",
    "element_from_oxide",
    "feed_ec",
    "grams_for_ppm",
    "ounces_for_ppm",
    "oxide_analysis",
    "oxide_from_element",
    "ppm_from_grams",
]

ELEMENT_SHARE: Final = {"P2O5": 0.4364, "K2O": 0.8302, "MgO": 0.6030, "CaO": 0.7147}  # MOLMASS [g/g]
GRAMS_PER_OUNCE = 28.349523125  # definition
LITRES_PER_US_GALLON = 3.785411784  # definition
LITRES_PER_UNIT: Final = {"litre": 1.0, "US gallon": LITRES_PER_US_GALLON}
PPM_PER_PERCENT_GRAM = 10.0  # definition: 1 g/L of 1 % is 10 mg/L
RULE_OF_75 = 75.0  # common practice (no source): mg/L of 1 oz/gal of 1 %, rounded
EXACT_RULE = PPM_PER_PERCENT_GRAM * GRAMS_PER_OUNCE / LITRES_PER_US_GALLON  # 74.89 [mg/L]
RULES: Final = {"exact": EXACT_RULE, "75": RULE_OF_75}


class Analysis(NamedTuple):
    """A fertiliser's analysis as its label prints it."""

    n_pct: float  # nitrogen [%]
    p2o5_pct: float  # phosphate [%]
    k2o_pct: float  # potash [%]


class Nutrients(NamedTuple):
    """What a solution carries."""

    n: float  # nitrogen [mg/L]
    p: float  # phosphorus [mg/L]
    k: float  # potassium [mg/L]


def ppm_from_grams(analysis: Sequence[float], grams_per_litre: float) -> Nutrients:
    """Return the nutrients of a fertiliser dissolved in water [mg/L].

    Args:
        analysis: N, P₂O₅ and K₂O of the label. [%]
        grams_per_litre: Fertiliser in the water. [g/L]

    Raises:
        Refused: the analysis is not three percentages that fit into 100.

    Source: definition; factors of the oxides: MOLMASS.
    """
    n_pct, p2o5_pct, k2o_pct = _checked(analysis)
    scale = PPM_PER_PERCENT_GRAM * grams_per_litre
    return Nutrients(
        scale * n_pct, scale * p2o5_pct * ELEMENT_SHARE["P2O5"], scale * k2o_pct * ELEMENT_SHARE["K2O"]
    )


def grams_for_ppm(analysis: Sequence[float], ppm_n: float, per: str = "litre") -> float:
    """Return the weight of fertiliser for a strength of nitrogen [g/L, or g per US gallon].

    Args:
        analysis: N, P₂O₅ and K₂O of the label. [%]
        ppm_n: Nitrogen wanted. [mg/L]
        per: 'litre' or 'US gallon'.

    Raises:
        Refused: the fertiliser holds no nitrogen, its analysis is impossible, or `per` is another word.

    Source: definition; from memory.
    """
    if per not in LITRES_PER_UNIT:
        raise Refused(f"volume '{per}' is unknown; allowed are {', '.join(LITRES_PER_UNIT)}")
    return ppm_n / (PPM_PER_PERCENT_GRAM * _nitrogen(_checked(analysis).n_pct)) * LITRES_PER_UNIT[per]


def ounces_for_ppm(n_pct: float, ppm_n: float, us_gallons: float, rule: str = "exact") -> float:
    """Return the ounces of fertiliser for a strength of nitrogen [oz].

    Args:
        n_pct: Nitrogen of the label, above 0. [%]
        ppm_n: Nitrogen wanted. [mg/L]
        us_gallons: Water. [US gal]
        rule: 'exact', or '75' for the rounded rule of the trade.

    Raises:
        Refused: the fertiliser holds no nitrogen or the rule is another word.

    Source: definition; the rule of 75: UMASS, TAMU.
    """
    return ppm_n * us_gallons / (_rule(rule) * _nitrogen(n_pct))


def element_from_oxide(oxide: str) -> float:
    """Return the share of the element in an oxide [g/g].

    Args:
        oxide: 'P2O5', 'K2O', 'MgO' or 'CaO'.

    Raises:
        Refused: oxide is another word.

    Source: MOLMASS; VT prints the same to three digits.
    """
    if oxide not in ELEMENT_SHARE:
        raise Refused(f"oxide '{oxide}' is unknown; allowed are {', '.join(ELEMENT_SHARE)}")
    return ELEMENT_SHARE[oxide]


def oxide_from_element(oxide: str, element_pct: float) -> float:
    """Return the percentage of an oxide that stands for one of its element [%].

    Args:
        oxide: 'P2O5', 'K2O', 'MgO' or 'CaO'.
        element_pct: Percentage of the element. [%]

    Raises:
        Refused: oxide is another word.

    Source: MOLMASS; VT.
    """
    return element_pct / element_from_oxide(oxide)


def oxide_analysis(elements_pct: Sequence[float]) -> Analysis:
    """Return N-P2O5-K2O of a label that prints N-P-K as elements [%].

    Args:
        elements_pct: N, P and K as elements. [%]

    Raises:
        Refused: they are not three percentages, or their oxides exceed 100 together.

    Source: MOLMASS.
    """
    if len(elements_pct) != 3:
        return _checked(elements_pct)
    n_pct, p_pct, k_pct = elements_pct
    return _checked((n_pct, oxide_from_element("P2O5", p_pct), oxide_from_element("K2O", k_pct)))


def feed_ec(water_ec: float, ppm_n: float, ec_per_100_ppm: float) -> float:
    """Return the conductivity of a feed; urea carries no charge and reads low [mS/cm].

    Args:
        water_ec: Conductivity of the water alone. [mS/cm]
        ppm_n: Nitrogen of the feed. [mg/L]
        ec_per_100_ppm: Conductivity that 100 mg/L of this fertiliser's nitrogen adds. [mS/cm]

    Source: UDEL: 0.41 to 0.46 for 20-20-20, 0.69 to 0.76 for nitrate feeds.
    """
    return water_ec + ppm_n / 100 * ec_per_100_ppm


def dose(
    stage_ppm_n: float, profile_ppm_n: float, feed_factor: float = 1.0, label_ppm_n: float | None = None
) -> float:
    """Return the strength of a feed: the weakest of what stage, kind and label allow [mg/L of N].

    Args:
        stage_ppm_n: Nitrogen the stage bears. [mg/L]
        profile_ppm_n: Nitrogen the kind of orchid is given. [mg/L]
        feed_factor: Product of the states' feed factors, 0 for no feed. [-]
        label_ppm_n: Nitrogen at the rate of the grower's label, where it was typed. [mg/L]

    Source: our choice, because the weakest claim is the safest; a label decides (models F2).
    """
    wanted = min(stage_ppm_n, profile_ppm_n) * feed_factor
    return wanted if label_ppm_n is None else min(wanted, label_ppm_n)


def _checked(analysis: Sequence[float]) -> Analysis:
    if len(analysis) != 3 or not all(part >= 0 for part in analysis) or sum(analysis) > 100:
        shown = "-".join(f"{part:g}" for part in analysis)
        raise Refused(f"analysis {shown} must be three percentages, N-P2O5-K2O, of at most 100 together")
    return Analysis(*analysis)


def _nitrogen(n_pct: float) -> float:
    if not 0 < n_pct <= 100:
        raise Refused(f"nitrogen {n_pct:g} % must be above 0 and at most 100")
    return n_pct


def _rule(rule: str) -> float:
    if rule not in RULES:
        raise Refused(f"rule '{rule}' is unknown; allowed are {', '.join(RULES)}")
    return RULES[rule]
