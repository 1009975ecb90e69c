"""What of a plan a calendar shows: span, plants, cares, and what all its components share. It words nothing."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from urllib.parse import quote

from carecal.calendars.made import MadeParts
from carecal.calendars.options import CalendarOptions
from carecal.plan.model import Plan, PlantView, Step, Task
from carecal.wording.cautions import WARNED_DAYS
from carecal.wording.tasks import plant_marks, pot_line, sentence

__all__ = ["PAST_DAYS", "UNANSWERED", "Selection", "newest"]

PAST_DAYS = 60
"""So far back a calendar shows what was done. [days] Source: our choice, because two months show a rhythm."""

UNANSWERED = frozenset({"planned", "open", "overdue"})
"""Status of the tasks a calendar shows."""


@dataclass(frozen=True, slots=True)
class Selection:
    """A plan seen through the options of one calendar.

    Args:
        plan: The plan, of the options' grouping.
        options: What is shown.
        public_url: Address of the page without a slash at the end; empty writes no links.
        cautions: Text of each caution by its code.
        look_for: What to look for at a plant, by its stage.
        made: What was written of days already.

    Raises:
        ValueError: The plan is of another grouping than the options.
    """

    plan: Plan
    options: CalendarOptions
    public_url: str = ""
    cautions: Mapping[str, str] = field(default_factory=dict)
    look_for: Mapping[str, str] = field(default_factory=dict)
    _titles: dict[tuple[int, str], str] = field(default_factory=dict, repr=False)
    _asked: dict[tuple[int, str], list[Task]] = field(default_factory=dict, repr=False)
    _bases: dict[int, str] = field(default_factory=dict, repr=False)
    _pots: dict[int, tuple[str, str]] = field(default_factory=dict, repr=False)
    made: MadeParts = field(default_factory=MadeParts, repr=False)

    def __post_init__(self) -> None:
        """Index the titles of steps and what plants rest on; let go of what no longer holds."""
        if self.plan.grouping != self.options.grouping:
            raise ValueError(f"a plan of {self.plan.grouping} cannot show {self.options.grouping}")
        self._titles.update(((step.plant, step.step), step.title) for step in self.plan.steps)
        self._bases.update((view.number, view.basis) for view in self.plan.plants)
        self.made.warn(self.plan.warned)

    @property
    def since(self) -> date:
        """First day of the past that is shown."""
        return self.plan.as_of - timedelta(days=PAST_DAYS)

    @property
    def until(self) -> date:
        """Last day shown: the plan's, or the end of the month that holds the last day asked for."""
        if self.options.days is None:
            return self.plan.until
        last = self.plan.as_of + timedelta(days=self.options.days - 1)
        return min(self.plan.until, last.replace(day=monthrange(last.year, last.month)[1]))

    def shows_day(self, day: date) -> bool:
        """True for a day from as_of to the last day shown."""
        return self.plan.as_of <= day <= self.until

    def knows(self, plant: int) -> bool:
        """True if the plan holds a plant of this number."""
        return plant in self._bases

    def shows(self, plant: int, care: str) -> bool:
        """True if the options let this plant and this care through."""
        options = self.options
        return not options.is_filtered or (
            (options.plant is None or options.plant == plant)
            and (options.care is None or options.care == care)
            and (options.place is None or options.place == self.plan.plant(plant).place)
        )

    def shows_task(self, task: Task) -> bool:
        """True for an unanswered task that the options let through."""
        return task.status in UNANSWERED and self.shows(task.plant, task.care)

    def shown_tasks(self, tasks: Iterable[Task]) -> tuple[Task, ...]:
        """Return the tasks that are shown, in order."""
        return tuple(task for task in tasks if self.shows_task(task))

    def title(self, task: Task) -> str:
        """Return the sentence of a step's task; empty for any other."""
        return self._titles.get((task.plant, task.step), "") if task.step else ""

    def pot_lines(self, view: PlantView) -> tuple[str, str]:
        """Return what a plant stands in, and what must be seen of it: the same under each of its tasks."""
        lines = self._pots.get(view.number)
        if lines is None:
            lines = self._pots[view.number] = pot_line(view), sentence("; ".join(plant_marks(view)))
        return lines

    def plant_url(self, view: PlantView) -> str:
        """Return the address of the plant's page, or nothing."""
        return f"{self.public_url}/plants/{quote(view.id, safe='')}" if self.public_url else ""

    def round_url(self) -> str:
        """Return the address of the round's page, or nothing."""
        return f"{self.public_url}/" if self.public_url else ""

    def minded(self, task: Task, stage: str | None) -> str:
        """Return what to look for at a look that asks nothing else, '' for other tasks."""
        is_plain = (
            task.care == "inspection" and not task.asks and task.status in {"planned", "open", "overdue"}
        )
        return self.look_for.get(stage or "", "") if is_plain else ""

    def caution_lines(self, codes: Iterable[str]) -> list[str]:
        """Return the texts of cautions, each once, in the order given; a code without a text in its own words."""
        return [self.cautions.get(code, code.replace("-", " ")) for code in dict.fromkeys(codes)]

    def unsaid(self, on: date, codes: Iterable[str]) -> list[str]:
        """Return the cautions that a round says: all of them in a month's first week, else those that are new.

        New is what nothing that was done lately had: the care of the plant tells what it has. So a text stays where it
        is while nothing is entered, and moves with no day that passes.
        """
        if on.day <= WARNED_DAYS:
            return list(dict.fromkeys(codes))
        return [code for code in dict.fromkeys(codes) if code not in self.plan.warned]

    def asked_from(self, step: Step) -> date | None:
        """Return the first day on which a step's task is asked for: not before its plant was entered; None without."""
        return min((task.due for task in self._tasks_of(step)), default=None)

    def step_caution_lines(self, step: Step) -> list[str]:
        """Return the texts of the cautions of a step's tasks, each once."""
        return self.caution_lines(code for task in self._tasks_of(step) for code in task.cautions)

    def _tasks_of(self, step: Step) -> list[Task]:
        if not self._asked and self.plan.step_tasks:
            for task in self.plan.step_tasks:
                self._asked.setdefault((task.plant, task.step), []).append(task)
        return self._asked.get((step.plant, step.step), [])

    def basis_of(self, plants: Iterable[int]) -> str:
        """Return the written instant of the newest entry of these plants."""
        return max(map(self._bases.__getitem__, plants), default="")


def newest(instants: Iterable[str]) -> str:
    """Return the latest of ISO instants in UTC; empty ones do not count."""
    return max(instants, default="")
