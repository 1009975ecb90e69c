"""Salts in a pot: what wettings leave behind and what a flush takes out; it plans no flush."""

from __future__ import annotations

from math import ceil, exp, log
from typing import Final, NamedTuple

from carecal.errors import Refused

__all__ = [
    "CAUTION_MS_CM",
    "FLUSH_TARGET_MS_CM",
    "UPTAKE_BY_STAGE",
    "Amounts",
    "flush_result",
    "flush_volume_ratio",
    "salt_after_wetting",
    "salt_steady_state",
    "waterings_to_limit",
    "wetting_amounts",
    "whole_waterings_to_limit",
]

CAUTION_MS_CM = 1.1  # WANG1998: leaf area in bark is best at it, root mass already falls
FLUSH_TARGET_MS_CM = 0.6  # our choice, because it leaves room for a month of feeds
UPTAKE_BY_STAGE: Final = {"established": 0.3, "rooting-in": 0.2}  # our choice, because new roots take little
EPSILON = 1e-9


class Amounts(NamedTuple):
    """What one wetting brings and takes."""

    applied_l: float  # [L]
    drained_l: float  # [L]


def wetting_amounts(lost_l: float, leach_fraction: float) -> Amounts:
    """Return the water that a wetting brings and lets drain [L].

    Args:
        lost_l: Water lost since the last wetting. [L]
        leach_fraction: Effective share of the water that takes salts along, 0 to below 1. [-]

    Raises:
        Refused: leach_fraction is not from 0 to below 1.

    Source: FAO29 for the balance; our choice, because most of a drench runs past (models S1).
    """
    if not 0 <= leach_fraction < 1:
        raise Refused(f"leaching fraction {leach_fraction:g} must be from 0 to below 1")
    applied = lost_l / (1 - leach_fraction)
    return Amounts(applied, leach_fraction * applied)


def salt_after_wetting(
    start_ms_cm: float, held_l: float, lost_l: float, leach_fraction: float, feed_ms_cm: float, uptake: float
) -> float:
    """Return the strength in the medium after one wetting [mS/cm].

    Args:
        start_ms_cm: Strength before, with the medium at capacity. [mS/cm]
        held_l: Water the medium holds, above 0. [L]
        lost_l: Water lost since the last wetting. [L]
        leach_fraction: Effective share of the water that takes salts along, 0 to below 1. [-]
        feed_ms_cm: Strength of what is poured. [mS/cm]
        uptake: Share of the feed's salts that the plant takes up, 0 to 1. [-]

    Raises:
        Refused: held_l is not above 0, or leach_fraction is not from 0 to below 1.

    Source: our choice, because a mixed pot loses salts as its water drains (models S2).
    """
    if not held_l > 0:
        raise Refused(f"water held, {held_l:g} L, must be above 0")
    applied, drained = wetting_amounts(lost_l, leach_fraction)
    return (held_l * start_ms_cm + (1 - uptake) * feed_ms_cm * applied) / (held_l + drained)


def salt_steady_state(leach_fraction: float, feed_ms_cm: float, uptake: float) -> float | None:
    """Return the strength that like wettings approach, or None where nothing drains [mS/cm].

    Args:
        leach_fraction: Effective share of the water that takes salts along, 0 to below 1. [-]
        feed_ms_cm: Strength of what is poured. [mS/cm]
        uptake: Share of the feed's salts that the plant takes up, 0 to 1. [-]

    Source: our choice, because what comes in then drains out (models S2).
    """
    return None if leach_fraction == 0 else (1 - uptake) * feed_ms_cm / leach_fraction


def waterings_to_limit(
    start_ms_cm: float,
    held_l: float,
    lost_l: float,
    leach_fraction: float,
    feed_ms_cm: float,
    uptake: float,
    limit_ms_cm: float,
) -> float | None:
    """Return the like wettings to a limit as a fractional number, or None where it is never reached.

    Args:
        start_ms_cm: Strength now, with the medium at capacity. [mS/cm]
        held_l: Water the medium holds, above 0. [L]
        lost_l: Water lost between wettings. [L]
        leach_fraction: Effective share of the water that takes salts along, 0 to below 1. [-]
        feed_ms_cm: Strength of what is poured. [mS/cm]
        uptake: Share of the feed's salts that the plant takes up, 0 to 1. [-]
        limit_ms_cm: The limit. [mS/cm]

    Raises:
        Refused: held_l is not above 0, or leach_fraction is not from 0 to below 1.

    Source: our choice, because it inverts the sum of the wettings (models S3).
    """
    if start_ms_cm >= limit_ms_cm:
        return 0.0
    once = salt_after_wetting(start_ms_cm, held_l, lost_l, leach_fraction, feed_ms_cm, uptake)
    steady = salt_steady_state(leach_fraction, feed_ms_cm, uptake)
    if steady is None:
        rise = once - start_ms_cm
        return (limit_ms_cm - start_ms_cm) / rise if rise > 0 else None
    kept = _kept(held_l, lost_l, leach_fraction)
    if steady <= limit_ms_cm or kept == 1:
        return None
    return log((steady - limit_ms_cm) / (steady - start_ms_cm)) / log(kept)


def whole_waterings_to_limit(
    start_ms_cm: float,
    held_l: float,
    lost_l: float,
    leach_fraction: float,
    feed_ms_cm: float,
    uptake: float,
    limit_ms_cm: float,
) -> int | None:
    """Return the first like wetting after which the limit is reached, or None where it never is.

    Args:
        start_ms_cm: Strength now, with the medium at capacity. [mS/cm]
        held_l: Water the medium holds, above 0. [L]
        lost_l: Water lost between wettings. [L]
        leach_fraction: Effective share of the water that takes salts along, 0 to below 1. [-]
        feed_ms_cm: Strength of what is poured. [mS/cm]
        uptake: Share of the feed's salts that the plant takes up, 0 to 1. [-]
        limit_ms_cm: The limit. [mS/cm]

    Raises:
        Refused: held_l is not above 0, or leach_fraction is not from 0 to below 1.

    Source: our choice, because the first whole one at or above counts (models S3).
    """
    exact = waterings_to_limit(start_ms_cm, held_l, lost_l, leach_fraction, feed_ms_cm, uptake, limit_ms_cm)
    return None if exact is None else ceil(exact - EPSILON)


def flush_result(start_ms_cm: float, water_ms_cm: float, volume_ratio: float, efficiency: float) -> float:
    """Return the strength in the medium after a flush [mS/cm].

    Args:
        start_ms_cm: Strength before. [mS/cm]
        water_ms_cm: Strength of the water poured through. [mS/cm]
        volume_ratio: Water poured through over water held. [-]
        efficiency: Share of the water that mixes, of the medium, 0 to 1. [-]

    Source: our choice, because a mixed pot is thinned exponentially (models S5).
    """
    return water_ms_cm + (start_ms_cm - water_ms_cm) * exp(-efficiency * volume_ratio)


def flush_volume_ratio(
    start_ms_cm: float, water_ms_cm: float, target_ms_cm: float, efficiency: float
) -> float:
    """Return the water to pour through over the water held, to reach a target; 0 if it is met [-].

    Args:
        start_ms_cm: Strength before. [mS/cm]
        water_ms_cm: Strength of the water poured through, below the target. [mS/cm]
        target_ms_cm: Strength wanted. [mS/cm]
        efficiency: Share of the water that mixes, of the medium, above 0. [-]

    Raises:
        Refused: the water is not weaker than the target, or efficiency is not above 0.

    Source: our choice, because it inverts the thinning of a mixed pot (models S5).
    """
    if start_ms_cm <= target_ms_cm:
        return 0.0
    if not water_ms_cm < target_ms_cm:
        raise Refused(
            f"water of {water_ms_cm:g} mS/cm cannot flush to {target_ms_cm:g} mS/cm; it must be weaker"
        )
    if not efficiency > 0:
        raise Refused(f"flush efficiency {efficiency:g} must be above 0")
    return log((start_ms_cm - water_ms_cm) / (target_ms_cm - water_ms_cm)) / efficiency


def _kept(held_l: float, lost_l: float, leach_fraction: float) -> float:
    return held_l / (held_l + wetting_amounts(lost_l, leach_fraction).drained_l)
