"""The grouping `rounds`: one event a care day, with the can and the plants in order. It gathers nothing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from operator import attrgetter

from carecal.calendars.content import Content, Part
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

__all__ = ["parts", "round_content", "shown_rounds"]

_said_of = attrgetter(
    "care", "certain", "technique", "ppm_n", "aid", "litres", "feed_waits", "asks", "step"
)  # all that a line tells of a task that is planned


def parts(selection: Selection) -> Iterator[Part]:
    """Yield one event for each round that shows anything; one that is the very round of before needs no words."""
    for round_ in selection.plan.rounds:
        before = selection.made.rounds.get(round_.on)
        if before is None or before[0] is not round_:
            before = selection.made.rounds[round_.on] = round_, _part(selection, round_)
        if before[1] is not None:
            yield before[1]


def _part(selection: Selection, round_: Round) -> Part | None:
    tasks = selection.shown_tasks(round_) if selection.shows_day(round_.on) else []
    if not tasks:
        return None
    content = round_content(selection, round_, tasks)
    basis = selection.basis_of({task.plant for task in tasks})
    return Part(round_key(round_.on), content, basis, content.digest(selection.plan.timezone))


def shown_rounds(selection: Selection) -> Iterator[tuple[Round, list[Task]]]:
    """Yield the rounds from as_of on with the unanswered tasks that are shown of each, in order."""
    for round_ in selection.plan.rounds:
        if not selection.shows_day(round_.on):
            continue
        tasks = selection.shown_tasks(round_)
        if tasks:
            yield round_, tasks


def round_content(selection: Selection, round_: Round, tasks: Sequence[Task]) -> Content:
    """Return the event of one round, or of what the options leave of it."""
    whole = len(tasks) == len(round_.tasks)
    plants = {task.plant for task in tasks}
    only = selection.plan.plant(tasks[0].plant) if len(plants) == 1 else None
    return Content(
        kind="VEVENT",
        summary=_summary(selection, tasks),
        start=round_.on,
        description=_description(selection, round_, tasks),
        at=selection.options.at,
        minutes=_minutes(round_, tasks, whole),
        categories=tuple(sorted(care.upper() for care in {task.care for task in tasks})),
        plant=only.id if only else "",
        url=selection.round_url(),
        alarm_minutes=selection.options.alarm_minutes,
    )


def _minutes(round_: Round, tasks: Sequence[Task], whole: bool) -> int:
    """Return the length of a round: the sum over its cares, at least five minutes, in minutes."""
    summed = sum(task.minutes for task in tasks)
    return max(5, round_.minutes if whole and round_.minutes else summed)


def _summary(selection: Selection, tasks: Sequence[Task]) -> str:
    """Return the one line of a round: the task, the plant with its tasks, or counts."""
    view = selection.plan.plant(tasks[0].plant)
    if len(tasks) == 1:
        return task_summary(tasks[0], view, selection.title(tasks[0]))
    if len({task.plant for task in tasks}) == 1:
        empty = [EMPTY_ON_PURPOSE] if view.reservoir == "empty" else []
        brief = [replace(task, asks="", status="planned") for task in tasks]  # asked and dated below
        return f"{name_of(view)}: " + "; ".join(_doing(selection, brief) + empty)
    return round_summary(tasks)


def _description(selection: Selection, round_: Round, tasks: Sequence[Task]) -> str:
    """Return what is special, the can, the plants in walking order, one line each, and the cautions that are new."""
    by_plant: defaultdict[int, list[Task]] = defaultdict(list)
    for task in tasks:
        by_plant[task.plant].append(task)
    whole = len(tasks) == len(round_.tasks)
    codes = dict.fromkeys(round_.cautions if whole else ())
    for cautions in dict.fromkeys(task.cautions for task in tasks):
        codes |= dict.fromkeys(cautions)
    can = round_.can if whole else _can_of(round_.can, tasks)
    special = special_lines(tasks, {number: selection.plan.plant(number) for number in by_plant})
    lines = [*special, can_line(can), *(_plant_line(selection, group) for group in by_plant.values())]
    return joined([*lines, *selection.caution_lines(selection.unsaid(round_.on, codes))])


def _plant_line(selection: Selection, tasks: Sequence[Task]) -> str:
    """Return one plant's line, as 'Tide (east sill): water – drench, 0.3 L; look over'; many days say the same."""
    view = selection.plan.plant(tasks[0].plant)
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
