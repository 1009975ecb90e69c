"""Rows on the sick and the weak: rot, treatments, pests' lives, wraps, losing ground, looks; data only."""

from typing import Literal, NamedTuple

from carecal.catalog.ranges import (
    Count,
    DailyLight,
    Days,
    DegreeDays,
    Hours,
    Metres,
    Millimetres,
    Minutes,
    PartDays,
    Ppfd,
    Temperature,
)

__all__ = [
    "Asking",
    "Firmness",
    "LosingGround",
    "PestCycle",
    "RotCourse",
    "StageLook",
    "Treatment",
    "Try",
    "Wrap",
]


class RotCourse(NamedTuple):
    """The course of rot by where it is: from the find or the last cut until it counts as over."""

    where: str
    answer: Literal["cut", "pot"]
    dry_days: Days  # no wetting so long, rooting-in and established
    dry_days_unrooted: Days  # the same, rootless and new-tips
    dry_days_other: Days | None  # side a of crown-water-days
    technique: str | None  # after the dry days
    technique_days: Days  # so long after the find
    feed_shut_days: Days  # after the last find or cut
    look_until_days: tuple[Days, ...]  # up to and including this day ...
    look_every_days: tuple[Days, ...]  # ... a look so often
    clean_days: Days  # without spread, dry and hard: over
    lost_cuts: Count | None  # cuts after which a crown or stem is probably lost
    neighbour_days: tuple[Days, ...]  # days after the find on which neighbours are looked over
    neighbour_m: Metres  # so near; pot-mates and the same tray in any case
    bars: tuple[str, ...]  # steps that wait
    does: str
    again: str  # when it is found again
    source: str


class Treatment(NamedTuple):
    """What a grower can say was done against a pest or rot: no product, no dose."""

    treatment: str
    describes: str
    against: tuple[str, ...]  # pests; empty = any
    repeats: bool  # again by the pest's treat_days until the watch ends
    wets: Literal["nothing", "leaves", "medium"]
    cautions: tuple[str, ...]
    source: str


class PestCycle(NamedTuple):
    """A pest's life by temperature, how long a plant stays apart for it and how often it is looked over.

    The generation is given in one of four ways: day-degrees, days at temperatures, days, or days apart outright.
    """

    pest: str
    generation_c_d: DegreeDays | None
    base_c: Temperature | None
    points_c: tuple[Temperature, ...]
    points_days: tuple[PartDays, ...]
    generation_days: PartDays | None
    apart_days: Days | None
    apart_days_other: Days | None  # side a of mite-watch
    margin_days: Days  # added to a generation
    least_days: Days
    most_days: Days
    look_days_cool: Days  # below 22 °C
    look_days_warm: Days
    clean_looks: Count  # the last so many looks must be clean
    treat_days_cool: Days
    treat_days_warm: Days
    neighbour_looks: Count
    neighbour_m: Metres
    root_days: Days | None  # at a potting so long after a find, roots are looked over
    dark_days: Days | None  # a look after dark so often
    where: str
    source: str


class Wrap(NamedTuple):
    """A way to keep a plant without roots: gates, looks, stop signs, first roots, hardening."""

    wrap: str
    describes: str
    day_low_c: Temperature
    day_high_c: Temperature
    night_min_c: Temperature
    root_medium_min_c: Temperature  # below it no root is forecast
    light_mol_low: DailyLight
    light_mol_high: DailyLight
    ppfd_max: Ppfd
    rot_free_days: Days
    look_until_days: tuple[Days, ...]
    look_every_days: tuple[Days, ...]  # one more than until: the last goes on
    air_minutes: Minutes  # at each look
    redamp_days_low: Days
    redamp_days_high: Days
    stop_leaves: Count  # yellow leaves within stop_days end it
    stop_days: Days
    first_look_days: Days  # for new roots
    typical_days_low: Days
    typical_days_high: Days
    remark_days: Days
    question_days: Days
    open_newest_mm: Millimetres
    open_tips: Count
    hardening_days: tuple[Days, ...]  # day of each stage from the opening on
    hardening_hours: tuple[Hours, ...]  # open so long a day
    stop_signs: tuple[str, ...]
    bearable: str  # what is no reason to stop
    source: str


class Firmness(NamedTuple):
    """How leaves feel, with a score: each step up is softer."""

    firmness: str
    score: Count
    describes: str
    source: str


class LosingGround(NamedTuple):
    """A level of losing ground; any of its conditions reaches it."""

    level: str
    order: Count
    firmness_steps: Count | None
    firmness_days: Days | None
    leaves_lost: Count | None
    leaves_days: Days | None
    leaves_left: Count | None  # so few and one going
    no_root_days: Days | None  # rootless, without a new root
    no_tip_days: Days | None  # new-tips, tips not growing
    says: str
    source: str


class Try(NamedTuple):
    """What is worth trying on a plant that loses ground, one at a time."""

    name: str
    order: Count
    days: Days  # one at a time, so long each
    warmer_c: Temperature | None
    light_mol_low: DailyLight | None
    light_mol_high: DailyLight | None
    not_within_days: Days | None  # of the last potting
    does: str
    source: str


class StageLook(NamedTuple):
    """How often a plant of a stage is looked over and its roots are counted; each wetting is a glance besides."""

    stage: str
    look_days: Days
    first_days: Days | None  # at first, up to and including first_until
    first_until: Days | None
    count_days: Days | None  # none: at potting
    look_for: str
    count_by: str
    source: str


class Asking(NamedTuple):
    """A state that is ended by asking: when, how often, and what silence means."""

    state: str
    ask_from_days: Days | None  # none: at its usual end by the profile
    ask_days: Days
    limit_days: Days | None  # asked whether it goes on at all
    unanswered_days: Days | None
    unanswered: str
    does: str
    source: str
