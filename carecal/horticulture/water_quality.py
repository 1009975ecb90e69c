"""What water is worth for orchids by conductivity, and how far it cuts the feed; it names no product."""

from __future__ import annotations

from carecal.errors import Refused

__all__ = ["EC_MAX", "feed_factor_by_ec", "feed_within_ec"]

WEAK_EC = 0.3  # common practice (no source): up to it water needs no thought [mS/cm]
EC_MAX = 1.1  # WANG1998: leaf area in bark peaks at 1.1, water and feed together [mS/cm]


def feed_factor_by_ec(water_ec: float, ec_max: float = EC_MAX) -> float:
    """Return the share of the usual feed that water of a conductivity still allows, 1 to 0 [-].

    Args:
        water_ec: Conductivity of the water alone, 0 or more. [mS/cm]
        ec_max: Most that water and feed may have together, above 0.3. [mS/cm]

    Raises:
        Refused: water_ec is negative or ec_max is not above 0.3.

    Source: our choice, because the room under WANG1998's 1.1 shrinks straight from all of it at 0.3 mS/cm.
    """
    if not water_ec >= 0:
        raise Refused(f"conductivity {water_ec:g} mS/cm is negative; 0 or more is allowed")
    if not ec_max > WEAK_EC:
        raise Refused(f"ec_max {ec_max:g} mS/cm must be above {WEAK_EC:g}")
    return max(0.0, min(1.0, (ec_max - water_ec) / (ec_max - WEAK_EC)))


def feed_within_ec(ppm_n: float, water_ec: float, ec_per_100_ppm: float, ec_max: float = EC_MAX) -> float:
    """Return the strongest feed up to a strength whose water and salts stay under a conductivity [mg/L N].

    Args:
        ppm_n: Strength wanted, 0 or more. [mg/L N]
        water_ec: Conductivity of the water alone, 0 or more. [mS/cm]
        ec_per_100_ppm: Conductivity that 100 mg/L of N of this fertiliser adds, above 0. [mS/cm]
        ec_max: Most that water and feed may have together. [mS/cm]

    Raises:
        Refused: ppm_n or water_ec are negative, or ec_per_100_ppm is not above 0.

    Source: WANG1998 for the limit; conductivities of water and feed add up: UDEL.
    """
    if not (ppm_n >= 0 and water_ec >= 0):
        raise Refused(f"strength {ppm_n:g} and conductivity {water_ec:g} may not be negative")
    if not ec_per_100_ppm > 0:
        raise Refused(f"ec_per_100_ppm {ec_per_100_ppm:g} must be above 0")
    return max(0.0, min(ppm_n, (ec_max - water_ec) / ec_per_100_ppm * 100))
