"""What profiles and tables say of growth and flowers; of a kind whose profile has no numbers nothing is reckoned."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.horticulture.growth import BloomLimits, ThermalTime

if TYPE_CHECKING:
    from carecal.catalog.tables import Catalog, Profile

__all__ = ["bloom_limits", "leaf_time", "root_pace", "root_targets", "spike_days"]


def bloom_limits(profile: Profile) -> BloomLimits | None:
    """Return the band of thermal times from a spike to its first flower, and the limits of warmth."""
    found = _values(
        profile.bloom_early_base_c,
        profile.bloom_early_theta_c_d,
        profile.bloom_late_base_c,
        profile.bloom_late_theta_c_d,
        profile.bloom_cap_c,
        profile.bud_abort_c,
    )
    if found is None:
        return None
    early_base, early_theta, late_base, late_theta, cap, abort = found
    return BloomLimits(ThermalTime(early_base, early_theta), ThermalTime(late_base, late_theta), cap, abort)


def leaf_time(profile: Profile) -> ThermalTime | None:
    """Return the thermal time of a leaf."""
    found = _values(profile.leaf_base_c, profile.leaf_theta_c_d)
    return ThermalTime(*found) if found is not None else None


def root_pace(profile: Profile) -> tuple[float, float] | None:
    """Return how fast roots grow where nothing was measured, slow and fast. [mm/d]."""
    found = _values(profile.root_mm_d_low, profile.root_mm_d_high)
    return (found[0], found[1]) if found is not None else None


def root_targets(catalog: Catalog) -> list[float]:
    """Return the lengths of the longest root at which something opens: a stage, a step, the first feed. [mm]."""
    lengths = {row.enter_longest_mm for row in catalog.stages.values()}
    lengths |= {row.open_newest_mm for row in catalog.wraps.values()}
    lengths.add(catalog.steps["filling-the-reservoir"].longest_mm)
    lengths.add(catalog.feeding_gates["stage"].longest_mm)
    return sorted(length for length in lengths if length > 0)


def spike_days(profile: Profile) -> tuple[int, int, int] | None:
    """Return the inductive days until a spike is expected, from and to, and the far end of the band. [d]."""
    weeks = _values(profile.spike_weeks_low, profile.spike_weeks_high, profile.spike_weeks_band)
    if weeks is None:
        return None
    low, high, band = (round(7 * each) for each in weeks)
    return low, high, band


def _values(*values: float | None) -> tuple[float, ...] | None:
    """Return values that belong together, None where the profile leaves one of them out."""
    found = tuple(value for value in values if value is not None)
    return found if len(found) == len(values) else None
