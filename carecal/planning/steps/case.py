"""The frame of all steps: what a rule sees of a plant and what it answers; it knows no rule."""

from __future__ import annotations

from calendar import monthrange
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from carecal.planning.places.safe_starts import Limits, Starts, warm_starts
from carecal.planning.places.warmth import warm_night_c
from carecal.planning.rhythm.terms import profile_of
from carecal.planning.spans import Span, intersect
from carecal.wording.dates import day_month

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from carecal.catalog.tables import Profile
    from carecal.catalog.tables import Step as StepRow
    from carecal.collection.plants import PlantHistory, PlantState
    from carecal.plan.model import Reason
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.plant_planner import PlantPlanner

__all__ = [
    "Case",
    "Verdict",
    "Window",
    "held_since",
    "limits_for",
    "months_after",
    "short",
    "told",
]


def told(day: int) -> str:
    """Return a day as sentences name it: 28 August 2026."""
    return day_month(date.fromordinal(day))


def short(day: int) -> str:
    """Return a day as titles name it: 28 August."""
    return told(day).rsplit(" ", 1)[0]


def months_after(day: int, months: float) -> int:
    """Return the day so many calendar months later, the last of the month where it has no such day."""
    on = date.fromordinal(day)
    index = on.year * 12 + on.month - 1 + int(months)
    year, month = index // 12, index % 12 + 1
    return date(year, month, min(on.day, monthrange(year, month)[1])).toordinal()


def held_since(line: PlantHistory, day: int, holds: Callable[[PlantState], bool]) -> int | None:
    """Return the first day of the run up to a day on which a plant's state held something; None: it does not."""
    since = None
    for state in reversed(line.states):
        if state.day > day:
            continue
        if not holds(state):
            break
        since = state.day
    return since


def limits_for(row: StepRow, warm_c: float) -> Limits:
    """Return what a step asks of the medium, shifted from the kind its row is written for to another (models W1).

    Args:
        row: The step.
        warm_c: What the plant's kind is reckoned from, as `warm_night_c` says. [°C]
    """
    return Limits(row.medium_mean_c, row.medium_night_c, row.weeks_after).raised(warm_c - row.kind_night_c)


class Window(NamedTuple):
    """The safe starts of a step at a place, in words too; `firm` beats the limits by the margin in degrees."""

    starts: Starts
    firm: Starts | None
    limits: Limits
    what: str  # 'the medium in a plastic pot at the sill'
    follow: str = "warm weeks follow"


class Verdict(NamedTuple):
    """What a rule says of one step of one plant.

    Attributes:
        step: Name of the step, as in steps.toml.
        title: The deed: 'Repot Tide'.
        ready: First day on which its needs are met, also ahead; None: not to be told yet.
        wanted: Whether the grower is to be told without asking.
        because: Reasons of the need.
        window: Safe starts; None where the step asks for no warmth.
        last: Last safe start where no window tells it.
        blocked: Why it never may be done now; '' for nothing.
        unknown: What has to be told first; '' for nothing.
        urgent: Why it is done now whatever the season; None for no emergency.
        ready_then: Whether the needs were met on an earlier day, to tell a missed start from one to come.
        bridges: Whether a start that passed just waits for the next one, as old medium does over the dark months.
    """

    step: str
    title: str
    ready: int | None
    wanted: bool = True
    because: tuple[Reason, ...] = ()
    window: Window | None = None
    last: int | None = None
    blocked: str = ""
    unknown: str = ""
    urgent: Reason | None = None
    ready_then: Callable[[int], bool] = lambda _: False
    bridges: bool = False


class Case:
    """One plant on the plan's day, as the rules of steps see it.

    Args:
        plant_planner: The plant.
        kin: Lines of the collection by number, for mothers and keikis; others are not needed.
    """

    def __init__(self, plant_planner: PlantPlanner, kin: Mapping[int, PlantHistory]) -> None:
        self.plant_planner, self.kin = plant_planner, kin
        self.line: PlantHistory = plant_planner.line
        self.context: PlanContext = plant_planner.context
        self.day = plant_planner.context.as_of
        self.state: PlantState = plant_planner.line.state_at(self.day)
        self.name = plant_planner.line.name

    @cached_property
    def profile(self) -> Profile:
        """The culture the plant follows."""
        return profile_of(self.state, self.context.catalog)

    @cached_property
    def keikis(self) -> list[PlantHistory]:
        """Plants that still sit on this one."""
        lines = self.context.nestlings(self.kin).get(self.line.number, ())
        return [line for line in lines if line.state_at(self.day).mother == self.line.number]

    @property
    def place(self) -> str | None:
        """Where the plant stands, a keiki with its mother."""
        mother = self.kin.get(self.state.mother or 0)
        return self.state.place or (mother.state_at(self.day).place if mother is not None else None)

    def row(self, step: str) -> StepRow:
        """Return a step's row of steps.toml."""
        return self.context.catalog.steps[step]

    def side(self, key: str) -> str:
        """Return the side taken in a conflict of the trade."""
        return self.context.side(key, self.state, self.line.number)

    def since(self, holds: Callable[[PlantState], bool]) -> int | None:
        """Return since when the plant's state holds something, None where it does not today."""
        return held_since(self.line, self.day, holds)

    def limits(self, step: str) -> Limits:
        """Return what a step asks of the medium, shifted by the kind (models W1)."""
        warm_c = warm_night_c(self.profile, self.state, self.context, self.line.number)
        return limits_for(self.row(step), warm_c)

    def window(
        self, step: str, container: str, *, place: str | None = None, within: Sequence[Span] | None = None
    ) -> Window | None:
        """Return the safe starts of a step in the container it goes into; None without a climate.

        Args:
            step: Name of the step.
            container: What the plant goes into.
            place: Where it stands afterwards; None: where it stands.
            within: Days to which starts are limited besides; None: no other limit.
        """
        where = place or self.place
        if where is None or where not in self.context.facts.places:
            return None
        limits = self.limits(step)
        starts = warm_starts(self.context, where, container, limits, self.day)
        if starts is None:
            return None
        firm = warm_starts(
            self.context, where, container, limits.raised(self.row(step).ok_margin_c), self.day
        )
        if within is not None:
            starts = Starts(tuple(intersect(starts.spans, within)), starts.first, starts.last)
        name = self.context.facts.places[where].spec_at(self.day).name
        pot = f"a {container}" if container in {"bag", "mount"} else f"a {container} pot"
        return Window(starts, firm, limits, f"the medium in {pot} at {name}")
