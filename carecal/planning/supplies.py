"""What the grower pours: the newest water and fertiliser, and what is assumed where none was told; it mixes nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from carecal.collection.facts import FEED_PPM
from carecal.horticulture.nutrition import feed_ec, ppm_from_grams

if TYPE_CHECKING:
    from carecal.collection.facts import CollectionFacts, Fertiliser

__all__ = ["Supplies", "supplies_of"]

WATER_MS_CM = 0.3  # our choice, because tap water of middling hardness carries as much
EC_PER_100_PPM = 0.44  # UDEL: 0.41 to 0.46 for 20-20-20


class Supplies(NamedTuple):
    """What is poured: strength of the water [mS/cm] and of 100 mg/L of N [mS/cm], the label's limit [mg/L of N].

    `is_known` says that the grower told water or fertiliser; `assumed` says in words what was not told.
    """

    water_ms_cm: float
    ec_per_100_ppm: float
    label_ppm_n: float | None
    fertiliser: Fertiliser | None
    is_known: bool
    assumed: str
    told_ppm_n: float | None = None  # the strength the grower feeds at, where it was said

    def feed_ms_cm(self, ppm_n: float) -> float:
        """Return the conductivity of a feed of so much nitrogen (models F3). [mS/cm]."""
        return feed_ec(self.water_ms_cm, ppm_n, self.ec_per_100_ppm)


def supplies_of(facts: CollectionFacts) -> Supplies:
    """Return the newest water and fertiliser, with what is assumed where the grower told none."""
    water = next(reversed(facts.waters.values()), None)
    feed = next(reversed(facts.fertilisers.values()), None)
    per_100 = feed.ec_per_100_ppm if feed is not None else None
    assumed = []
    if water is None:
        assumed.append(f"water of {WATER_MS_CM:g} mS/cm")
    if per_100 is None:
        assumed.append(f"{EC_PER_100_PPM:g} mS/cm for 100 mg/L of N")
    label = None
    if feed is not None and feed.label_rate_g_per_l is not None and feed.n_pct > 0:
        label = ppm_from_grams((feed.n_pct, 0.0, 0.0), feed.label_rate_g_per_l).n
    return Supplies(
        water.ec_ms_cm if water is not None else WATER_MS_CM,
        per_100 if per_100 is not None else EC_PER_100_PPM,
        label,
        feed,
        water is not None or per_100 is not None,
        "assumed: " + " and ".join(assumed) if assumed else "",
        float(told) if (told := facts.setting(FEED_PPM, "")) else None,
    )
