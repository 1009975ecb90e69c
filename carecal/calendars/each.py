"""The grouping `each`: a rule for each rhythm, an event for what stands alone. It reads the plan's series as they are.

Only the subset of RFC 5545 that all readers agree on is used: DAILY rules with INTERVAL and COUNT, and EXDATE; never
RECURRENCE-ID or RDATE, and no UNTIL, at which some readers leave the last day out. A moved, done or special occurrence
is left out of the rule and stands by itself.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from carecal.calendars.content import Content, Part
from carecal.calendars.selection import Selection, newest
from carecal.plan.model import PlantView, Series, Task
from carecal.wording.tasks import (
    OPEN_AND_LOOK,
    asked_of,
    joined,
    sentence,
    task_summary,
    window_line,
)

__all__ = ["Rule", "parts", "rule_of", "task_lines", "task_part"]

DEFAULT_MINUTES = 5
"""Length of a timed event whose care has no usual time. [min] Source: our choice, because it is the shortest drawn."""


@dataclass(frozen=True, slots=True)
class Rule:
    """The days of a rule within a span, its first and last one really held.

    Args:
        first: First day.
        every_days: Interval; None when one day is left. [days]
        until: Last day; None when one day is left.
        skip: Days left out, sorted, all of them between first and last.
    """

    first: date
    every_days: int | None
    until: date | None
    skip: tuple[date, ...]

    def days(self) -> Iterator[date]:
        """Yield the days in order."""
        day, skipped = self.first, set(self.skip)
        while self.until is not None and self.every_days is not None and day <= self.until:
            if day not in skipped:
                yield day
            day += timedelta(days=self.every_days)
        if self.until is None:
            yield self.first


def rule_of(series: Series, start: date, until: date) -> Rule | None:
    """Return the days of a series from start to until, both included; None when none is left.

    A skipped first day moves the start on and a skipped last day ends the rule sooner, so EXDATE never names either
    (RFC 5545 3.8.5.1). Days off the rule are not named.

    Raises:
        ValueError: The interval is less than a day.
    """
    every, skipped = series.every_days, set(series.skip)
    if every < 1:
        raise ValueError(f"a series every {every} days")
    behind = max(0, -((series.first - start).days // every))
    first = series.first + timedelta(days=behind * every)
    count = (min(series.until, until) - first).days // every + 1
    grid = [first + timedelta(days=i * every) for i in range(count)]
    held = [day for day in grid if day not in skipped]
    if not held:
        return None
    if len(held) == 1:
        return Rule(held[0], None, None, ())
    return Rule(held[0], every, held[-1], tuple(d for d in grid if d in skipped and held[0] < d < held[-1]))


def parts(selection: Selection) -> Iterator[Part]:
    """Yield the rules, and each unanswered task that no rule stands for."""
    ruled: set[str] = set()
    drawn: set[tuple[int, str, str, date]] = set()
    for series in selection.plan.series:
        if not selection.shows(series.plant, series.care):
            continue
        rule = rule_of(series, selection.plan.as_of, selection.until)
        ruled.update(series.tasks)
        if rule is None:
            continue
        if not series.tasks:
            drawn.update((series.plant, series.care, series.aid, day) for day in rule.days())
        yield _series_part(selection, series, rule)
    for task in selection.plan.tasks:
        if task.id in ruled or not selection.shows_task(task) or not selection.shows_day(task.on):
            continue
        if (task.plant, task.care, task.aid, task.on) not in drawn:
            yield task_part(selection, task)


def _series_part(selection: Selection, series: Series, rule: Rule) -> Part:
    """Return the component of one rule."""
    view = selection.plan.plant(series.plant)
    tasks = [selection.plan.task(task) for task in series.tasks]
    cautions = [code for task in tasks for code in task.cautions]
    rhythm = f"Every {series.every_days} days." if rule.every_days and not series.because else ""
    reasons = [sentence(reason) for reason in series.because]
    lines = [
        rhythm,
        *reasons,
        *selection.pot_lines(view),
        sentence(series.window),
        *selection.caution_lines(cautions),
    ]
    content = Content(
        kind="VEVENT",
        summary=task_summary(_as_task(series), view),
        start=rule.first,
        description=joined(lines),
        every_days=rule.every_days,
        until=rule.until,
        skip=rule.skip,
        at=selection.options.at,
        minutes=max((task.minutes for task in tasks), default=0) or DEFAULT_MINUTES,
        categories=(series.care.upper(),),
        plant=view.id,
        url=selection.plant_url(view),
        alarm_minutes=selection.options.alarm_minutes,
    )
    return Part(series.key, content, newest((series.basis, view.basis)))


def task_part(selection: Selection, task: Task) -> Part:
    """Return the event of a task that stands alone."""
    view = selection.plan.plant(task.plant)
    content = Content(
        kind="VEVENT",
        summary=task_summary(task, view, selection.title(task)),
        start=task.on,
        description=joined(task_lines(selection, task, view)),
        at=selection.options.at if task.care != "step" else None,
        minutes=task.minutes or DEFAULT_MINUTES,
        categories=(task.care.upper(),),
        plant=view.id,
        window=f"{task.earliest.isoformat()}/{task.latest.isoformat()}",
        url=selection.plant_url(view),
        alarm_minutes=selection.options.alarm_minutes,
    )
    return Part(task.id, content, view.basis)


def task_lines(selection: Selection, task: Task, view: PlantView) -> list[str]:
    """Return the lines under one task: question, reason, pot, marks, window, cautions."""
    return [
        sentence(asked_of(task) or selection.minded(task, view.stage)) if task.asks != OPEN_AND_LOOK else "",
        sentence(task.because),
        *selection.pot_lines(view),
        window_line(task),
        *selection.caution_lines(task.cautions),
    ]


def _as_task(series: Series) -> Task:
    """Return a task that words the whole series."""
    first = series.first
    return Task(
        series.key,
        series.plant,
        series.care,
        series.technique,
        0,
        first,
        first,
        first,
        first,
        "planned",
        aid=series.aid,
        certain=series.certain,
    )
