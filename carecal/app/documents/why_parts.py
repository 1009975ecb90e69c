"""Parts of a plan as plain documents: rhythms, gates, steps and forecasts of a plant. Nothing here plans."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from carecal.planning.forecasts.growth import forecasts_of
from carecal.planning.forecasts.spike import spike_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from carecal.app.door import Collection
    from carecal.plan.model import Gate, PlantView, Reason, Rhythm, Step
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["forecast_rows", "gate_row", "iso", "rhythm_rows", "step_row"]

HARMS = frozenset({"rest", "heat"})  # to feed all the same is no advice then: roots take nothing up


def forecast_rows(plant_planner: PlantPlanner) -> list[dict[str, Any]]:
    """Return what a plant is heading for by its own pace: roots, leaves, next stage, first flower, a spike."""
    spike = spike_of(plant_planner)
    return [
        {
            "what": each.what,
            "text": each.text,
            "early": _day(each.early),
            "likely": _day(each.likely),
            "late": _day(each.late),
            "own": each.is_own,
        }
        for each in (*forecasts_of(plant_planner), *([spike] if spike is not None else []))
    ]


def _day(ordinal: int | None) -> str | None:
    return date.fromordinal(ordinal).isoformat() if ordinal is not None else None


def rhythm_rows(rhythms: Sequence[Rhythm]) -> list[dict[str, Any]]:
    """Return the rhythms of a plant with their reasons, days in ISO."""
    return [
        {
            "care": r.care,
            "aid": r.aid,
            "from": r.start.isoformat(),
            "until": r.until.isoformat(),
            "days": r.days,
            "raw_days": r.raw_days,
            "reasons": [_reason(reason) for reason in r.reasons],
        }
        for r in rhythms
    ]


def _reason(reason: Reason) -> dict[str, Any]:
    return {"code": reason.code, "text": reason.text, "value": reason.value, "unit": reason.unit}


def gate_row(gate: Gate, collection: Collection, *, is_unfed: bool) -> dict[str, Any]:
    """Return a gate; of a plant that is not fed at all neither when it opens nor how."""
    row = collection.catalog.feeding_gates.get(gate.gate)
    return {
        "care": gate.care,
        "gate": gate.gate,
        "open": gate.open,
        "opens": None if is_unfed else iso(gate.opens),
        "unfed": is_unfed,
        "last_safe": iso(gate.last_safe),
        "because": [_reason(r) for r in gate.because],
        "by_hand": gate.overridden,
        "may_be_held_open": row is not None
        and bool(row.overridable)
        and not is_unfed
        and gate.gate not in HARMS,
    }


def step_row(step: Step, view: PlantView) -> dict[str, Any]:
    """Return a step of a plant: whether it is safe now, from when and until when, and why."""
    return {
        "plant": view.id,
        "name": view.name,
        "step": step.step,
        "title": step.title,
        "status": step.status,
        "opens": iso(step.opens),
        "last_safe": iso(step.last_safe),
        "margin_days": step.margin_days,
        "because": [_reason(r) for r in step.because],
    }


def iso(day: date | None) -> str | None:
    """Return a day in ISO, or None."""
    return day.isoformat() if day is not None else None
