"""The salts of one pot from wetting to wetting: what feeds leave behind, what a flush takes out (models S)."""

from __future__ import annotations

from math import exp
from typing import TYPE_CHECKING, NamedTuple

from carecal.horticulture.drydown import two_stage_days
from carecal.horticulture.learning import CRITICAL, RESIDUAL
from carecal.horticulture.rounding import significant
from carecal.horticulture.salts import (
    CAUTION_MS_CM,
    FLUSH_TARGET_MS_CM,
    UPTAKE_BY_STAGE,
    flush_result,
    flush_volume_ratio,
    salt_after_wetting,
    whole_waterings_to_limit,
)
from carecal.planning.pace.estimates import target_fraction
from carecal.planning.pours import held_l, technique_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from carecal.collection.plants import Event
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.rhythm.beats import Beats
    from carecal.planning.rhythm.situations import Situation
    from carecal.planning.wettings.feeding import Tally

__all__ = ["Pour", "Salting", "fraction_after"]

RAIN_MS_CM = 0.0  # our choice, because rain carries next to none
BEGIN_MS_CM = FLUSH_TARGET_MS_CM  # our choice, because nobody knows what a newcomer was fed
MOST_RATIO = 6.0  # our choice, because more water than that is a second flush another day


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

    @classmethod
    def of(cls, event: Event) -> Pour:
        """Return the wetting that an event tells of."""
        return cls(event.care, event.day, ppm_n=event.ppm_n, ec_ms_cm=event.ec_ms_cm, is_rain=event.rain)


class Salting:
    """Follows the salts of one pot.

    Args:
        context: Catalog and supplies.
        beats: The rhythm of the pot, for how dry it was.
        situation: Gives the situation of a day.
        strength: Gives the strength of a feed [mg/L of N] by situation, tally and day.
    """

    def __init__(
        self,
        context: PlanContext,
        beats: Beats,
        situation: Callable[[int], Situation],
        strength: Callable[[Situation, Tally, int], float],
    ) -> None:
        self._scene, self._beats, self._situation, self._strength = context, beats, situation, strength
        self.supplies = context.supplies
        self._flush_due = context.catalog.feeding_gates["salts"].ec_ms_cm
        self._of_held = context.catalog.techniques["pour-through"].of_held
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
            return after._replace(wetted=pour.day)
        salt = pour.ec_ms_cm if pour.ec_ms_cm is not None else self._balance(before, pour, stretch, pot)
        measured = pour.ec_ms_cm is not None or (before.is_salt_measured and before.salt_ms_cm is not None)
        return after._replace(salt_ms_cm=salt, is_salt_measured=measured, wetted=pour.day)

    def is_reckoned(self, tally: Tally) -> bool:
        """Return whether the balance decides: supplies are known, or the drained water was measured since potting."""
        return tally.salt_ms_cm is not None and self.may_matter(tally)

    def is_high(self, tally: Tally) -> bool:
        """Return whether the salts have reached the limit at which a flush is due and no feed is given."""
        return self.is_reckoned(tally) and self.is_over(tally.salt_ms_cm)

    def may_matter(self, tally: Tally) -> bool:
        """Return whether the balance can decide on this pot at all."""
        return self.supplies.is_known or tally.is_salt_measured

    def is_over(self, salt_ms_cm: float | None) -> bool:
        """Return whether reckoned salts have reached the limit; None is not reckoned."""
        return salt_ms_cm is not None and salt_ms_cm >= self._flush_due

    def is_flush_due(self, tally: Tally, day: int) -> bool:
        """Return whether the balance asks for a flush, and a flush with this water would help (models S3)."""
        if not self.is_high(tally):
            return False
        pot = self._pot(self._situation(day))
        if pot is None:
            return False
        salt = tally.salt_ms_cm or 0.0
        ratio = self._ratio(salt, pot)
        return flush_result(salt, self.supplies.water_ms_cm, ratio, pot.efficiency) < CAUTION_MS_CM

    def flush_litres(self, salt_ms_cm: float | None, day: int) -> float | None:
        """Return the water of a flush: its share of the water held, or more where reckoned salts ask for it. [L]."""
        pot = self._pot(self._situation(day))
        if pot is None:
            return None
        return significant(self._ratio(salt_ms_cm, pot) * pot.held_l, 3)

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
        leach = self._leach(pot.technique)
        lost = pot.held_l * (1 - pot.target)
        return whole_waterings_to_limit(tally.salt_ms_cm, pot.held_l, lost, leach, mean, 0.0, self._flush_due)

    def words(self, tally: Tally, day: int) -> str:
        """Return the salts of a pot in words: how much, how sure, when a flush falls due by them; '' if void."""
        if tally.salt_ms_cm is None:
            return ""
        text = f"salts about {tally.salt_ms_cm:.1f} mS/cm"
        if tally.is_salt_measured:
            text += ", by the drained water"
        elif self.supplies.assumed:
            text += f" ({self.supplies.assumed})"
        if not self.is_reckoned(tally):
            return f"{text}: a guess, so flushes go by days alone"
        if self.is_over(tally.salt_ms_cm):
            return f"{text}: flush before the next feed"
        share = 1 / 2 if tally.feeds_since_flush else 0.0
        ahead = self.wettings_to_limit(tally, day, share)
        caution = "; feed less" if tally.salt_ms_cm >= CAUTION_MS_CM else ""
        when = (
            f"{self._flush_due:g} in about {ahead} wetting{'s' if ahead != 1 else ''}"
            if ahead is not None
            else "they stay below the limit"
        )
        return f"{text}: {when}{caution}"

    def _balance(self, before: Tally, pour: Pour, stretch: Situation, pot: _Pot) -> float:
        water = RAIN_MS_CM if pour.is_rain else self.supplies.water_ms_cm
        start = self._begun(before, stretch)
        if pour.care == "flushing" and not pour.is_assumed:
            ratio = self._ratio(start if self.is_reckoned(before) else None, pot)
            return flush_result(start, water, ratio, pot.efficiency)
        poured, uptake = water, 0.0
        if pour.care == "feeding":
            ppm = pour.ppm_n if pour.ppm_n is not None else self._strength(stretch, before, pour.day)
            poured, uptake = self.supplies.feed_ms_cm(ppm), pot.uptake
        technique = technique_of(pour.care if pour.care != "flushing" else "watering", pot.technique)
        if technique == "pour-through":
            return flush_result(start, (1 - uptake) * poured, self._of_held, pot.efficiency)
        lost = pot.held_l * (1 - fraction_after(self._share(before, pour.day), pot.target))
        leach = self._leach(technique)
        return salt_after_wetting(start, pot.held_l, lost, leach, poured, uptake)

    def _leach(self, technique: str) -> float:
        row = self._scene.catalog.techniques.get(technique)
        return row.leach if row is not None else 0.0

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

    def _ratio(self, salt: float | None, pot: _Pot) -> float:
        if salt is None or self.supplies.water_ms_cm >= FLUSH_TARGET_MS_CM or pot.efficiency <= 0:
            return self._of_held
        needed = flush_volume_ratio(salt, self.supplies.water_ms_cm, FLUSH_TARGET_MS_CM, pot.efficiency)
        return min(MOST_RATIO, max(self._of_held, needed))

    def _pot(self, stretch: Situation) -> _Pot | None:
        """Return what a pot holds in a situation; None where nothing gathers salts that a flush could take."""
        if stretch.start not in self._pots:
            self._pots[stretch.start] = self._made(stretch)
        return self._pots[stretch.start]

    def _made(self, stretch: Situation) -> _Pot | None:
        state, terms = stretch.state, stretch.terms
        if terms is None or terms.care == "moistening":
            return None
        held = held_l(state, self._scene)
        if held <= 0:
            return None
        efficiency = self._scene.catalog.media[state.medium or ""].flush_efficiency
        return _Pot(
            held,
            efficiency,
            target_fraction(stretch, self._scene),
            terms.technique,
            UPTAKE_BY_STAGE.get(state.stage or "", 0.0),
        )
