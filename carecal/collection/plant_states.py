"""The states of a plant and what happened to it, as plain values; the fold that makes them is elsewhere."""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["Announcement", "Beside", "Event", "PestWatch", "PlantState", "Treatment"]


class PestWatch(NamedTuple):
    """A pest that was seen: since when, and how many clean looks in a row came since.

    Attributes:
        since: Day of the newest find (ordinal).
        finds: Days of all finds of it there, the newest last: rot that is found again was not cut far enough.
    """

    pest: str
    since: int
    clean_looks: int = 0
    last_look: int = 0
    where: str | None = None
    finds: tuple[int, ...] = ()
    apart_until: int | None = None  # first day on which it need not stand apart; laid over by the plan


class Beside(NamedTuple):
    """Something that was found on a plant beside this one: what, of rot where, and the day (ordinal)."""

    pest: str
    where: str | None
    since: int


class Treatment(NamedTuple):
    """What was last done against a trouble: how, against what, and the day."""

    did: str
    against: str
    day: int


class PlantState(NamedTuple):
    """What a plant is from `day` on, until its next state."""

    day: int
    entry: int
    written: str
    profile: str = "phalaenopsis"
    medium: str | None = None
    container: str | None = None
    size_cm: float | None = None
    place: str | None = None
    hand_stage: str | None = None
    observed_stage: str | None = None
    observed_when_set: str | None = None
    flowering: str = "none"
    flowering_since: int | None = None
    aids: tuple[tuple[str, int], ...] = ()  # aid and the day it was given
    reservoir: str | None = None
    potting: int = 1
    potted: int | None = None
    waits_long: bool = (
        False  # for its first feed after the potting: converted to a reservoir, or roots pruned
    )
    came: int | None = None
    quarantine_since: int | None = None
    quarantine_until: int | None = None
    clean_looks: int = 0
    pests: tuple[PestWatch, ...] = ()
    last_find: int | None = None
    mother: int | None = None
    roots: int | None = None
    longest_mm: float | None = None
    tips: int | None = None
    plug: bool | None = None  # whether a nursery plug stands in its medium; None: nobody looked
    leaves: int | None = None
    growths: int | None = None
    firmness: str | None = None
    gates_open: frozenset[str] = frozenset()
    bloom: str | None = None
    spike: str | None = None
    newest_mm: float | None = None  # longest root grown since the last potting or wrapping
    newest_on: int | None = None
    flowering_told: int | None = None  # the day on which its flowering was last told, the same word again too
    flowering_over: int | None = None  # the day from which a spike or bloom was taken as over, as nobody said
    spike_mm: float | None = None
    crown_lost: int | None = None  # the day
    shoot: int | None = None  # the day on which a shoot from the base was seen, after the crown was lost
    rest: str | None = None  # as told: begun, goes-on or over
    rest_told: int | None = None
    feed_ppm_n: float | None = None  # as told for this plant; None: as its kind and stage ask
    tried: tuple[tuple[str, int], ...] = ()  # what was tried and the day, '' for going on as it is
    treatments: tuple[Treatment, ...] = ()  # the last of each kind against each trouble

    @property
    def stage(self) -> str | None:
        """The stage in force: set by hand, else as observed."""
        return self.hand_stage or self.observed_stage

    @property
    def aid_names(self) -> frozenset[str]:
        """The aids in use."""
        return frozenset(name for name, _ in self.aids)

    @property
    def is_soft(self) -> bool:
        """Whether its leaves are known to be soft, wrinkled or folded."""
        return self.firmness not in {None, "firm"}

    @property
    def is_wrapped(self) -> bool:
        """Whether the plant stands in a closed bag, box or wrap."""
        return self.container == "bag" or any(name == "wrap" for name, _ in self.aids)


class Event(NamedTuple):
    """Something that happened: kind is wet, aid, look, left, excepted, missed, potted, weighed or added."""

    day: int
    entry: int
    kind: str
    care: str = ""
    written: str = ""
    by: str = ""
    felt: str | None = None
    weight_g: float | None = None
    ec_ms_cm: float | None = None
    ppm_n: float | None = None  # poured; None: as the plant asked [mg/L of N]
    task: str | None = None
    aid: str | None = None
    again_days: int | None = None
    mark: str | None = None
    rain: bool = False
    watered: bool = True
    prior: tuple[float, float] | None = None
    text: str = ""
    unseen: bool = False  # ticked with the whole round, where a look was asked


class Announcement(NamedTuple):
    """A move or potting announced for a day ahead; it changes nothing until it is confirmed."""

    entry: int
    kind: str  # 'moving' or 'potting'
    day: int
    written: str
    place: str | None = None  # of a move
    medium: str | None = None  # of a potting, as the two below
    container: str | None = None
    size_cm: float | None = None

    @property
    def text(self) -> str:
        """Where it goes, in words: a place, or 'bark in plastic, 12 cm'."""
        if self.kind == "moving":
            return str(self.place)
        size = f", {self.size_cm:g} cm" if self.size_cm else ""
        return f"{self.medium} in {self.container}{size}"
