"""What profiles and tables say of growth and flowers; what it leaves out is taken from Phalaenopsis, the best known."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.horticulture.growth import BloomLimits, ThermalTime

if TYPE_CHECKING:
    from collections.abc import Callable

    from carecal.catalog.tables import Catalog, Profile

__all__ = ["bloom_limits", "hot_hours", "leaf_time", "root_pace", "root_targets", "spike_days"]

BEST_KNOWN = "phalaenopsis"


def bloom_limits(profile: Profile, catalog: Catalog) -> BloomLimits:
    """Return the band of thermal times from a spike to its first flower, and the limits of warmth."""
    early_base, early_theta, late_base, late_theta, cap, abort = _values(
        profile,
        catalog,
        lambda p: (
            p.bloom_early_base_c,
            p.bloom_early_theta_c_d,
            p.bloom_late_base_c,
            p.bloom_late_theta_c_d,
            p.bloom_cap_c,
            p.bud_abort_c,
        ),
    )
    return BloomLimits(ThermalTime(early_base, early_theta), ThermalTime(late_base, late_theta), cap, abort)


def leaf_time(profile: Profile, catalog: Catalog) -> ThermalTime:
    """Return the thermal time of a leaf."""
    return ThermalTime(*_values(profile, catalog, lambda p: (p.leaf_base_c, p.leaf_theta_c_d)))


def root_pace(profile: Profile, catalog: Catalog) -> tuple[float, float]:
    """Return how fast roots grow where nothing was measured, slow and fast. [mm/d]."""
    slow, fast = _values(profile, catalog, lambda p: (p.root_mm_d_low, p.root_mm_d_high))
    return slow, fast


def root_targets(catalog: Catalog) -> list[float]:
    """Return the lengths of the longest root at which something opens: a stage, a step, the first feed. [mm]."""
    lengths = {row.enter_longest_mm for row in catalog.stages.values()}
    lengths |= {row.open_newest_mm for row in catalog.wraps.values()}
    lengths.add(catalog.steps["filling-the-reservoir"].longest_mm)
    lengths.add(catalog.feeding_gates["stage"].longest_mm)
    return sorted(length for length in lengths if length > 0)


def spike_days(profile: Profile, catalog: Catalog) -> tuple[int, int, int]:
    """Return the inductive days until a spike is expected, from and to, and the far end of the band. [d]."""
    weeks = _values(profile, catalog, lambda p: (p.spike_weeks_low, p.spike_weeks_high, p.spike_weeks_band))
    low, high, band = (round(7 * each) for each in weeks)
    return low, high, band


def hot_hours(profile: Profile, catalog: Catalog) -> float:
    """Return how many hot hours undo an inductive day. [h]."""
    return _values(profile, catalog, lambda p: (p.hot_hours,))[0]


def _values(
    profile: Profile, catalog: Catalog, read: Callable[[Profile], tuple[float | None, ...]]
) -> tuple[float, ...]:
    """Return values that belong together: the profile's where it has them all, else those of Phalaenopsis."""
    for each in (profile, catalog.profiles[BEST_KNOWN]):
        found = tuple(value for value in read(each) if value is not None)
        if len(found) == len(read(each)):
            return found
    raise KeyError(BEST_KNOWN)
