"""What the round of a day takes from each plant, as plain values that can be kept; it puts no round together."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from carecal.app.near.first_days import first_known, is_settled
from carecal.app.near.task_rows import asked_by, carried_row, mix_rows, task_rows
from carecal.app.near.weather_rows import cold_row, heat_row, held_row, stopped
from carecal.planning.planner import PAST_DAYS
from carecal.planning.rhythm.reasons import change_of, change_text, reasons_of
from carecal.planning.sick.pests import neighbours_asked
from carecal.planning.sick.rot import does_now, dry_spans, is_answered, open_rot, technique_on
from carecal.planning.sick.watch import remarks_of
from carecal.planning.sick.wraps import begun_on
from carecal.planning.spans import day_of, merge, run_end
from carecal.planning.steps.overview import steps_of
from carecal.planning.steps.shade import OF_PLACE as STEPS_OF_PLACE
from carecal.planning.steps.tasks import step_tasks
from carecal.planning.tasks import ahead
from carecal.planning.views import facts_of
from carecal.planning.wettings.assumed import assumed_of
from carecal.wording.answers import feeding_change
from carecal.wording.assumed import taken_as
from carecal.wording.rhythm import STARTS_AGAIN
from carecal.wording.sick import rot_head, rot_text
from carecal.wording.weak import going_on_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.plan.model import PlantView, Step, Task
    from carecal.planning.planner import Planner
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["collection_row", "plant_row"]

NEW_FIND_DAYS = 3  # our choice, because a cut is made on the day of the find or the next ones [d]
OF_PLACE = frozenset({"roots", "buds"})  # remarks on what a place lacks
LOSING = "losing"  # the remark on a plant that loses ground
ASKED_FOR = frozenset({"planned", "open", "overdue"})


def collection_row(planner: Planner) -> dict[str, Any]:
    """Return what the round of a day tells of the collection as a whole."""
    facts = planner.timeline.facts
    return {
        "collection": {"id": planner.collection_id, "name": facts.name, "timezone": facts.timezone},
        "units": facts.setting("units", "metric"),
        "has_days": is_settled(facts),
    }


def plant_row(
    planner: Planner, plant_planner: PlantPlanner, last: date, until: date
) -> dict[str, Any] | None:
    """Return what one plant gives to the round of the plan's day and of the days after it.

    Args:
        planner: The planner on the plan's day.
        plant_planner: The plant.
        last: Last day that is shown.
        until: Last day planned, for the day of the next round.

    Returns:
        None where nothing of the plant is to be told.
    """
    line, context = plant_planner.line, planner.context
    if line.retired is not None and not facts_of(line, plant_planner, context.as_of - PAST_DAYS):
        return None
    view = planner.view(plant_planner)
    row: dict[str, Any] = {
        "name": view.name,
        "moments": [],
        "rhythms": [],
        "gates": list(_gates(plant_planner)),
        "wetted": first_known(line),
    }
    if line.retired is not None:
        return row
    tasks = [
        t
        for t in ahead(plant_planner, "rounds", until.toordinal())
        if t.on <= until and t.status in ASKED_FOR
    ]
    shown = [t for t in tasks if t.on <= last]
    following = min((t.on for t in tasks if t.on > last), default=None)
    asked = list(asked_by(shown, plant_planner))
    told = [*shown, *(t.instead for t in shown if t.instead is not None)]
    cautions = {code: context.catalog.cautions[code].text for t in told for code in t.cautions}
    moments, rhythms = _changes(planner, plant_planner)
    today = day_of(context.as_of)
    return row | {
        "cold": cold_row(plant_planner),
        "heat": heat_row(plant_planner),
        "held": held_row(plant_planner),
        "urgent": _urgent(plant_planner),
        "watch": list(_watch(plant_planner, has_tasks=any(t.on == today for t in shown))),
        "tasks": list(task_rows(shown, view, planner)),
        "asked": [list(each) for each in asked],
        "mixes": mix_rows(asked, planner),
        "cautions": {str(context.caution_ranks[code]): [code, text] for code, text in cautions.items()},
        "said": _said_lately(plant_planner, tasks),
        "next": following.isoformat() if following is not None else None,
        "steps": list(_steps(planner, plant_planner, view, last, until)),
        "carried": carried_row([t for t in tasks if t.status == "overdue"], view),
        "asks": [*_announced(plant_planner), *_going_on(plant_planner)],
        "assumed": _assumed(plant_planner),
        "moments": moments,
        "rhythms": rhythms,
    }


def _said_lately(plant_planner: PlantPlanner, tasks: list[Task]) -> list[str]:
    """Return the cautions of what was done to a plant lately and is to be done again: who did it has read them."""
    since = plant_planner.context.as_of - PAST_DAYS
    done = {fact.care for fact in facts_of(plant_planner.line, plant_planner, since)}
    return sorted({code for task in tasks if task.care in done for code in task.cautions})


def _steps(
    planner: Planner, plant_planner: PlantPlanner, view: PlantView, last: date, until: date
) -> Iterator[dict[str, Any]]:
    """Yield the steps that are asked for until a day: sentence, why, and cautions."""
    steps = steps_of(plant_planner, planner.timeline.plants)
    for task in step_tasks(plant_planner, steps):
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
        "of_place": task.step in STEPS_OF_PLACE,
        "on": task.on.isoformat(),
        "asked": task.due.isoformat(),
        "status": task.status,
        "text": step.title if step is not None and step.title else task.step.replace("-", " "),
        "because": [reason.text for reason in step.because] if step is not None else [],
        "last_safe": step.last_safe.isoformat() if step is not None and step.last_safe else None,
        "cautions": [planner.catalog.cautions[code].text for code in task.cautions],
    }


def _announced(plant_planner: PlantPlanner) -> Iterator[dict[str, Any]]:
    """Yield the moves and pottings announced for a day that has come and not yet confirmed: the round asks."""
    line = plant_planner.line
    for each in line.announced:
        if each.day <= plant_planner.context.as_of:
            what = f"moved to {each.text}" if each.kind == "moving" else f"potted into {each.text}"
            on = date.fromordinal(each.day).isoformat()
            yield {
                "entry": each.entry,
                "plant": line.id,
                "name": line.name,
                "kind": each.kind,
                "on": on,
                "text": f"was {line.name} {what}, as planned for {on}?",
            }


def _assumed(plant_planner: PlantPlanner) -> dict[str, Any] | None:
    """Return the newest wetting that was taken as done: the round asks whether it is true."""
    slots = assumed_of(plant_planner.chain)
    if not slots:
        return None
    line, last = plant_planner.line, slots[-1]
    return {
        "plant": line.id,
        "name": line.name,
        "place": line.latest.place,
        "on": day_of(last.day).isoformat(),
        "care": last.care,
        "times": len(slots),
        "text": taken_as(line.name, last.care, day_of(last.day)),
    }


def _changes(planner: Planner, plant_planner: PlantPlanner) -> tuple[list[list[str]], list[str]]:
    """Return place and text of a rhythm that the season changes today, and the text of one that changes otherwise."""
    moments, rhythms, former = [], [], None
    for beat in plant_planner.beats.all:
        if beat.start == planner.context.as_of:
            if former is not None and beat.cause == "half-month":
                moments.append(
                    [beat.terms.place, change_text(beat, former, planner.context, plant_planner.line)]
                )
            because = change_of(beat, former, planner.context, plant_planner.line)
            reason = reasons_of(beat, former, planner.context, because)[0]
            if reason.code == "changed":
                rhythms.append(f"{plant_planner.line.name}: {reason.text}")
            elif beat.cause == "gap":
                rhythms.append(f"{plant_planner.line.name}: {STARTS_AGAIN}")
        former = beat
    rhythms.extend(stopped(planner, plant_planner))
    return moments, rhythms


def _urgent(plant_planner: PlantPlanner) -> dict[str, Any] | None:
    """Return what a plant with rot asks for today, before everything else."""
    line, context = plant_planner.line, plant_planner.context
    rot = open_rot(line.latest, context.as_of, context.catalog)
    if rot is None or is_answered(rot, line.latest):
        return None
    dry = run_end(merge(dry_spans(line.latest, context, line.number)), context.as_of)
    is_new, asked = (
        context.as_of < rot.since + NEW_FIND_DAYS,
        neighbours_asked(line.latest, context.as_of, context),
    )
    return {
        "plant": line.id,
        "name": line.name,
        "place": line.latest.place,
        "head": rot_head(rot.where, day_of(rot.since)),
        "text": rot_text(
            does_now(rot.course, rot.finds, asked) if is_new else "",
            day_of(dry + 1) if dry is not None else None,
            from_below=technique_on(line.latest, context.as_of, context.catalog) is not None,
        ),
        "since": day_of(rot.since).isoformat(),
        "cautions": [context.catalog.cautions["clean-blade"].text] if is_new else [],
    }


def _watch(plant_planner: PlantPlanner, *, has_tasks: bool) -> Iterator[dict[str, Any]]:
    """Yield what is said of a plant beside its tasks; what its place lacks only when one goes to it or wrapped it.

    Why it loses ground and what to try is said when one goes to it, too; on other days that it does.
    """
    line = plant_planner.line
    is_fresh = line.latest.is_wrapped and begun_on(line.latest) == plant_planner.context.as_of
    for remark in remarks_of(plant_planner):
        if remark.code in OF_PLACE and not (has_tasks or is_fresh):
            continue
        is_told = (
            has_tasks or remark.code != LOSING or remark.is_asked
        )  # in few words on days without a visit
        yield {
            "plant": line.id,
            "name": line.name,
            "place": line.latest.place,
            "code": remark.code,
            "head": remark.head,
            "text": remark.text if is_told else "",
        }


def _going_on(plant_planner: PlantPlanner) -> Iterator[dict[str, Any]]:
    """Yield the question whether the grower goes on with a plant; nobody else gives one up."""
    line = plant_planner.line
    if any(remark.is_asked for remark in remarks_of(plant_planner)):
        on = day_of(plant_planner.context.as_of).isoformat()
        yield {
            "entry": None,
            "plant": line.id,
            "name": line.name,
            "kind": "going-on",
            "on": on,
            "text": going_on_text(line.name),
        }


def _gates(plant_planner: PlantPlanner) -> Iterator[str]:
    """Yield that feeding is held back from today on, or no longer: of a gate behind one that is shut, nothing."""
    day = plant_planner.context.as_of
    if plant_planner.line.entered >= day:
        return
    if plant_planner.gates.is_unfed(day):
        return
    former, present = set(plant_planner.gates.shut_on(day - 1)), set(plant_planner.gates.shut_on(day))
    if bool(former) == bool(present):
        return
    for gate in plant_planner.gates.report(day):
        if gate.gate in former | present:
            yield feeding_change(gate.because[0].text if gate.because else "", is_open=gate.open)
