"""Rows on what is done and watched: cares, aids, stages, states, gates, steps, sides; data only."""

from typing import Literal, NamedTuple

from carecal.catalog.ranges import (
    Count,
    Days,
    Ec,
    Factor,
    Litres,
    Millimetres,
    Minutes,
    PpmN,
    Share,
    Temperature,
    Weeks,
)

__all__ = [
    "Aid",
    "Care",
    "Caution",
    "FeedingGate",
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
    days: Days = 0  # it lasts so long; 0 = until something ends it


class Care(NamedTuple):
    """A care that is done again and again."""

    care: str
    rank: Count
    minutes: Minutes  # usual time for one plant
    source: str


class Technique(NamedTuple):
    """How a care is carried out, and what it takes from the can: of the pot, of the water held, or the same for all."""

    technique: str
    does: str
    fits: str
    keeps_in_mind: str
    source: str
    of_volume: Factor = 0.0
    of_held: Factor = 0.0
    litres: Litres = 0.0
    leach: Share = 0.0  # of the water poured: how much runs through


class Aid(NamedTuple):
    """An aid put round a plant, the care it brings and what it changes."""

    aid: str
    describes: str
    care: Literal["moistening"] | None
    care_days: Days | None
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
    again_days_cool: Days
    again_days_warm: Days
    looks: Count  # clean looks in a row that end the watch
    development: str | None
    source: str
    warm_c: Temperature = 22.0  # from this day temperature on again_days_warm counts


class FeedingGate(NamedTuple):
    """A gate that must be open before a slot may be fed."""

    gate: str
    opens_when: str
    shuts_when: str
    overridable: bool
    source: str
    longest_mm: Millimetres = 0.0  # of the longest root, for a plant with new tips
    roots: Count = 0
    margin_c: Temperature = 0.0  # it opens so far below the profile's limit
    band_c: Temperature = 0.0  # it shuts so far beyond where it opens
    days: Days = 0  # it stays shut so long
    days_long: Days = 0  # after a conversion or root pruning
    ec_ms_cm: Ec = 0.0  # it shuts at and above


class Step(NamedTuple):
    """A thing done once, when it is safe; a number left out is one the step does not ask for."""

    step: str
    needs: str
    medium_mean_c: Temperature | None
    medium_night_c: Temperature | None
    weeks_after: Weeks
    ok_margin_days: Days
    ok_margin_c: Temperature
    never_when: str | None
    emergency: str | None
    source: str
    kind_night_c: Temperature = 0.0  # the limits of the medium are those of a kind with this night_min_c
    day_most_c: Temperature = 0.0  # not on hotter days
    longest_mm: Millimetres = 0.0  # of the longest root: at least, or at most in a conversion
    longest_early_mm: Millimetres = 0.0  # where it is done early
    roots: Count = 0
    tips: Count = 0
    leaves: Count = 0
    apart_days: Days = 0  # since the last potting
    clean_days: Days = 0  # since arrival or the last find
    clean_days_early: Days = 0  # by the shorter side of quarantine-length
    clean_looks: Count = 0  # in a row


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
