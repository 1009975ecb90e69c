"""The salts of one pot from wetting to wetting: what feeds leave behind, what a flush takes out (models S)."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp
from typing import TYPE_CHECKING, NamedTuple

from carecal.horticulture.drydown import pot_volume_l, two_stage_days
from carecal.horticulture.nutrition import feed_ec
from carecal.horticulture.rounding import significant
from carecal.horticulture.salts import (
    CAUTION_MS_CM,
    FLUSH_DUE_MS_CM,
    FLUSH_TARGET_MS_CM,
    LEACH_BY_TECHNIQUE,
    UPTAKE_BY_STAGE,
    flush_result,
    flush_volume_ratio,
    salt_after_wetting,
    whole_waterings_to_limit,
)
from carecal.planning.teaching import target_fraction
from carecal.planning.terms import UNSIZED_CM, technique_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from carecal.collection.facts import CollectionFacts
    from carecal.planning.feeding import Tally
    from carecal.planning.rhythm import Beats
    from carecal.planning.scene import Scene
    from carecal.planning.situations import Situation

__all__ = ["Pour", "Salting", "Supplies", "fraction_after", "supplies_of"]

WATER_MS_CM = 0.3  # our choice, because tap water of middling hardness carries as much
EC_PER_100_PPM = 0.44  # UDEL: 0.41 to 0.46 for 20-20-20
RAIN_MS_CM = 0.0  # our choice, because rain carries next to none
BEGIN_MS_CM = FLUSH_TARGET_MS_CM  # our choice, because nobody knows what a newcomer was fed
LEAST_RATIO = 2.2  # models D6: what a pour-through takes at least, of the water held
MOST_RATIO = 6.0  # our choice, because more water than that is a second flush another day
CRITICAL, RESIDUAL = 0.5, 0.05  # models D4, of the water held


@dataclass(frozen=True, slots=True)
class Supplies:
    """What is poured: strength of the water [mS/cm] and of 100 mg/L of N [mS/cm], the label's limit [mg/L of N].

    `is_known` says that the grower told water or fertiliser; `assumed` says in words what was not told.
    """

    water_ms_cm: float
    ec_per_100_ppm: float
    label_ppm_n: float | None
    fertiliser: str
    n_pct: float
    is_known: bool
    assumed: str

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
        label = 10 * feed.n_pct * feed.label_rate_g_per_l  # models F1
    return Supplies(
        water.ec_ms_cm if water is not None else WATER_MS_CM, per_100 if per_100 is not None else EC_PER_100_PPM,
        label, feed.name if feed is not None else "", feed.n_pct if feed is not None else 0.0,
        water is not None or per_100 is not None, "assumed: " + " and ".join(assumed) if assumed else "",
    )  # fmt: skip


def fraction_after(share: float, target: float) -> float:
    """Return the share of the water held that is left after a share of the interval, by two-stage drying. [-].

    Args:
        share: Share of the interval that has passed, 0 or more; 1 is the wetting due. [-]
        target: Share of the water held at which the medium is wetted again, above 0.05. [-]

    Source: FAO56 ch. 7, as `two_stage_days` (models D4).
    """
    if share <= 0:
        return 1.0
    days = share * two_stage_days(1.0, CRITICAL, RESIDUAL, target, 1.0)
    if days <= 1 - CRITICAL:
        return 1 - days
    reach = CRITICAL - RESIDUAL
    return RESIDUAL + reach * exp(-(days - (1 - CRITICAL)) / reach)


class _Pot(NamedTuple):
    held_l: float
    efficiency: float
    target: float
    technique: str
    uptake: float


class Pour(NamedTuple):
    """One wetting as it was or will be: its care, day, and what is known of it."""

    care: str
    day: int
    is_assumed: bool = False
    ppm_n: float | None = None  # None: as the plan would have fed [mg/L of N]
    ec_ms_cm: float | None = None  # measured in the water that drained [mS/cm]
    is_rain: bool = False


class Salting:
    """Follows the salts of one pot.

    Args:
        scene: Catalog and supplies.
        beats: The rhythm of the pot, for how dry it was.
        situation: Gives the situation of a day.
        strength: Gives the strength of a feed [mg/L of N] by situation, tally and day.
    """

    def __init__(
        self, scene: Scene, beats: Beats, situation: Callable[[int], Situation],
        strength: Callable[[Situation, Tally, int], float],
    ) -> None:  # fmt: skip
        self._scene, self._beats, self._situation, self._strength = scene, beats, situation, strength
        self.supplies = scene.supplies
        self._pots: dict[int, _Pot | None] = {}

    def after(self, before: Tally, after: Tally, pour: Pour) -> Tally:
        """Return the tally after a wetting with its salts brought up to date; the rest of it is taken as it is.

        Args:
            before: The tally before the wetting.
            after: The tally after it, salts aside.
            pour: The wetting.

        Source: models S1, S2, S5, S6; a measured drain corrects the balance, because a mixed pot drains what it holds.
        """
        stretch = self._situation(pour.day)
        pot = self._pot(stretch)
        if pot is None:
            return replace(after, wetted=pour.day)
        salt = pour.ec_ms_cm if pour.ec_ms_cm is not None else self._balance(before, pour, stretch, pot)
        measured = pour.ec_ms_cm is not None or (before.is_salt_measured and before.salt_ms_cm is not None)
        return replace(after, salt_ms_cm=salt, is_salt_measured=measured, wetted=pour.day)

    def is_reckoned(self, tally: Tally) -> bool:
        """Return whether the balance decides: supplies are known, or the drained water was measured since potting."""
        return tally.salt_ms_cm is not None and (self.supplies.is_known or tally.is_salt_measured)

    def is_high(self, tally: Tally) -> bool:
        """Return whether the salts have reached the limit at which a flush is due and no feed is given."""
        return self.is_reckoned(tally) and (tally.salt_ms_cm or 0.0) >= FLUSH_DUE_MS_CM

    def is_flush_due(self, tally: Tally, day: int) -> bool:
        """Return whether the balance asks for a flush, and a flush with this water would help (models S3)."""
        pot = self._pot(self._situation(day))
        if pot is None or not self.is_high(tally):
            return False
        salt = tally.salt_ms_cm or 0.0
        ratio = self._ratio(salt, pot)
        return flush_result(salt, self.supplies.water_ms_cm, ratio, pot.efficiency) < CAUTION_MS_CM

    def flush_litres(self, salt_ms_cm: float | None, day: int) -> float | None:
        """Return the water to pour through: 2.2 times the water held, or more where the target asks for it. [L]."""
        pot = self._pot(self._situation(day))
        if pot is None:
            return None
        known = salt_ms_cm if salt_ms_cm is not None and self.supplies.is_known else 0.0
        return significant(self._ratio(known, pot) * pot.held_l, 3)

    def wettings_to_limit(self, tally: Tally, day: int, feed_share: float) -> int | None:
        """Return the first wetting from now after which the limit is reached, or None where it never is (models S3).

        Args:
            tally: What has gone in.
            day: A day of the present situation.
            feed_share: Share of the wettings that are fed. [-]
        """
        stretch = self._situation(day)
        pot = self._pot(stretch)
        if pot is None or tally.salt_ms_cm is None:
            return None
        fed = (1 - pot.uptake) * self.supplies.feed_ms_cm(self._strength(stretch, tally, day))
        mean = feed_share * fed + (1 - feed_share) * self.supplies.water_ms_cm
        leach = LEACH_BY_TECHNIQUE.get(pot.technique, 0.0)
        lost = pot.held_l * (1 - pot.target)
        return whole_waterings_to_limit(tally.salt_ms_cm, pot.held_l, lost, leach, mean, 0.0, FLUSH_DUE_MS_CM)

    def _balance(self, before: Tally, pour: Pour, stretch: Situation, pot: _Pot) -> float:
        water = RAIN_MS_CM if pour.is_rain else self.supplies.water_ms_cm
        start = self._begun(before, stretch)
        if pour.care == "flushing" and not pour.is_assumed:
            return flush_result(start, water, self._ratio(start, pot), pot.efficiency)
        poured, uptake = water, 0.0
        if pour.care == "feeding":
            ppm = pour.ppm_n if pour.ppm_n is not None else self._strength(stretch, before, pour.day)
            poured, uptake = self.supplies.feed_ms_cm(ppm), pot.uptake
        technique = technique_of(pour.care if pour.care != "flushing" else "watering", pot.technique)
        if technique == "pour-through":
            return flush_result(start, (1 - uptake) * poured, LEAST_RATIO, pot.efficiency)
        lost = pot.held_l * (1 - fraction_after(self._share(before, pour.day), pot.target))
        leach = LEACH_BY_TECHNIQUE.get(technique, 0.0)
        return salt_after_wetting(start, pot.held_l, lost, leach, poured, uptake)

    def _begun(self, tally: Tally, stretch: Situation) -> float:
        """Return the salts before a wetting; a fresh medium holds what the water brings."""
        if tally.salt_ms_cm is not None:
            return tally.salt_ms_cm
        fresh = stretch.state.potted is not None and stretch.state.potted == tally.last_flush
        return self.supplies.water_ms_cm if fresh else BEGIN_MS_CM

    def _share(self, tally: Tally, day: int) -> float:
        beat = self._beats.at(day)
        since = tally.wetted if tally.wetted is not None else tally.last_flush
        return (day - since) / beat.days if beat is not None else 1.0

    def _ratio(self, salt: float, pot: _Pot) -> float:
        if self.supplies.water_ms_cm >= FLUSH_TARGET_MS_CM or pot.efficiency <= 0:
            return LEAST_RATIO
        needed = flush_volume_ratio(salt, self.supplies.water_ms_cm, FLUSH_TARGET_MS_CM, pot.efficiency)
        return min(MOST_RATIO, max(LEAST_RATIO, needed))

    def _pot(self, stretch: Situation) -> _Pot | None:
        """Return what a pot holds in a situation; None where nothing gathers salts that a flush could take."""
        if stretch.start not in self._pots:
            self._pots[stretch.start] = self._made(stretch)
        return self._pots[stretch.start]

    def _made(self, stretch: Situation) -> _Pot | None:
        state, terms = stretch.state, stretch.terms
        if terms is None or terms.care == "moistening":
            return None
        medium = self._scene.catalog.media[state.medium or ""]
        held = (
            pot_volume_l(state.size_cm or UNSIZED_CM) * (medium.water_pct_low + medium.water_pct_high) / 200
        )
        if held <= 0:
            return None
        return _Pot(
            held, medium.flush_efficiency, target_fraction(state, self._scene), terms.technique,
            UPTAKE_BY_STAGE.get(state.stage or "", 0.0),
        )  # fmt: skip
