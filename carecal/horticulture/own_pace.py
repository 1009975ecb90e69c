"""A plant's own pace and its own winter as one belief of two numbers; it reads no journal and knows no calendar."""

from __future__ import annotations

from math import log, sqrt
from typing import NamedTuple

from carecal.errors import Refused
from carecal.horticulture.learning import PRIOR, Belief

__all__ = ["DARKEST", "LIGHT_DAYS", "NO_WINTER", "OwnPace", "swing", "told"]

WINTER_SD = 0.3  # our choice, because published winters are 1 to 2.9 times as long as summers in like places
DARKEST = 0.05  # light below which a day counts as this, as in a closed cupboard [mol m⁻² d⁻¹]
LIGHT_DAYS = 28  # our choice, because roots and leaves follow the light of their last month, not of a day [d]
SWING_MOST = (
    1.25  # our choice, because beyond a third or three times the middle light warmth decides, not light
)


class OwnPace(NamedTuple):
    """What is believed of a plant's pace: ln(factor) on a day of light L is mean − winter·ln(L/middle light).

    Attributes:
        mean: Mean of ln(factor) in the middle light of the year at its place. [-]
        sd: Its standard deviation, above 0. [-]
        winter: Exponent of the plant's demand on its light, beyond the model's own; above 0 it drinks slower in
            winter than most. [-]
        winter_sd: Its standard deviation. [-]
        shared: Covariance of the two. [-]
    """

    mean: float = PRIOR.mean
    sd: float = PRIOR.sd
    winter: float = 0.0
    winter_sd: float = WINTER_SD
    shared: float = 0.0

    def at(self, light: float) -> Belief:
        """Return what is believed of ln(factor) on a day.

        Args:
            light: Its `swing`. [-]
        """
        if not light:
            return Belief(self.mean, self.sd)
        variance = self.sd**2 - 2 * light * self.shared + (light * self.winter_sd) ** 2
        return Belief(self.mean - light * self.winter, sqrt(max(variance, 0.0)))

    def as_fresh(self, belief: Belief, share: float) -> OwnPace:
        """Return the pace of a plant newly potted or moved: a share of its winter goes on, its pace is given.

        Args:
            belief: What is believed of ln(factor) now.
            share: Share that goes on, as `kept_share` says. [-]

        Source: our choice, because half of a winter is the plant's, half the place's (models K4).
        """
        return OwnPace(belief.mean, belief.sd, self.winter * share)


NO_WINTER = OwnPace()


def swing(light_mol: float, middle_mol: float) -> float:
    """Return how far a day's light lies from the middle of the year, as ln of their ratio, held within bounds [-].

    Args:
        light_mol: Light at the plant. [mol m⁻² d⁻¹]
        middle_mol: Geometric mean of the year at its place, above 0. [mol m⁻² d⁻¹]

    Raises:
        Refused: middle_mol is not above 0.

    Source: definition; bounds: our choice, because beyond them warmth decides.
    """
    if not middle_mol > 0:
        raise Refused(f"middle light {middle_mol:g} mol must be above 0")
    return max(-SWING_MOST, min(SWING_MOST, log(max(light_mol, DARKEST) / middle_mol)))


def told(pace: OwnPace, light: float, after: Belief) -> OwnPace:
    """Return the pace after an answer, from what it makes of ln(factor) on its own days.

    An answer speaks of one sum of the two numbers; each takes its share by what it has in common with that sum, so
    mean and covariance are those of the product of belief and answer wherever `after` has its mean and variance.

    Args:
        pace: What was believed.
        light: Mean `swing` of the days the answer speaks of. [-]
        after: What is believed of ln(factor) on those days with the answer.

    Source: definition (a linear regression on a normal's own sum); SCIPY integration agrees.
    """
    before = pace.at(light)
    variance = before.sd**2
    step, narrowed = after.mean - before.mean, after.sd**2 - variance
    of_mean = (pace.sd**2 - light * pace.shared) / variance
    of_winter = (pace.shared - light * pace.winter_sd**2) / variance
    return OwnPace(
        pace.mean + of_mean * step,
        sqrt(pace.sd**2 + of_mean**2 * narrowed),
        pace.winter + of_winter * step,
        sqrt(max(pace.winter_sd**2 + of_winter**2 * narrowed, 0.0)),
        pace.shared + of_mean * of_winter * narrowed,
    )
