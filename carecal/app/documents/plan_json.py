"""The plan as one JSON document (interface §4): ids instead of numbers, dates as ISO text; it plans nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from uuid import UUID

from carecal.calendars.options import CalendarOptions
from carecal.calendars.uids import uid

if TYPE_CHECKING:
    from carecal.plan.model import (
        Can,
        Gate,
        Moment,
        Plan,
        PlantView,
        Reason,
        Rhythm,
        Round,
        Series,
        Step,
        Task,
    )

__all__ = ["plan_document"]

_WHOLE = CalendarOptions(grouping="each")


def plan_document(plan: Plan, *, generation: int = 1) -> dict[str, Any]:
    """Return a plan as plain values.

    Args:
        plan: The plan.
        generation: That of the collection's calendars, which the uids of series carry.
    """
    ids = {view.number: view.id for view in plan.plants}
    return {
        "carecal": 1,
        "collection": {"id": plan.collection_id, "name": plan.collection_name, "timezone": plan.timezone},
        "as_of": plan.as_of.isoformat(),
        "from": plan.start.isoformat(),
        "until": plan.until.isoformat(),
        "grouping": plan.grouping,
        "plants": [_plant(view) for view in plan.plants],
        "moments": [_moment(moment, ids) for moment in plan.moments],
        "rhythms": [_rhythm(rhythm, ids) for rhythm in plan.rhythms],
        "series": [_series(series, ids, plan, generation) for series in plan.series],
        "tasks": [_task(task, ids) for task in plan.tasks],
        "rounds": [_round(found) for found in plan.rounds],
        "gates": [_gate(gate, ids) for gate in plan.gates],
        "steps": [_step(step, ids) for step in plan.steps],
        "extra_wettings_percent": plan.extra_wettings_percent,
    }


def _plant(view: PlantView) -> dict[str, Any]:
    return {
        "id": view.id,
        "name": view.name,
        "profile": view.profile,
        "medium": view.medium,
        "container": view.container,
        "size_cm": view.size_cm,
        "place": view.place,
        "stage": view.stage,
        "flowering": view.flowering,
        "aids": list(view.aids),
        "states": [_code(name) for name in view.states],
        "reservoir": view.reservoir,
        "came": _iso(view.came),
        "potted": _iso(view.potted),
        "on_watch": view.on_watch,
        "factor": {
            "value": view.factor,
            "low": view.factor_low,
            "high": view.factor_high,
            "entries": view.factor_entries,
        },
    }


def _moment(moment: Moment, ids: dict[int, str]) -> dict[str, Any]:
    return {
        "key": moment.key,
        "place": moment.place,
        "on": moment.on.isoformat(),
        "plants": [ids[number] for number in moment.plants if number in ids],
        "text": moment.text,
    }


def _rhythm(rhythm: Rhythm, ids: dict[int, str]) -> dict[str, Any]:
    return {
        "plant": ids[rhythm.plant],
        "care": rhythm.care,
        "from": rhythm.start.isoformat(),
        "until": rhythm.until.isoformat(),
        "days": rhythm.days,
        "raw_days": rhythm.raw_days,
        "reasons": [
            {"code": r.code, "text": r.text, "value": r.value, "unit": r.unit} for r in rhythm.reasons
        ],
    }


def _series(series: Series, ids: dict[int, str], plan: Plan, generation: int) -> dict[str, Any]:
    return {
        "uid": uid(UUID(plan.collection_id), _WHOLE.key(), generation, series.key),
        "plant": ids[series.plant],
        "care": series.care,
        "technique": series.technique,
        "first": series.first.isoformat(),
        "every_days": series.every_days,
        "until": series.until.isoformat(),
        "except": [day.isoformat() for day in series.skip],
    }


def _task(task: Task, ids: dict[int, str]) -> dict[str, Any]:
    return {
        "id": task.id,
        "plant": ids[task.plant],
        "care": task.care,
        "technique": task.technique,
        "slot": task.slot,
        "earliest": task.earliest.isoformat(),
        "due": task.due.isoformat(),
        "latest": task.latest.isoformat(),
        "on": task.on.isoformat(),
        "status": task.status,
        "joined_to": task.joined_to,
        "cautions": [_code(code) for code in task.cautions],
    }


def _round(found: Round) -> dict[str, Any]:
    return {"on": found.on.isoformat(), "tasks": list(found.tasks), "can": _can(found.can)}


def _can(can: Can) -> dict[str, Any]:
    return {
        "plain_l": can.plain_l,
        "feeds": [
            {"ppm_n": mix.ppm_n, "g_per_l": mix.g_per_l, "litres": mix.litres, "tasks": list(mix.tasks)}
            for mix in can.feeds
        ],
    }


def _gate(gate: Gate, ids: dict[int, str]) -> dict[str, Any]:
    return {
        "plant": ids[gate.plant],
        "care": gate.care,
        "open": gate.open,
        "opens": _iso(gate.opens),
        "last_safe": _iso(gate.last_safe),
        "because": _because(gate.because),
    }


def _step(step: Step, ids: dict[int, str]) -> dict[str, Any]:
    return {
        "plant": ids[step.plant],
        "step": _code(step.step),
        "status": step.status,
        "opens": _iso(step.opens),
        "last_safe": _iso(step.last_safe),
        "margin_days": step.margin_days,
        "because": _because(step.because),
    }


def _because(reasons: tuple[Reason, ...]) -> list[dict[str, str]]:
    return [{"code": _code(reason.code), "text": reason.text} for reason in reasons]


def _code(name: str) -> str:
    """Return the name of a table with hyphens for its blanks."""
    return name.replace(" ", "-")


def _iso(day: object) -> str | None:
    return day.isoformat() if day is not None and hasattr(day, "isoformat") else None
