"""Rows on what is done and watched: cares, aids, stages, states, gates, steps, sides; data only."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from carecal.catalog.ranges import (
        Count,
        DailyLight,
        Days,
        Factor,
        Millimetres,
        Minutes,
        Percent,
        PpmN,
        Temperature,
        Weeks,
    )

__all__ = [
    "Aid",
    "Care",
    "Caution",
    "FeedingGate",
    "FeedingRhythm",
    "Pest",
    "Side",
    "Source",
    "Stage",
    "State",
    "Step",
    "Technique",
]


class Stage(NamedTuple):
    """A stage on the way back, entered and left by observed roots and leaves, with hysteresis."""

    stage: str
    enter_roots: Count
    enter_longest_mm: Millimetres
    enter_leaves: Count
    leave_below_roots: Count
    leave_below_longest_mm: Millimetres
    leave_below_leaves: Count
    interval_factor: Factor
    window_scale: Factor
    wetting_care: str
    technique: str  # or 'by medium'
    feed_ppm_n: PpmN  # 0 = none
    feed_gate: str
    inspection_days: Days
    order: Count  # 1 is the most fragile
    source: str


class State(NamedTuple):
    """A state a plant can be in beside its stage, or a flowering state."""

    state: str
    kind: Literal["state", "flowering"]
    begins: str | None
    ends: str | None
    interval_factor: Factor | Literal["profile"]  # 'profile' = its rest_interval_factor
    window_scale: Factor
    feed_factor: Factor
    inspection_days: Days | Literal["pests"]  # 0 = by stage
    blocks: str | None
    source: str


class Care(NamedTuple):
    """A care that is done again and again."""

    care: str
    kind: Literal["wetting", "looking"]
    rank: Count
    in_can: Literal["plain", "feed", "nothing"]
    techniques: tuple[str, ...]
    minutes: Minutes  # usual time for one plant
    rides_on: str
    ends_a_drying_period: Literal["always", "never", "rootless"]
    source: str


class Technique(NamedTuple):
    """How a care is carried out, in words."""

    technique: str
    does: str
    fits: str
    keeps_in_mind: str
    source: str


class Aid(NamedTuple):
    """An aid put round a plant, the care it brings and what it changes."""

    aid: str
    describes: str
    care: str | None
    care_days: Days | None
    rh_pct: Percent | None
    air: str | None
    light_factor: Factor
    interval_factor: Factor
    cautions: tuple[str, ...]
    source: str


class Caution(NamedTuple):
    """A short caution, shown once a round when any of its conditions holds."""

    code: str
    text: str
    attaches_to: str
    when: tuple[str, ...]
    who_decides: str | None
    source: str


class Pest(NamedTuple):
    """A pest or trouble: what to look for and when to look again."""

    pest: str
    look_for: str
    again_days_cool: Days  # below 22 °C
    again_days_warm: Days  # above
    looks: Count  # clean looks in a row that end the watch
    development: str | None
    source: str


class FeedingGate(NamedTuple):
    """A gate that must be open before a slot may be fed."""

    gate: str
    opens_when: str
    shuts_when: str
    unit: str | None
    overridable: bool
    source: str


class FeedingRhythm(NamedTuple):
    """How often to feed at and above a daily light."""

    daily_light_mol: DailyLight
    feed_days: Days
    source: str


class Step(NamedTuple):
    """A thing done once, when it is safe; limits are those of Phalaenopsis."""

    step: str
    needs: str
    medium_mean_c: Temperature | None
    medium_night_c: Temperature | None
    air_night_c: Temperature | None
    weeks_after: Weeks
    ok_margin_days: Days
    ok_margin_c: Temperature
    never_when: str | None
    emergency: str | None
    source: str


class Side(NamedTuple):
    """A question on which the trade disagrees, with the side taken."""

    id: str
    question: str
    side_a: str
    side_b: str
    default: Literal["a", "b"]
    because: str
    affects: str
    source: str
    ref: str


class Source(NamedTuple):
    """A source that numbers and rules cite by its key."""

    key: str
    kind: str
    reference: str
    support: str
