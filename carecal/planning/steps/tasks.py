"""Steps as tasks of rounds: on the day they open, once more before they close; what asks for an answer stays open."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from carecal.plan.model import Task
from carecal.planning.cautions import cautions_of
from carecal.planning.spans import FOREVER
from carecal.planning.steps.case import told
from carecal.planning.steps.light import BRIGHTENING
from carecal.planning.steps.shade import OF_PLACE
from carecal.planning.steps.spikes import CHOOSE, FIRST_TIE, STAKE
from carecal.planning.steps.water import WRAP_STAGE
from carecal.planning.wettings.care_day import care_day

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from carecal.plan.model import Status, Step
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["CLOSING_DAYS", "STEP_MINUTES", "step_tasks"]

STEP_MINUTES = 5  # our choice, because a step takes a little longer than a wetting
OPEN_DAYS = 13  # our choice, because what may wait for months is asked for a fortnight, not daily [d]
CLOSING_DAYS = 14  # our choice, because a fortnight holds two weekends [d]
SLIP_DAYS = 6  # our choice, because within a week a preferred weekday comes [d]
ASKED = frozenset(
    {
        "ending-quarantine",
        "opening-the-wrap",
        "cutting-a-spike",
        "emptying-the-reservoir",
        "moving-in",
        "soaking-clay",
        "confirming-a-move",
        "confirming-a-potting",
        STAKE,
    }
)
ON_ITS_DAY = frozenset(
    {
        "soaking-clay",
        "confirming-a-move",
        "confirming-a-potting",
        "emptying-the-reservoir",
        CHOOSE,
        STAKE,
        FIRST_TIE,
        "opening-the-wrap",
        "hardening",
        BRIGHTENING,
        *OF_PLACE,
    }
)
SUMMER = "moving-out"  # staying in is no loss: it is offered once
FEEDING = "first-feed"  # the fed wetting itself is its task


def step_tasks(plant_planner: PlantPlanner, steps: Sequence[Step]) -> list[Task]:
    """Return the tasks of the wanted steps of one plant, open or ahead, by day.

    A step becomes a task on the care day at or after it opens, within a week. One that asks for an answer, and
    every emergency, stays open until it is given; others are open for a fortnight, and again from a fortnight
    before the last safe start. What was due before the plant was entered is asked for from its entry on.

    Args:
        plant_planner: The plant.
        steps: Its steps, as `steps_of` returns them.
    """
    told_of = [
        step for step in steps if step.wanted and step.status in {"now", "wait"} and step.step != FEEDING
    ]
    tasks = [
        task
        for step in told_of
        if step.opens is not None
        for task in _tasks(plant_planner, step, max(step.opens.toordinal(), plant_planner.line.entered))
    ]
    return sorted(tasks, key=lambda task: (task.on, task.step, task.id))


def _tasks(plant_planner: PlantPlanner, step: Step, opens: int) -> Iterator[Task]:
    last = step.last_safe.toordinal() if step.last_safe is not None else FOREVER
    is_asked = step.step in ASKED or step.step.startswith(WRAP_STAGE) or _is_urgent(step)
    open_days = SLIP_DAYS if step.step == FIRST_TIE else OPEN_DAYS  # it comes again after a fortnight
    latest = last if is_asked else min(last, opens + open_days)
    name = f"step/{plant_planner.line.number}/{step.step}/{date.fromordinal(opens).isoformat()}"
    yield from _task(plant_planner, step, name, opens, latest, step.title, is_asked=is_asked)
    closing = last - CLOSING_DAYS
    if last < FOREVER and not is_asked and step.step != SUMMER and closing > opens + OPEN_DAYS:
        ends = f"{step.title} – last safe start {told(last)}"
        yield from _task(plant_planner, step, f"{name}/closes", closing, last, ends, is_asked=False)


def _task(
    plant_planner: PlantPlanner, step: Step, name: str, opens: int, latest: int, text: str, *, is_asked: bool
) -> Iterator[Task]:
    context, as_of = plant_planner.context, plant_planner.context.as_of
    on = opens
    if step.step not in ON_ITS_DAY and not step.step.startswith(WRAP_STAGE) and not _is_urgent(step):
        on = care_day(
            opens, opens, max(opens, min(latest, opens + SLIP_DAYS)), "earlier", context, floor_day=opens
        )
    status: Status = "planned" if on > as_of else "open"
    if on <= as_of and not _is_open(step, name, as_of, max(latest, on), is_asked=is_asked):
        return
    state, day = plant_planner.line.state_at(as_of), max(on, as_of)
    end = max(day, latest if latest < FOREVER else opens + OPEN_DAYS)
    yield Task(
        id=name,
        plant=plant_planner.line.number,
        care="step",
        technique="step",
        slot=0,
        earliest=date.fromordinal(opens),
        due=date.fromordinal(opens),
        latest=date.fromordinal(end),
        on=date.fromordinal(day),
        status=status,
        cautions=()
        if step.step in OF_PLACE
        else cautions_of(
            state,
            day,
            "step",
            context,
            step=step.step,
            plant=plant_planner.line.number,
            into=_into(plant_planner),
        ),
        potting=state.potting,
        certain=True,
        carried=status == "open" and on < as_of,
        minutes=STEP_MINUTES,
        because="; ".join(reason.text for reason in step.because[:1]),
        asks=text,
        step=step.step,
    )


def _into(plant_planner: PlantPlanner) -> str:
    """Return the medium of the first announced potting, '' without one."""
    plan = next((each for each in plant_planner.line.announced if each.kind == "potting"), None)
    return plan.medium or "" if plan is not None else ""


def _is_open(step: Step, name: str, as_of: int, latest: int, *, is_asked: bool) -> bool:
    """Return whether a task whose care day has come still stands open."""
    if step.status == "now":
        return is_asked or as_of <= latest
    return step.status == "wait" and name.endswith("/closes") and as_of <= latest


def _is_urgent(step: Step) -> bool:
    """Return whether a step is an emergency: open, though no window and no last safe start tells so."""
    urgent = {
        "rot",
        "rootless-in-sour-medium",
        "roots-failing",
        "medium-too-wet",
        "mother-failing",
        "weak",
        "urgent",
        "medium-night",
    }
    return step.status == "now" and bool(step.because) and step.because[0].code in urgent
