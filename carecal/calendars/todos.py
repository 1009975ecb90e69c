"""The form `todos`: single to-dos, the next open one of each plant and care or the next round, and what was done.

A recurring to-do is handled differently by every program, so none is written. What was done within the last 60 days
stays as a completed to-do under the UID it had while open.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, time
from zoneinfo import ZoneInfo

from carecal.calendars import records, rounds
from carecal.calendars.content import Content, Part
from carecal.calendars.each import task_lines
from carecal.calendars.selection import Selection, newest
from carecal.calendars.uids import entry_key, round_key
from carecal.plan.model import Fact, PlantView, Task
from carecal.wording.tasks import done_summary, joined, name_of, task_summary

__all__ = ["each_parts", "round_parts"]

PRIORITY_USUAL, PRIORITY_ON_WATCH, PRIORITY_ROOTLESS = 5, 3, 1
"""PRIORITY of to-dos, 1 highest. Source: RFC 5545 3.8.1.9; rootless first: our choice, because it is weakest."""


def each_parts(selection: Selection) -> Iterator[Part]:
    """Yield the next open task of each plant and care, and the tasks that were done."""
    tasks = [t for t in selection.plan.tasks if selection.shows_task(t) and selection.shows_day(t.on)]
    seen: set[tuple[int, str, str]] = set()
    for task in sorted(tasks, key=lambda t: (t.on, t.due, t.plant, t.care, t.id)):
        if (key := (task.plant, task.care, task.aid or task.step)) not in seen:
            seen.add(key)
            yield _task_part(selection, task)
    open_ids = {task.id for task in tasks}
    answered = {fact.task or entry_key(fact.entry): fact for fact in records.shown_facts(selection)}
    for key_, fact in answered.items():
        if key_ not in open_ids:
            yield Part(key_, _done_content(selection, fact), fact.written)


def round_parts(selection: Selection) -> Iterator[Part]:
    """Yield the next round as one to-do, and the past days as completed ones."""
    shown = ((round_, rounds.shown_stops(selection, round_)) for round_ in selection.plan.rounds)
    round_, stops = next(((round_, stops) for round_, stops in shown if stops), (None, []))
    open_key = ""
    if round_ is not None:
        event = rounds.round_content(selection, round_, stops)
        open_key = round_key(round_.on)
        content = replace(event, kind="VTODO", start=None, due=round_.on, priority=PRIORITY_USUAL)
        yield Part(open_key, content, selection.basis_of(stop.view.number for stop in stops))
    for facts in records.by_day(records.shown_facts(selection)):
        if round_key(facts[0].on) != open_key:
            event = records.day_content(selection, facts)
            done = replace(
                event, kind="VTODO", start=None, due=facts[0].on, completed=_last(selection, facts)
            )
            yield Part(round_key(facts[0].on), done, newest(fact.written for fact in facts))


def _task_part(selection: Selection, task: Task) -> Part:
    """Return the to-do of one task; the earliest day is left out unless it lies before the due one."""
    view = selection.plan.plant(task.plant)
    content = Content(
        kind="VTODO",
        summary=task_summary(task, view, selection.title(task)),
        start=task.earliest if task.earliest < task.on else None,  # RFC 5545 3.8.2.3: DUE must be later
        due=task.on,
        description=joined(task_lines(selection, task, view)),
        at=selection.options.at,
        categories=(task.care.upper(),),
        plant=view.id,
        window=f"{task.earliest.isoformat()}/{task.latest.isoformat()}",
        url=selection.plant_url(view),
        alarm_minutes=selection.options.alarm_minutes,
        priority=_priority(view),
    )
    return Part(task.id, content, view.basis)


def _done_content(selection: Selection, fact: Fact) -> Content:
    """Return the completed to-do of one fact."""
    view = selection.plan.plant(fact.plant)
    return Content(
        kind="VTODO",
        summary=done_summary(fact.care, name_of(view)),
        start=None,
        due=fact.on,
        description=records.fact_line(selection, fact),
        categories=(*records.categories([fact]), "DONE"),
        plant=view.id,
        url=selection.plant_url(view),
        priority=_priority(view),
        completed=_completed(selection, fact),
    )


def _priority(view: PlantView) -> int:
    """Return the priority of a plant's to-dos, the most fragile first."""
    if view.stage == "rootless":
        return PRIORITY_ROOTLESS
    return PRIORITY_ON_WATCH if view.on_watch else PRIORITY_USUAL


def _last(selection: Selection, facts: Iterable[Fact]) -> datetime:
    """Return the instant at which the last of a day's facts was done."""
    return max(_completed(selection, fact) for fact in facts)


def _completed(selection: Selection, fact: Fact) -> datetime:
    """Return the instant of a fact in UTC, on the fact's day in the collection's zone.

    It is the written instant if that lies on the day, else noon there: one who writes in the evening what was done
    days ago has not done it that evening.
    """
    zone = ZoneInfo(selection.plan.timezone)
    written = datetime.fromisoformat(fact.written) if fact.written else None
    if written is not None and written.astimezone(zone).date() == fact.on:
        return written.astimezone(UTC).replace(microsecond=0)
    return datetime.combine(fact.on, time(12), zone).astimezone(UTC)
