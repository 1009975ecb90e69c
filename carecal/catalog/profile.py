"""The profile: what one kind of orchid asks for, flat, with the section of its file each value stands in."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Mapping

    from carecal.catalog.ranges import (
        Count,
        DailyLight,
        Days,
        DegreeDays,
        Ec,
        Factor,
        FootCandles,
        Hours,
        Millimetres,
        Month,
        Months,
        Percent,
        Ph,
        Ppfd,
        PpmN,
        Temperature,
        Weeks,
    )

__all__ = ["Profile"]


class Profile(NamedTuple):
    """The culture a plant follows; optional values are None where this kind has none or none is known."""

    profile: str
    latin: str
    describes: str
    depth: Literal["deep", "outline"]
    source: str
    # temperature
    night_min_c: Temperature
    night_low_c: Temperature
    night_high_c: Temperature
    day_low_c: Temperature
    day_high_c: Temperature
    day_max_c: Temperature
    urgent_below_c: Temperature  # below it nothing is wetted, the plant comes in
    warm_night_c: (
        Temperature | None
    )  # what its medium is reckoned to need, where growers differ: side a of milt-night
    warm_night_other_c: Temperature | None  # side b
    # light
    light_fc_low: FootCandles
    light_fc_high: FootCandles
    ppfd_low: Ppfd
    ppfd_high: Ppfd
    light_rule: str | None
    lamp_hours_low: Hours | None
    lamp_hours_high: Hours | None
    ppfd_harm: Ppfd | None  # above it leaves are hurt
    spike_light_mol: DailyLight | None  # least daily light for a spike
    light_mol_low: DailyLight | None  # daily light at the leaf that suits, lower end
    light_mol_high: DailyLight | None  # upper end
    light_mol_unfit: DailyLight | None  # below it in the best half of the year a place does not suit
    stage_ppfd_high: Mapping[str, Ppfd]  # most light by stage
    # humidity
    rh_low: Percent
    rh_high: Percent
    # wetting
    interval_factor: Factor
    dry_rule: str
    water_min_c: Temperature | None
    water_ec_max: Ec | None
    # feeding
    feed_ppm_n: PpmN
    feed_days: Days
    feed_days_slow: Days  # in rest and in the lowest light; 0 = no feed
    feed_rule: str
    feed_ec_max: Ec | None
    feed_ph_low: Ph | None
    feed_ph_high: Ph | None
    # flushing
    flush_rule: str
    # rest
    rest_rule: str
    rest_from_month: Month | None  # of the northern year, first day included
    rest_to_month: Month | None  # last day included
    rest_interval_factor: Factor
    rest_begins_sign: str | None  # what shows that a rest begins; none: by the month alone
    rest_ends_sign: str | None  # what ends it; none: no rest
    rest_ends_by: Literal["buds", "tips", "spike-over"] | None  # what is told of the plant and ends it too
    # potting
    repot_months_low: Months
    repot_months_high: Months
    repot_signal: str
    # flowering
    flowering_rule: str
    bloom_leaves: Count | None  # leaves of a plant fit to flower
    spike_day_max_c: Temperature | None  # day mean of an inductive day, at most
    hot_c: Temperature | None  # hot_hours above it spoil an inductive day
    hot_hours: Hours | None
    spike_weeks_low: Weeks | None  # inductive weeks until a spike is expected
    spike_weeks_high: Weeks | None
    spike_weeks_band: Weeks | None  # the far end of the band
    bloom_early_theta_c_d: DegreeDays | None  # thermal time from spike to flower, early end of the band
    bloom_early_base_c: Temperature | None
    bloom_late_theta_c_d: DegreeDays | None  # late end of the band
    bloom_late_base_c: Temperature | None
    bloom_cap_c: Temperature | None  # the rate is held above it
    bud_abort_c: Temperature | None
    keiki_above_c: Temperature | None
    bloom_months_low: Months | None  # how long flowers last
    bloom_months_high: Months | None
    spike_cut_leaves: Count | None  # fewer leaves: cutting a spike is offered
    spike_one_leaves: Count | None  # up to so many leaves: one spike at most
    # growth
    leaf_theta_c_d: DegreeDays | None  # thermal time for a leaf
    leaf_base_c: Temperature | None
    root_mm_d_low: Millimetres | None  # growth of a root [mm/d]
    root_mm_d_high: Millimetres | None
    root_medium_min_c: Temperature | None  # below this mean of the medium no root is forecast
    # inspection
    look_for: str
    # steps
    out_night_c: Temperature
    in_night_c: Temperature
    step_notes: Mapping[str, str]  # words on a step of this kind, by step
    # sources of the values, by field
    sources: Mapping[str, str]

    @property
    def name(self) -> str:
        """Name of the profile, as in its file name."""
        return self.profile
