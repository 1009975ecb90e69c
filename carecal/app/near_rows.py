"""What the round of a day takes from each plant, as plain values that can be kept; it puts no round together."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from carecal.calendars.text import day_text, plant_mark, task_line, verb
from carecal.planning.planner import PAST_DAYS
from carecal.planning.rounds import mix_of, stop_of
from carecal.planning.steps import steps_of
from carecal.planning.steps_tasks import step_tasks
from carecal.planning.stops import Feed
from carecal.planning.tasks import ahead
from carecal.planning.tonight import night_row, order_of, tonight
from carecal.planning.views import facts_of
from carecal.planning.words import change_text, reasons_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.planning.desk import Desk
    from carecal.planning.model import PlantView, Step, Task
    from carecal.planning.planner import Planner

__all__ = ["collection_row", "plant_row"]

ASKED_FOR = frozenset({"planned", "open", "overdue"})


def collection_row(planner: Planner) -> dict[str, Any]:
    """Return what the round of a day tells of the collection as a whole."""
    facts = planner.timeline.facts
    return {
        "collection": {"id": planner.collection_id, "name": facts.name, "timezone": facts.timezone},
        "units": facts.setting("units", "metric"),
    }


def plant_row(planner: Planner, desk: Desk, last: date, until: date) -> dict[str, Any] | None:
    """Return what one plant gives to the round of the plan's day and of the days after it.

    Args:
        planner: The planner on the plan's day.
        desk: The plant.
        last: Last day that is shown.
        until: Last day planned, for the day of the next round.

    Returns:
        None where nothing of the plant is to be told.
    """
    line, scene = desk.line, planner.scene
    if line.retired is not None and not facts_of(line, desk, scene.as_of - PAST_DAYS):
        return None
    view = planner.view(desk)
    row: dict[str, Any] = {"name": view.name, "moments": [], "rhythms": [], "gates": list(_gates(desk))}
    if line.retired is not None:
        return row
    tasks = [t for t in ahead(desk, "rounds", until.toordinal()) if t.on <= until and t.status in ASKED_FOR]
    shown = [t for t in tasks if t.on <= last]
    following = min((t.on for t in tasks if t.on > last), default=None)
    cautions = {code: scene.catalog.cautions[code].text for t in shown for code in t.cautions}
    moments, rhythms = _changes(planner, desk)
    return row | {
        "cold": _cold(desk),
        "tasks": list(_tasks(shown, view, planner)),
        "cautions": {str(scene.caution_ranks[code]): [code, text] for code, text in cautions.items()},
        "next": following.isoformat() if following is not None else None,
        "steps": list(_steps(planner, desk, view, last, until)),
        "carried": _carried([t for t in tasks if t.status == "overdue"], view),
        "asks": list(_announced(desk)),
        "moments": moments,
        "rhythms": rhythms,
    }


def _tasks(shown: list[Task], view: PlantView, planner: Planner) -> Iterator[list[Any]]:
    """Yield each task as its stop in a round, its line where it has one of its own, and its feed's mix."""
    scene = planner.scene
    for task in shown:
        of_day = [other for other in shown if other.on == task.on]
        stop = stop_of(task, view, scene, {other.id: other for other in of_day})
        line = _line(task, view, of_day) if _stands_alone(task, of_day) else None
        mix = None
        if stop.ppm_n is not None:
            mixed = mix_of(Feed(stop.is_apart, stop.ppm_n, stop.litres, (task.id,)), scene)
            mix = [mixed.g_per_l, mixed.fertiliser, mixed.ec_ms_cm]
        yield [list(stop), line, mix]


def _stands_alone(task: Task, of_day: list[Task]) -> bool:
    """Return whether a task has a line of its own: overdue ones are carried over, joined looks ride along."""
    if task.status == "overdue":
        return False
    return all(other.id != task.joined_to or other.status == "overdue" for other in of_day)


def _line(task: Task, view: PlantView, of_day: list[Task]) -> dict[str, Any]:
    joined = [other for other in of_day if other.joined_to == task.id]
    text = task_line(task, view)
    asks = [other.asks for other in joined if other.asks]
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
        "status": task.status,
        "due": task.due.isoformat(),
        "latest": task.latest.isoformat(),
        "ppm_n": task.ppm_n,
        "litres": task.litres,
        "joined": [other.id for other in joined],
        "marks": _marks(view),
        "tips": view.tips,
        "last_done": view.last_done.isoformat() if view.last_done else None,
        "last_done_text": day_text(view.last_done) if view.last_done else "",
        "ask_felt": task.ask_felt,
    }


def _steps(
    planner: Planner, desk: Desk, view: PlantView, last: date, until: date
) -> Iterator[dict[str, Any]]:
    """Yield the steps that are asked for until a day: sentence, why, and cautions."""
    steps = steps_of(desk, planner.timeline.plants)
    for task in step_tasks(desk, steps):
        if task.on <= min(last, until):
            yield _step(task, view, steps, planner)


def _step(task: Task, view: PlantView, steps: list[Step], planner: Planner) -> dict[str, Any]:
    step = next((s for s in steps if s.step == task.step), None)
    return {
        "task": task.id,
        "plant": view.id,
        "name": view.name,
        "place": view.place,
        "step": task.step,
        "on": task.on.isoformat(),
        "status": task.status,
        "text": step.title if step is not None and step.title else task.step.replace("-", " "),
        "because": [reason.text for reason in step.because] if step is not None else [],
        "last_safe": step.last_safe.isoformat() if step is not None and step.last_safe else None,
        "cautions": [planner.catalog.cautions[code].text for code in task.cautions],
    }


def _marks(view: PlantView) -> list[str]:
    marks = [mark for mark in plant_mark(view).split("; ") if mark]
    return [*marks, f"{view.tips} tip{'s' if view.tips != 1 else ''}"] if view.tips else marks


def _carried(overdue: list[Task], view: PlantView) -> dict[str, Any] | None:
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
        "text": "; ".join(task_line(task, view) for task in tasks),
        "due": tasks[0].due.isoformat(),
        "marks": _marks(view),
    }


def _announced(desk: Desk) -> Iterator[dict[str, Any]]:
    """Yield the moves and pottings announced for a day that has come and not yet confirmed: the round asks."""
    line = desk.line
    for each in line.announced:
        if each.day <= desk.scene.as_of:
            what = f"moved to {each.text}" if each.kind == "moving" else f"potted into {each.text}"
            on = date.fromordinal(each.day).isoformat()
            yield {
                "entry": each.entry, "plant": line.id, "name": line.name, "kind": each.kind, "on": on,
                "text": f"was {line.name} {what}, as planned for {on}?",
            }  # fmt: skip


def _changes(planner: Planner, desk: Desk) -> tuple[list[list[str]], list[str]]:
    """Return place and text of a rhythm that the season changes today, and the text of one that changes otherwise."""
    moments, rhythms, former = [], [], None
    for beat in desk.beats.all:
        if beat.start == planner.scene.as_of:
            if former is not None and beat.cause == "half-month":
                moments.append([beat.terms.place, change_text(beat, former, planner.scene)])
            reason = reasons_of(beat, former, planner.scene)[0]
            if reason.code == "changed":
                rhythms.append(f"{desk.line.name}: {reason.text}")
        former = beat
    return moments, rhythms


def _cold(desk: Desk) -> dict[str, Any] | None:
    """Return the limit that the plant falls under tonight, with where it stands among others."""
    found = next(iter(tonight([desk])), None)
    if found is None:
        return None
    rank, below, number = order_of(found)
    return {"order": [rank, below, number], "told": night_row(found, desk.line.id)}


def _gates(desk: Desk) -> Iterator[str]:
    """Yield the gates of feeding that open or shut today, as the lines that a round tells."""
    day = desk.scene.as_of
    if desk.line.entered >= day:
        return
    former, present = set(desk.gates.shut_on(day - 1)), set(desk.gates.shut_on(day))
    for gate in desk.gates.report(day) if former != present else ():
        if (gate.gate in former) != (gate.gate in present):
            word = "opens" if gate.open else "shuts"
            reason = f": {gate.because[0].text}" if gate.because else ""
            yield f"feeding gate '{gate.gate}' {word}{reason}"
