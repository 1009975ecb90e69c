"""Slots and looks as tasks for people: technique, litres, cautions, care day and status."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from carecal.plan.model import Task
from carecal.planning.cautions import cautions_of
from carecal.planning.forecasts.questions import question_for, question_without_rhythm
from carecal.planning.places.weather import is_medium_cold
from carecal.planning.pours import litres_of, technique_of
from carecal.planning.rhythm.situations import situation_at
from carecal.planning.rhythm.terms import DRENCHES, LITTLE
from carecal.planning.rounds.one_can import Asked
from carecal.planning.sick.rot import technique_on
from carecal.planning.sick.treatments import Repeat, repeats_of
from carecal.planning.sick.wraps import asks_on
from carecal.planning.spans import day_of
from carecal.planning.steps.cold_reservoir import FILLING, is_reservoir_cold

if TYPE_CHECKING:
    from carecal.collection.plants import PlantState
    from carecal.plan.model import Grouping, Status
    from carecal.planning.looks import Look
    from carecal.planning.plant_planner import PlantPlanner
    from carecal.planning.wettings.slots import Slot

__all__ = ["ahead", "as_the_can", "asked_of", "given_on", "past_tasks", "plain_task"]

PLAIN = frozenset({"watering", "refilling", "moistening"})


def ahead(plant_planner: PlantPlanner, grouping: Grouping, until: int | None = None) -> list[Task]:
    """Return the open, overdue and planned tasks of one plant from the plan's day on, wettings before looks.

    Args:
        plant_planner: The plant.
        grouping: 'rounds' or 'each'.
        until: Last due day; None: the last day planned.
    """
    if plant_planner.line.retired is not None:
        return []
    last = plant_planner.context.last_day if until is None else until
    slots = plant_planner.slots_ahead(grouping, last)
    tasks = [_wetting(slot, plant_planner, grouping, "") for slot in slots]
    for aid, chain in plant_planner.aids.items():
        tasks.extend(_wetting(s, plant_planner, grouping, aid) for s in chain.ahead(grouping, last))
    placed = {slot.id: task for slot, task in zip(slots, tasks, strict=False)}
    tasks.extend(
        _looking(look, plant_planner, grouping, placed)
        for look in plant_planner.looks_ahead(grouping, slots, last)
    )
    return tasks


def past_tasks(plant_planner: PlantPlanner, since: int) -> list[Task]:
    """Return what became of the tasks whose care day or answer lies on or after a day and before the plan's day."""
    found = []
    as_of = plant_planner.context.as_of
    chains = [("", plant_planner.chain), *plant_planner.aids.items()]
    for aid, chain in chains:
        for slot in chain.slots():
            day = slot.answered if slot.answered is not None else slot.day
            if slot.status in {"done", "assumed", "left", "skipped"} and since <= day <= as_of:
                found.append(_task_of(slot, plant_planner, day, slot.status, aid))
    for look in plant_planner.looks.history:
        day = look.answered if look.answered is not None else look.day
        if since <= day <= as_of:
            found.append(_look_task(look, plant_planner, day, look.status, look.joined_to))
    return found


def _wetting(slot: Slot, plant_planner: PlantPlanner, grouping: Grouping, aid: str) -> Task:
    day, status = _standing(slot.day, slot.due, slot.status, plant_planner.context.as_of, grouping)
    if not aid and status in {"open", "overdue"}:
        slot = _as_it_stands(slot, plant_planner)
    task = _task_of(slot, plant_planner, day, status, aid)
    if grouping != "rounds" or aid or (slot.care != "feeding" and slot.could_ppm_n is None):
        return task
    care, ppm = (
        ("feeding", slot.could_ppm_n) if slot.could_ppm_n is not None else (slot.beat.terms.care, None)
    )
    other = _task_of(slot._replace(care=care, ppm_n=ppm), plant_planner, day, status, aid)
    return replace(task, instead=replace(other, ask_felt=task.ask_felt, asks=task.asks))


def asked_of(task: Task) -> Asked | None:
    """Return what a task of its plant's own plan asks of the round's can; None where that is plain water anyway."""
    if task.instead is None and task.ppm_n is None:
        return None
    since = task.waits_since if task.waits_since is not None or not task.carried else task.due
    iso = since.isoformat() if since is not None else ""
    return Asked(task.on.isoformat(), task.id, task.plant, task.ppm_n, task.could_ppm_n, iso)


def given_on(plant_planner: PlantPlanner, day: int) -> list[Asked]:
    """Return what the wettings that were answered on a day had asked of its can, so that the can stays what it was."""
    return [
        Asked(
            day_of(day).isoformat(),
            slot.id,
            plant_planner.line.number,
            slot.ppm_n,
            is_given=True,
            since=day_of(slot.waits_since).isoformat() if slot.waits_since is not None else "",
        )
        for slot in plant_planner.chain.slots()
        if slot.answered == day and slot.care == "feeding" and slot.status == "done"
    ]


def as_the_can(task: Task, ppm_n: float | None) -> Task:
    """Return a task as the round's can makes it: fed at a strength, or with plain water while its feed waits."""
    if ppm_n is None:
        return replace(task.instead or task, feed_waits=True)
    return replace(task if task.ppm_n is not None else task.instead or task, ppm_n=ppm_n, instead=None)


def plain_task(slot: Slot, plant_planner: PlantPlanner, day: int, aid: str) -> Task:
    """Return a wetting as plain water on a day, whatever the plant's own plan has there.

    Args:
        slot: The wetting.
        plant_planner: Its plant.
        day: The day (ordinal).
        aid: The aid whose moistening it is; '' for the pot.
    """
    plain = slot._replace(care=slot.beat.terms.care, ppm_n=None, why="")
    return _task_of(
        plain, plant_planner, day, "open" if day == plant_planner.context.as_of else "planned", aid
    )


def _as_it_stands(slot: Slot, plant_planner: PlantPlanner) -> Slot:
    """Return a wetting that is asked for today as the plant stands today.

    An emptied reservoir is not refilled, and no feed or flush is asked for that is not safe today, whatever it was
    on its due day.
    """
    day = plant_planner.context.as_of
    beat = plant_planner.beats.at(day)
    if slot.care in {"feeding", "flushing"} and beat is not None and day > slot.day:
        stretch = situation_at(plant_planner.stretches, day)
        safe = plant_planner.care_rules(stretch, day, day, plant_planner.chain.tally)
        if not (safe.may_feed if slot.care == "feeding" else safe.may_flush):
            slot = slot._replace(care=beat.terms.care, ppm_n=None, why="")
    if beat is None or beat.terms == slot.beat.terms:
        return slot
    keeps = slot.care not in PLAIN and beat.terms.care != "moistening"
    care = slot.care if keeps else beat.terms.care
    return slot._replace(beat=beat, care=care, ppm_n=slot.ppm_n if care == "feeding" else None)


def _standing(day: int, due: int, status: Status, as_of: int, grouping: Grouping) -> tuple[int, Status]:
    """Return care day and status on the plan's day: open and overdue tasks stand on it."""
    if status == "overdue":
        return as_of, "overdue"
    if day <= as_of:
        return as_of, "open"
    return (due if due >= as_of else day) if grouping == "each" else day, "planned"


def _task_of(slot: Slot, plant_planner: PlantPlanner, day: int, status: Status, aid: str) -> Task:
    terms = slot.beat.terms
    stretch = situation_at(plant_planner.stretches, max(slot.due, slot.beat.start))
    state = stretch.state
    is_now = status in {"open", "overdue"}
    at = max(slot.due, plant_planner.context.as_of) if is_now else slot.due  # what stands open is done today
    by_rot = None if aid else technique_on(state, at, plant_planner.context.catalog)
    technique = by_rot or technique_of(slot.care, terms.technique)
    if not aid and technique in DRENCHES and slot.care != "flushing":
        technique = LITTLE if is_medium_cold(state, at, plant_planner.context) else technique
    wanted = None if aid else plant_planner.answer_wanted(slot)
    care = slot.care
    if technique in FILLING and is_reservoir_cold(
        state, at, plant_planner.context, plant_planner.line.number
    ):
        care, technique = ("watering" if care == "refilling" else care), "pour-through"
    return Task(
        id=slot.id,
        plant=plant_planner.line.number,
        care=care,
        technique=technique,
        slot=slot.number,
        earliest=day_of(slot.earliest),
        due=day_of(slot.due),
        latest=day_of(slot.latest),
        on=day_of(day),
        status=status,
        cautions=cautions_of(
            state, slot.due, slot.care, plant_planner.context, plant=plant_planner.line.number
        ),
        potting=slot.potting,
        aid=aid,
        certain=slot.is_certain,
        carried=status == "overdue",
        ppm_n=slot.ppm_n,
        litres=_litres(slot, technique, state, plant_planner, aid),
        ask_felt=wanted is not None,
        asks=wanted or "",
        minutes=int(plant_planner.context.catalog.cares[slot.care].minutes),
        because=slot.why,
        waits_since=day_of(slot.waits_since) if slot.waits_since is not None else None,
        could_ppm_n=slot.could_ppm_n,
    )


def _litres(slot: Slot, technique: str, state: PlantState, plant_planner: PlantPlanner, aid: str) -> float:
    """Return what the can gives one wetting; a flush as much as its salts ask for. [L]."""
    if aid or technique in {"surface", "mist"}:
        return litres_of("surface", state, plant_planner.context)
    if slot.care == "flushing" and technique == "pour-through":
        flush = plant_planner.salting.flush_litres(slot.salt_ms_cm, slot.due)
        if flush is not None:
            return flush
    return litres_of(technique, state, plant_planner.context)


def _looking(look: Look, plant_planner: PlantPlanner, grouping: Grouping, placed: dict[str, Task]) -> Task:
    wetting = placed.get(look.joined_to or "")
    day, status = _standing(look.day, look.due, look.status, plant_planner.context.as_of, grouping)
    if grouping == "rounds" and status == "open" and look.day < day and look.joined_to is not None:
        day = _day_to_ask(look, plant_planner)
        status = "open" if day == plant_planner.context.as_of else "planned"
    if wetting is not None and status == "planned":
        return _look_task(
            look,
            plant_planner,
            wetting.on.toordinal(),
            "open" if wetting.status == "open" else status,
            wetting.id,
        )
    return _look_task(
        look,
        plant_planner,
        day,
        status,
        wetting.id if wetting is not None and wetting.on.toordinal() == day else None,
    )


def _day_to_ask(look: Look, plant_planner: PlantPlanner) -> int:
    """Return the day on which a look asks once more for what was not said when water was ticked.

    A plant that is not on watch makes no day of its own for that: it is its next wetting, a care day, or the last one.
    """
    context = plant_planner.context
    as_of, last = context.as_of, max(look.latest, look.deadline)
    weekdays, dates = context.weekdays(as_of), context.care_dates(as_of).days
    is_free = not weekdays and not dates
    if is_free or last <= as_of or context.is_on_watch(plant_planner.line.state_at(as_of), as_of):
        return as_of
    slot = plant_planner.chain.pending
    wetting = slot.day if slot is not None else None
    days = (d for d in range(as_of, last + 1) if d in dates or (d - 1) % 7 in weekdays or d == wetting)
    return next(days, last)


def _again(state: PlantState, look: Look, at: int, plant_planner: PlantPlanner) -> list[Repeat]:
    """Return what was done against a pest and is due again at a look."""
    if not state.treatments:
        return []
    context, pending = plant_planner.context, plant_planner.looks.pending
    repeats = repeats_of(state, at, lambda on: context.day_temperature(state.place, on), context.catalog)
    is_next = pending is not None and pending.number == look.number
    return [repeat for repeat in repeats if repeat.is_due(at, is_next=is_next)]


def _look_cautions(
    state: PlantState, look: Look, repeats: list[Repeat], plant_planner: PlantPlanner
) -> tuple[str, ...]:
    """Return the cautions of a look with those of what is done again at it, in the table's order."""
    context = plant_planner.context
    usual = cautions_of(state, look.due, "inspection", context, plant=plant_planner.line.number)
    more = {code for repeat in repeats for code in repeat.cautions}
    return tuple(sorted({*usual, *more}, key=context.caution_ranks.__getitem__)) if more else usual


def _look_task(look: Look, plant_planner: PlantPlanner, day: int, status: Status, joined: str | None) -> Task:
    stretch = situation_at(plant_planner.stretches, max(look.due, plant_planner.line.entered))
    has_rhythm = stretch.gap not in {"unknown", "no-climate"}
    kept = asks_on(plant_planner.line, day, plant_planner.context.catalog) if has_rhythm else ""
    is_now = status in {"open", "overdue"}
    at = (
        max(look.due, plant_planner.context.as_of) if is_now else look.due
    )  # what stands open asks as of today
    repeats = _again(stretch.state, look, at, plant_planner)
    again = "; ".join(repeat.text for repeat in repeats)
    asks = "" if has_rhythm else question_without_rhythm(plant_planner, stretch, at)
    if has_rhythm and status in {"planned", "open", "overdue"}:
        asks = question_for(plant_planner, at)
    asks = "; ".join(part for part in (kept, again, asks) if part)
    return Task(
        id=look.id,
        plant=plant_planner.line.number,
        care="inspection",
        technique="look",
        slot=look.number,
        earliest=day_of(look.earliest),
        due=day_of(look.due),
        latest=day_of(look.latest),
        on=day_of(day),
        status=status,
        joined_to=joined,
        cautions=_look_cautions(stretch.state, look, repeats, plant_planner),
        potting=stretch.state.potting,
        certain=True,
        carried=status == "overdue",
        minutes=int(plant_planner.context.catalog.cares["inspection"].minutes),
        asks=asks,
    )
