"""The round of a day worked out anew: what to mix, the list in order, what was carried over, what changed.

Only what the next days need is planned.
"""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from carecal.app.tasks import NEAR_DAYS
from carecal.wording.dates import WEEKDAY_NAMES, day_text
from carecal.wording.tasks import plant_mark, task_line, verb

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from carecal.app.door import Collection
    from carecal.collection.records import Record
    from carecal.plan.model import Can, Plan, PlantView, Round, Task
    from carecal.planning.planner import Planner

__all__ = ["fresh_today"]


def fresh_today(
    collection: Collection, as_of: date, days: int = 1, *, records: Sequence[Record] | None = None
) -> dict[str, Any]:
    """Return the round of a day and of the days after it.

    Args:
        collection: The collection.
        as_of: The day.
        days: How many days, the first included. [d]
        records: Records to plan from instead of the journal's own.
    """
    last = as_of + timedelta(days=days - 1)
    planner = collection.planner(as_of, until=last + timedelta(days=NEAR_DAYS), records=records)
    plan = planner.plan("rounds", with_gates=False)
    rounds = [_round(r, plan, planner) for r in plan.rounds if r.on <= last]
    following = next((r.on for r in plan.rounds if r.on > last), None)
    said: set[str] = set()
    for found in rounds:
        found["cautions"] = [c for c in found["cautions"] if c["code"] not in said]
        said.update(c["code"] for c in found["cautions"])
    return {
        "carecal": 1,
        "collection": {"id": plan.collection_id, "name": plan.collection_name, "timezone": plan.timezone},
        "as_of": as_of.isoformat(),
        "day": f"{_day(as_of)} {as_of.year}",
        "until": last.isoformat(),
        "count": sum(len(r["tasks"]) for r in rounds if r["on"] == as_of.isoformat()),
        "rounds": rounds,
        "steps": [_step(task, plan, planner) for task in plan.step_tasks if task.on <= last],
        "carried": _carried(plan),
        "asks": list(_announced(planner)),
        "next_round": following.isoformat() if following else None,
        "next_round_text": _day(following) if following else "",
        "plants": sum(1 for _ in plan.plants),
        "units": planner.timeline.facts.setting("units", "metric"),
        "changes": _changes(plan, planner),
    }


def _round(found: Round, plan: Plan, planner: Planner) -> dict[str, Any]:
    tasks = [plan.task(name) for name in found.tasks]
    cautions = planner.catalog.cautions
    return {
        "on": found.on.isoformat(),
        "day": f"{_day(found.on)} {found.on.year}",
        "minutes": found.minutes,
        "can": _can(found.can),
        "tasks": [_row(task, plan, tasks) for task in tasks if _stands_alone(task, tasks)],
        "cautions": [{"code": code, "text": cautions[code].text} for code in found.cautions],
    }


def _stands_alone(task: Task, tasks: list[Task]) -> bool:
    """Return whether a task has a line of its own: overdue ones are carried over, joined looks ride along."""
    if task.status == "overdue":
        return False
    return all(other.id != task.joined_to or other.status == "overdue" for other in tasks)


def _row(task: Task, plan: Plan, tasks: list[Task]) -> dict[str, Any]:
    view = plan.plant(task.plant)
    joined = [other for other in tasks if other.joined_to == task.id]
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


def _step(task: Task, plan: Plan, planner: Planner) -> dict[str, Any]:
    """Return a step that is asked for on a day: its sentence, why, and its cautions."""
    view = plan.plant(task.plant)
    step = next((s for s in plan.steps if (s.plant, s.step) == (task.plant, task.step)), None)
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


def _can(can: Can) -> dict[str, Any]:
    return {
        "plain_l": can.plain_l,
        "plain_apart_l": can.plain_apart_l,
        "feeds": [
            {
                "ppm_n": mix.ppm_n,
                "g_per_l": mix.g_per_l,
                "litres": mix.litres,
                "grams": round(mix.g_per_l * mix.litres, 2) if mix.g_per_l is not None else None,
                "fertiliser": mix.fertiliser,
                "ec_ms_cm": mix.ec_ms_cm,
                "apart": mix.apart,
                "tasks": list(mix.tasks),
            }
            for mix in can.feeds
        ],
    }


def _carried(plan: Plan) -> list[dict[str, Any]]:
    """Return the overdue tasks, one line a plant, the longest overdue first."""
    by_plant: dict[int, list[Task]] = {}
    for task in plan.tasks:
        if task.status == "overdue":
            by_plant.setdefault(task.plant, []).append(task)
    found = []
    for number, tasks in by_plant.items():
        tasks.sort(key=lambda task: (task.due, task.care))
        view = plan.plant(number)
        found.append(
            {
                "plant": view.id,
                "name": view.name,
                "place": view.place,
                "tasks": [task.id for task in tasks],
                "cares": [task.care for task in tasks],
                "text": "; ".join(task_line(task, view) for task in tasks),
                "due": tasks[0].due.isoformat(),
                "marks": _marks(view),
            }
        )
    return sorted(found, key=lambda row: (row["due"], row["plant"]))


def _announced(planner: Planner) -> Iterator[dict[str, Any]]:
    """Yield the moves and pottings announced for a day that has come and not yet confirmed: the round asks."""
    today_day = planner.context.as_of
    for line in planner.timeline.living():
        for ahead in line.announced:
            if ahead.day <= today_day:
                what = f"moved to {ahead.text}" if ahead.kind == "moving" else f"potted into {ahead.text}"
                on = date.fromordinal(ahead.day).isoformat()
                yield {
                    "entry": ahead.entry, "plant": line.id, "name": line.name, "kind": ahead.kind, "on": on,
                    "text": f"was {line.name} {what}, as planned for {on}?",
                }  # fmt: skip


def _changes(plan: Plan, planner: Planner) -> list[str]:
    """Return what is other than yesterday without an entry: rhythms that change today, gates that open or shut."""
    found = []
    told: set[int] = set()
    for moment in plan.moments:
        if moment.on == plan.as_of:
            names = [plan.plant(number).name for number in moment.plants]
            told.update(moment.plants)
            found.append(f"{moment.place}: {moment.text or 'the season'} – new rhythm for {', '.join(names)}")
    for rhythm in plan.rhythms:
        is_new = rhythm.start == plan.as_of and rhythm.reasons[:1] and rhythm.reasons[0].code == "changed"
        if is_new and not rhythm.aid and rhythm.plant not in told:
            found.append(f"{plan.plant(rhythm.plant).name}: {rhythm.reasons[0].text}")
    return [*found, *_gates_turned(plan, planner)]


def _gates_turned(plan: Plan, planner: Planner) -> list[str]:
    turned: dict[str, list[str]] = {}
    day = planner.context.as_of
    for view in plan.plants:
        plant_planner = planner.plant_planners[view.number]
        if plant_planner.line.entered >= day:
            continue
        former, present = set(plant_planner.gates.shut_on(day - 1)), set(plant_planner.gates.shut_on(day))
        for gate in plant_planner.gates.report(day) if former != present else ():
            if (gate.gate in former) != (gate.gate in present):
                word = "opens" if gate.open else "shuts"
                reason = f": {gate.because[0].text}" if gate.because else ""
                turned.setdefault(f"feeding gate '{gate.gate}' {word}{reason}", []).append(view.name)
    counts = Counter({text: len(names) for text, names in turned.items()})
    return [
        f"{turned[text][0] if counts[text] == 1 else f'{counts[text]} plants'}: {text}" for text in turned
    ]


def _day(day: date) -> str:
    return f"{WEEKDAY_NAMES[day.weekday()]} {day_text(day)}"
