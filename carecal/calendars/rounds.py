"""The grouping `rounds`: one event a care day, with the can and the plants in order. It gathers nothing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from operator import attrgetter

from carecal.calendars.content import Content, Part
from carecal.calendars.made import Stop
from carecal.calendars.selection import Selection
from carecal.calendars.uids import round_key
from carecal.plan.model import Can, PlantView, Round, Task
from carecal.wording.clean import clean_line
from carecal.wording.tasks import (
    EMPTY_ON_PURPOSE,
    can_line,
    joined,
    name_of,
    plant_marks,
    poured,
    round_summary,
    special_lines,
    task_line,
    task_summary,
)

__all__ = ["parts", "round_content", "shown_stops"]

_said_of = attrgetter(
    "care", "certain", "technique", "ppm_n", "aid", "litres", "feed_waits", "asks", "step"
)  # all that a line tells of a task that is planned


def parts(selection: Selection) -> Iterator[Part]:
    """Yield one event for each round that shows anything; one that is the very round of before needs no words."""
    for round_ in selection.plan.rounds:
        found = selection.made.round_part(round_, partial(_part, selection))
        if found is not None:
            part, plants = found
            yield replace(part, basis=selection.basis_of(plants))


def _part(selection: Selection, round_: Round) -> tuple[Part, tuple[int, ...]] | None:
    """Return the event of a round and the plants that it rests on."""
    stops = shown_stops(selection, round_)
    if not stops:
        return None
    content = round_content(selection, round_, stops)
    part = Part(round_key(round_.on), content, digest=content.digest(selection.plan.timezone))
    return part, tuple(stop.view.number for stop in stops)


def shown_stops(selection: Selection, round_: Round) -> list[Stop]:
    """Return the plants of a round of which something is shown, in order; none before as_of or beyond the last day."""
    if not selection.shows_day(round_.on):
        return []
    return [stop for stop in selection.made.round_stops(round_, partial(_stop, selection)) if stop.tasks]


def _stop(selection: Selection, of: tuple[Task, ...]) -> Stop:
    tasks, view = selection.shown_tasks(of), selection.plan.plant(of[0].plant)
    line = _plant_line(selection, tasks, view) if tasks else ""
    return Stop(of, tasks, view, line, any(task.status == "overdue" for task in tasks))


def round_content(selection: Selection, round_: Round, stops: Sequence[Stop]) -> Content:
    """Return the event of one round, or of what the options leave of it."""
    tasks = [task for stop in stops for task in stop.tasks]
    whole = len(tasks) == len(round_.tasks)
    if not whole or any(stop.is_late for stop in stops):
        places = {name: place for place, name in enumerate(round_.tasks)}
        tasks.sort(key=lambda task: places[task.id])
    only = stops[0].view if len(stops) == 1 else None
    return Content(
        kind="VEVENT",
        summary=_summary(selection, tasks, only),
        start=round_.on,
        description=_description(selection, round_, stops, tasks, whole),
        at=selection.options.at,
        minutes=_minutes(round_, tasks, whole),
        categories=tuple(sorted({task.care.upper() for task in tasks})),
        plant=only.id if only else "",
        url=selection.round_url(),
        alarm_minutes=selection.options.alarm_minutes,
    )


def _minutes(round_: Round, tasks: Sequence[Task], whole: bool) -> int:
    """Return the length of a round: the sum over its cares, at least five minutes, in minutes."""
    return max(5, (whole and round_.minutes) or sum(task.minutes for task in tasks))


def _summary(selection: Selection, tasks: Sequence[Task], only: PlantView | None) -> str:
    """Return the one line of a round: the task, the plant with its tasks, or counts."""
    if only is None:
        return round_summary(tasks)
    if len(tasks) == 1:
        return task_summary(tasks[0], only, selection.title(tasks[0]))
    empty = [EMPTY_ON_PURPOSE] if only.reservoir == "empty" else []
    brief = [replace(task, asks="", status="planned") for task in tasks]  # asked and dated below
    return f"{name_of(only)}: " + "; ".join(_doing(selection, brief) + empty)


def _description(
    selection: Selection, round_: Round, stops: Sequence[Stop], tasks: Sequence[Task], whole: bool
) -> str:
    """Return what is special, the can, the plants in walking order, one line each, and the cautions that are new."""
    codes = round_.cautions if whole else [code for task in tasks for code in task.cautions]
    can = round_.can if whole else _can_of(round_.can, tasks)
    special = special_lines(
        tasks if any(stop.is_late for stop in stops) else (),
        {stop.view.number: stop.view for stop in stops},
    )
    lines = [*special, can_line(can), *(stop.line for stop in stops)]
    return joined([*lines, *selection.caution_lines(selection.unsaid(round_.on, codes))])


def _plant_line(selection: Selection, tasks: Sequence[Task], view: PlantView) -> str:
    """Return one plant's line, as 'Tide (east sill): water – drench, 0.3 L; look over'; many days say the same."""
    if any(task.status != "planned" for task in tasks):
        return _worded(selection, tasks, view)
    lines, key = selection.made.lines(view), tuple(map(_said_of, tasks))
    line = lines.get(key)
    if line is None:
        line = lines[key] = _worded(selection, tasks, view)
    return line


def _worded(selection: Selection, tasks: Sequence[Task], view: PlantView) -> str:
    doing = [
        ", ".join(part for part in (text, poured(each.litres)) if part)
        for each, text in zip(tasks, _doing(selection, tasks), strict=True)
    ]
    place = f" ({clean_line(view.place).replace('-', ' ')})" if view.place else ""
    return f"{name_of(view)}{place}: " + "; ".join(part for part in [*doing, *plant_marks(view)] if part)


def _doing(selection: Selection, tasks: Sequence[Task]) -> list[str]:
    """Return what is done to one plant, a phrase a task."""
    view = selection.plan.plant(tasks[0].plant)
    minded = [selection.minded(task, view.stage) for task in tasks]
    lines = [task_line(task, view, selection.title(task)) for task in tasks]
    return [f"{line} ({look})" if look else line for line, look in zip(lines, minded, strict=True)]


def _can_of(can: Can, tasks: Sequence[Task]) -> Can:
    """Return the can for some of a round's tasks."""
    ids = {task.id for task in tasks}
    feeds = []
    for mix in can.feeds:
        served = [task for task in tasks if task.id in mix.tasks]
        if served:
            litres = sum(task.litres or 0.0 for task in served)
            feeds.append(replace(mix, litres=litres, tasks=tuple(t for t in mix.tasks if t in ids)))
    fed = {task for mix in can.feeds for task in mix.tasks}
    return Can(sum(task.litres or 0.0 for task in tasks if task.id not in fed), tuple(feeds))
