"""A plant's own pace and its own winter as one belief of two numbers; it reads no journal and knows no calendar."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING, NamedTuple

from carecal.errors import Refused
from carecal.horticulture.learning import PRIOR, Belief

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["DARKEST", "LIGHT_DAYS", "NO_WINTER", "OwnPace", "middle_light", "swing", "told"]

WINTER_SD = 0.3  # our choice, because published winters are 1 to 2.9 times as long as summers in like places
DARKEST = 0.05  # light below which a day counts as this, as in a closed cupboard [mol m⁻² d⁻¹]
LIGHT_DAYS = 28  # our choice, because roots and leaves follow the light of their last month, not of a day [d]
SWING_MOST = (
    1.25  # our choice, because beyond a seventh or two and a half times the middle light warmth decides
)


class OwnPace(NamedTuple):
    """What is believed of a plant's pace: ln(factor) on a day is mean − winter·swing of its light.

    Attributes:
        mean: Mean of ln(factor) in the middle light of the year at its place. [-]
        sd: Its standard deviation, above 0. [-]
        winter: Exponent of the plant's demand on its light about the middle of the year, beyond the model's own;
            above 0 it drinks slower in winter than most. [-]
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


def middle_light(year: Sequence[float]) -> float:
    """Return the light of a year from which its days swing by nothing on the mean. [mol m⁻² d⁻¹].

    Args:
        year: Light at the plant on each day. [mol m⁻² d⁻¹]

    Source: definition, of `swing`.
    """
    return (sum(sqrt(max(light, DARKEST)) for light in year) / len(year)) ** 2


def swing(light_mol: float, middle_mol: float) -> float:
    """Return how far a day's light lies from the middle of the year, 2·(√ratio − 1), held within bounds [-].

    It goes as ln of the ratio near the middle, and half way between ln and the light itself away from it: of what a
    plant drinks one part follows its light and one does not, so a deep winter is less far from spring than ln says.

    Args:
        light_mol: Light at the plant. [mol m⁻² d⁻¹]
        middle_mol: Middle light of the year at its place (`middle_light`), above 0. [mol m⁻² d⁻¹]

    Raises:
        Refused: middle_mol is not above 0.

    Source: our choice, because ln missed the spring of plants whose days swing evenly through the year by up to
        8 % and the root misses it by 4 (tests/benchmarks); bounds, because beyond them warmth decides.
    """
    if not middle_mol > 0:
        raise Refused(f"middle light {middle_mol:g} mol must be above 0")
    return max(-SWING_MOST, min(SWING_MOST, 2 * (sqrt(max(light_mol, DARKEST) / middle_mol) - 1)))


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
