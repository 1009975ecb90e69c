"""Rows on the season and on water: light, shade, spikes, potting, rest, heat, cold, supplies; data only."""

from typing import Literal, NamedTuple

from carecal.catalog.ranges import (
    Count,
    DailyLight,
    Days,
    Degrees,
    Factor,
    Metres,
    Millimetres,
    Month,
    Percent,
    Ppfd,
    Temperature,
    WaterNumber,
    Weeks,
)

__all__ = [
    "AfterPotting",
    "BudHazard",
    "LightClass",
    "RepotHold",
    "Rest",
    "RestWater",
    "SeasonRatio",
    "SpikeStep",
    "SunShade",
    "WaterKind",
    "WaterLimit",
    "WeatherLimit",
]


class SpikeStep(NamedTuple):
    """Something done with a growing spike, from a length on."""

    step: str
    from_mm: Millimetres
    to_mm: Millimetres | None
    other_from_mm: Millimetres | None  # side a of spike-tie
    other_every_mm: Millimetres | None
    again_days: Days | None  # until the first flower
    bars_turning: bool
    does: str
    source: str


class BudHazard(NamedTuple):
    """What makes buds drop, with the limit from which it is said."""

    hazard: str
    over_c: Temperature | None  # day normal
    colder_c: Temperature | None  # water colder than the plant by [K]
    within_m: Metres | None
    interval_factor: Factor | None
    says: str
    source: str


class LightClass(NamedTuple):
    """A class of the day's light at the leaf, for Phalaenopsis; other kinds by their own light."""

    light_class: str
    from_mol: DailyLight
    feed_days: Days | None  # none: as the profile; 0 = no feed
    feed_factor: Factor
    says: str
    source: str


class SunShade(NamedTuple):
    """From what height of the noon sun a window wants shade."""

    aspect: str
    noon_deg: Degrees
    later_days: Days  # so long after the first such day
    day_c: Temperature | None  # and day normals of at least this
    most_ppfd: Ppfd  # for kinds that are given at most so much light
    check: str
    source: str


class RepotHold(NamedTuple):
    """What holds a repotting back, until when, and which emergencies break it."""

    hold: str
    until: str
    months: tuple[Month, ...]  # of the northern year
    over_c: Temperature | None
    under_mol: DailyLight | None
    wait_days: Days | None
    open_day_c: Temperature | None  # so warm a place is open all the same
    open_medium_c: Temperature | None
    open_weeks: Weeks | None
    look_days: Days | None
    feed_factor: Factor
    wet_factor: Factor | None  # longer wet than so many intervals is an emergency
    broken_by: tuple[str, ...]
    source: str


class AfterPotting(NamedTuple):
    """What is due after a potting, by day."""

    care: str
    day: Days
    day_unrooted: Days  # rootless and new-tips
    day_pruned: Days  # roots cut or converted
    light_mol_max: DailyLight | None
    does: str
    source: str


class SeasonRatio(NamedTuple):
    """Days between wettings in winter against summer, a check printed beside what is computed."""

    room: str
    day_low_c: Temperature
    day_high_c: Temperature
    night_low_c: Temperature
    night_high_c: Temperature
    rh_low: Percent
    rh_high: Percent
    ratio_low: Factor
    ratio_high: Factor
    source: str


class WaterLimit(NamedTuple):
    """From what values a water wants care."""

    quantity: str
    unit: Literal["mS/cm", "mg/L CaCO3", "pH"]
    low: WaterNumber | None  # below it a remark
    fine_to: WaterNumber
    watch_to: WaterNumber | None
    mix_above: WaterNumber | None
    watch_flush_days: Days | None  # between fine_to and watch_to
    remark_flush_wettings: Count | None  # above watch_to: flush every so many wettings
    says: str
    source: str


class WaterKind(NamedTuple):
    """A kind of water: used, remarked on or refused."""

    kind: str
    refused: bool
    remark: str | None
    source: str


class Rest(NamedTuple):
    """How a rest begins, is asked about and ends."""

    rest: str
    ask_from_days: Days
    ask_days: Days
    unanswered_days: Days
    unanswered_share: Factor  # of the way back to full water
    flush_before_low: Days
    flush_before_high: Days
    fed_within_days: Days
    first_wetting: str
    source: str


class RestWater(NamedTuple):
    """Water inside a rest by the night temperature, for a kind whose rest is dry."""

    name: str
    profile: str
    night_from_c: Temperature
    amount: Literal["light", "small", "none"]
    again_days_low: Days | None  # none: when the medium is dry
    again_days_high: Days | None
    source: str


class WeatherLimit(NamedTuple):
    """What a hot spell or a cold night asks for, from readings, a forecast or normals."""

    limit: str
    day_from_c: Temperature | None
    ends_under_c: Temperature | None
    ends_days: Days | None
    after_days: Days | None  # so long after the end
    feed_factor: Factor
    rootless_look_days: Days | None
    bars: tuple[str, ...]
    does: str
    source: str
