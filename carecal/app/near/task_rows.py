"""The tasks of a plant as rows of rounds: stops, lines, what they ask of the can; it puts no round together."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from carecal.planning.rounds.gathering import mix_of, stop_of
from carecal.planning.stops import Feed
from carecal.planning.tasks import as_the_can, asked_of, given_on
from carecal.wording.dates import day_text
from carecal.wording.tasks import asked_of as asked_for
from carecal.wording.tasks import done_word, plant_marks, task_head, task_line, verb

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.catalog.tables import Catalog
    from carecal.plan.model import PlantView, Task
    from carecal.planning.planner import Planner
    from carecal.planning.plant_planner import PlantPlanner
    from carecal.planning.rounds.one_can import Asked

__all__ = ["asked_by", "carried_row", "mix_rows", "task_rows"]


def asked_by(shown: list[Task], plant_planner: PlantPlanner) -> Iterator[Asked]:
    """Yield what the plant's wettings ask of the can of their day, those answered on the plan's day included."""
    yield from given_on(plant_planner, plant_planner.context.as_of)
    yield from (each for each in map(asked_of, shown) if each is not None)


def task_rows(shown: list[Task], view: PlantView, planner: Planner) -> Iterator[list[Any]]:
    """Yield each task as it is put into a round, and as what it may become there: plain water, or a feed."""
    for task in shown:
        of_day = [other for other in shown if other.on == task.on]
        other = None
        if task.instead is not None:
            instead = task.instead if task.ppm_n is None else as_the_can(task, None)
            words = task_line(instead, view), instead.care, task_head(instead, view)
            other = [*_task(instead, of_day, view, planner), *words]
        yield [*_task(task, of_day, view, planner), other]


def _task(task: Task, of_day: list[Task], view: PlantView, planner: Planner) -> list[Any]:
    """Return a task as its stop in a round, and its line where it has one of its own."""
    stop = stop_of(task, view, planner.context, {other.id: other for other in of_day})
    line = _line(task, view, of_day, planner.context.catalog) if _stands_alone(task, of_day) else None
    return [list(stop), line]


def mix_rows(asked: list[Asked], planner: Planner) -> dict[str, list[Any]]:
    """Return grams a litre, fertiliser and conductivity of each strength that is asked for."""
    found = {}
    for ppm in sorted({ppm for each in asked for ppm in (each.ppm_n, each.could_ppm_n) if ppm is not None}):
        mixed = mix_of(Feed(is_apart=False, ppm_n=ppm, litres=0.0, tasks=()), planner.context)
        found[f"{ppm:g}"] = [mixed.g_per_l, mixed.fertiliser, mixed.ec_ms_cm]
    return found


def _stands_alone(task: Task, of_day: list[Task]) -> bool:
    """Return whether a task has a line of its own: overdue ones are carried over, joined looks ride along."""
    if task.status == "overdue":
        return False
    return all(other.id != task.joined_to or other.status == "overdue" for other in of_day)


def _line(task: Task, view: PlantView, of_day: list[Task], catalog: Catalog) -> dict[str, Any]:
    joined = [other for other in of_day if other.joined_to == task.id]
    minded = catalog.stage_looks[view.stage].look_for if view.stage else ""
    text = task_line(task, view)
    own = minded if task.care == "inspection" and not task.asks else ""
    if own:
        text += f" ({own})"
    asks = [other.asks or minded for other in joined if other.asks or minded]
    if joined:
        text += "; look over" + (f" ({'; '.join(asks)})" if asks else "")
    return {
        "task": task.id,
        "plant": view.id,
        "name": view.name,
        "place": view.place,
        "verb": verb(task),
        "care": task.care,
        "technique": task.technique,
        "text": text,
        "head": ", ".join([task_head(task, view), *(["look over"] if joined else [])]),
        "asks": "; ".join(part for part in (asked_for(task) or own, *asks) if part),
        "status": task.status,
        "due": task.due.isoformat(),
        "latest": task.latest.isoformat(),
        "ppm_n": task.ppm_n,
        "litres": task.litres,
        "joined": [other.id for other in joined],
        "marks": marks_of(view),
        "tips": view.tips,
        "last_done": view.last_done.isoformat() if view.last_done else None,
        "last_done_text": f"{done_word(view.last_care)} {day_text(view.last_done)}" if view.last_done else "",
        "ask_felt": task.ask_felt,
    }


def carried_row(overdue: list[Task], view: PlantView) -> dict[str, Any] | None:
    """Return the plant's overdue tasks on one line."""
    if not overdue:
        return None
    tasks = sorted(overdue, key=lambda task: (task.due, task.care))
    return {
        "plant": view.id,
        "name": view.name,
        "place": view.place,
        "tasks": [task.id for task in tasks],
        "cares": [task.care for task in tasks],
        "texts": [task_line(task, view) for task in tasks],
        "heads": [task_head(task, view) for task in tasks],
        "asks": "; ".join(asked_for(task) for task in tasks if asked_for(task)),
        "due": tasks[0].due.isoformat(),
        "marks": marks_of(view),
    }


def marks_of(view: PlantView) -> list[str]:
    marks = list(plant_marks(view))
    return [*marks, f"{view.tips} tip{'s' if view.tips != 1 else ''}"] if view.tips else marks
