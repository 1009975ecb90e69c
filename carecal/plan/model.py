"""The plan's own types: what the planner hands to calendars, command line and page; it computes nothing."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Literal, NamedTuple

__all__ = [
    "Can",
    "Fact",
    "FeedMix",
    "Gate",
    "Moment",
    "Plan",
    "PlantView",
    "Reason",
    "Rhythm",
    "Round",
    "Series",
    "Status",
    "Step",
    "Task",
    "WillNotKeep",
]

Status = Literal["planned", "open", "overdue", "done", "assumed", "left", "skipped"]
Grouping = Literal["rounds", "each"]


class Reason(NamedTuple):
    """One reason with its number: a code for programs, a text for people."""

    code: str
    text: str
    value: float | None = None
    unit: str | None = None


class Rhythm(NamedTuple):
    """Whole days between wettings of one plant, from one moment up to and including `until`."""

    plant: int
    care: str  # watering, refilling or moistening
    start: date
    until: date
    days: int
    raw_days: float
    reasons: tuple[Reason, ...]
    potting: int = 1
    aid: str = ""  # '' for the pot itself, else the aid whose moistening this is
    because: str = ""  # what changed its days, in words; '' where nothing did


@dataclass(frozen=True, slots=True)
class Task:
    """One thing to do for one plant: a numbered wetting, a look, an aid's moistening, or a step."""

    id: str  # stable: 'task/7/2/wetting/31', 'task/7/2/cloth/5', 'look/7/12', 'step/7/potting-on/2027-05-10'
    plant: int
    care: str  # watering, refilling, feeding, flushing, moistening, inspection; 'step' for a step
    technique: str
    slot: int
    earliest: date
    due: date
    latest: date
    on: date  # the care day
    status: Status
    joined_to: str | None = None
    cautions: tuple[str, ...] = ()
    potting: int = 1
    aid: str = ""
    certain: bool = False  # False: the verb is 'look at', since no honest entry stands behind the interval
    carried: bool = False  # overdue, carried over to today
    ppm_n: float | None = None  # strength of a feed [mg/L of N]
    litres: float | None = None  # what the can gives it [L]
    minutes: int = 0
    because: str = ""  # one sentence: why on this day
    asks: str = ""  # the question a look asks, if any
    step: str = ""  # name of the step, when care is 'step'
    ask_felt: bool = False  # an answer 'parched, right or damp' would narrow the band
    waits_since: date | None = None  # day since which the feed that it asks for has not been given
    feed_waits: bool = (
        False  # plain water, since the round's can holds another strength; the feed comes next time
    )
    could_ppm_n: float | None = None  # plain water: its feed if the feed before it had waited [mg/L of N]
    instead: Task | None = (
        None  # a feed as plain water, plain water that could be fed as a feed; None: as it is
    )


@dataclass(frozen=True, slots=True)
class Fact:
    """One care that really happened, for the past of a calendar and the log."""

    entry: int
    plant: int
    care: str
    on: date
    written: str  # ISO instant, UTC
    text: str  # 'felt right; EC out 0.6 mS/cm'
    task: str = ""  # the task it answered


@dataclass(frozen=True, slots=True)
class FeedMix:
    """One strength of feed in a round's can."""

    ppm_n: float
    g_per_l: float | None  # None while no fertiliser is known [g/L]
    litres: float
    tasks: tuple[str, ...]
    fertiliser: str = ""
    ec_ms_cm: float | None = None  # what a meter should read, water included [mS/cm]
    apart: bool = (
        False  # for plants in quarantine or on pest-watch: mixed and poured last, from a can of its own
    )


class Can(NamedTuple):
    """What to mix for one round: plain water first, then feed."""

    plain_l: float = 0.0  # all plain water of the round
    feeds: tuple[FeedMix, ...] = ()
    plain_apart_l: float = 0.0  # the part of it for plants in quarantine or on pest-watch, poured last


class Round(NamedTuple):
    """The care of one day, task ids in the order to go round."""

    on: date
    tasks: tuple[str, ...]
    can: Can = Can()
    minutes: int = 0
    cautions: tuple[str, ...] = ()  # codes, each once
    other: tuple[Task, ...] = ()  # wettings that the one can makes other than their plant's own plan has them
    stops: tuple[tuple[Task, ...], ...] = ()  # all of them as the can makes them, a plant at a time, in order


@dataclass(frozen=True, slots=True)
class Series:
    """Slots of one plant and care as a recurrence rule; `key` is the stable key its UID is made from."""

    key: str
    plant: int
    care: str
    technique: str
    first: date
    every_days: int
    until: date
    skip: tuple[date, ...] = ()
    aid: str = ""
    potting: int = 1
    because: tuple[str, ...] = ()  # why so many days, a sentence each
    window: str = ""  # 'may slip: 1 day early, 2 days late'
    certain: bool = False
    tasks: tuple[str, ...] = ()  # ids of the tasks that the rule stands for, in order
    basis: str = ""  # written instant of the newest entry it rests on


class Gate(NamedTuple):
    """What holds a recurring care back: open or shut, when that is forecast to change, and why."""

    plant: int
    care: str
    gate: str
    open: bool
    opens: date | None
    last_safe: date | None
    because: tuple[Reason, ...] = ()
    overridden: bool = False


@dataclass(frozen=True, slots=True)
class Step:
    """A thing done once, when safe."""

    plant: int
    step: str
    status: Literal["now", "wait", "missed", "unknown"]
    opens: date | None
    last_safe: date | None
    margin_days: int | None
    because: tuple[Reason, ...] = ()
    wanted: bool = True
    title: str = ""  # 'Repot Tide into fresh bark'


class Moment(NamedTuple):
    """A day on which something that moves plants' rhythms changes at a place, in words."""

    key: str
    place: str
    on: date
    plants: tuple[int, ...]
    text: str


class WillNotKeep(NamedTuple):
    """A task that falls into an absence and has no present day inside its window."""

    task: str
    plant: int
    due: date
    latest: date
    remedy: str


class PlantView(NamedTuple):
    """What a plant is on the plan's day."""

    number: int
    id: str
    name: str
    profile: str
    medium: str | None
    container: str | None
    size_cm: float | None
    place: str | None
    stage: str | None
    flowering: str
    aids: tuple[str, ...] = ()
    states: tuple[str, ...] = ()
    reservoir: str | None = None  # 'filled', 'empty' or None
    came: date | None = None
    potted: date | None = None
    on_watch: bool = False
    factor: float = 1.0
    factor_low: float = 1.0
    factor_high: float = 1.0
    factor_entries: int = 0
    basis: str = ""  # written instant of the newest entry of this plant
    tips: int | None = None  # active root tips last counted
    last_done: date | None = None  # its last wetting
    last_care: str = ""
    mother: str | None = None
    potting: int = 1
    losing: str = ""  # level of losing_ground.toml: '', warning, losing or go-on
    order: tuple[object, ...] = ()


@dataclass(frozen=True, slots=True)
class Plan:
    """Everything that is planned for a collection from one day on, for one grouping.

    Tasks are sorted by (on, plant number, care). Ids of plants are in `plants`, numbers everywhere else.
    """

    collection_id: str
    collection_name: str
    timezone: str
    as_of: date
    start: date
    until: date
    grouping: Grouping
    plants: tuple[PlantView, ...] = ()
    moments: tuple[Moment, ...] = ()
    rhythms: tuple[Rhythm, ...] = ()
    series: tuple[Series, ...] = ()
    tasks: tuple[Task, ...] = ()
    rounds: tuple[Round, ...] = ()
    gates: tuple[Gate, ...] = ()
    steps: tuple[Step, ...] = ()
    facts: tuple[Fact, ...] = ()
    will_not_keep: tuple[WillNotKeep, ...] = ()
    extra_wettings_percent: float | None = None
    basis: str = ""  # written instant of the newest entry at all
    step_tasks: tuple[Task, ...] = ()  # steps asked for on a care day; a calendar draws the steps themselves
    warned: frozenset[str] = frozenset()  # codes of cautions that something done lately had
    _by_id: dict[str, Task] = field(default_factory=dict, compare=False, repr=False)
    _views: dict[int, PlantView] = field(default_factory=dict, compare=False, repr=False)
    _poured: dict[str, Task] = field(default_factory=dict, compare=False, repr=False)

    def __post_init__(self) -> None:
        """Index plants by number; tasks are indexed when one is first asked for."""
        self._views.update((view.number, view) for view in self.plants)

    def task(self, task_id: str) -> Task:
        """Return the task of that id; KeyError if the plan has none."""
        self._index()
        return self._by_id[task_id]

    def poured(self, task_id: str) -> Task:
        """Return the task of that id as the one can of its round makes it; KeyError if the plan has none."""
        self._index()
        return self._poured.get(task_id) or self._by_id[task_id]

    def _index(self) -> None:
        if not self._by_id:
            self._by_id.update((task.id, task) for task in self.tasks)
            self._poured.update((task.id, task) for found in self.rounds for task in found.other)

    def plant(self, number: int) -> PlantView:
        """Return the plant of that number; KeyError if the plan has none."""
        return self._views[number]
