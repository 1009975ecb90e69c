"""When a shut gate is forecast to open where no calendar tells it: by roots, by flowers, by the flush ahead."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from carecal.plan.model import Reason
from carecal.planning.forecasts.growth import held_roots, root_of
from carecal.planning.rhythm.terms import profile_of
from carecal.planning.steps.case import months_after
from carecal.wording.dates import day_month

if TYPE_CHECKING:
    from collections.abc import Iterable

    from carecal.plan.model import Gate
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["with_forecasts"]


def with_forecasts(plant_planner: PlantPlanner, gates: Iterable[Gate]) -> list[Gate]:
    """Return the gates, each shut one with the range of days in which it is forecast to open, where one can be told.

    A forecast is a reason of its own: no feed is planned by it before the gate is seen to open.
    """
    day = plant_planner.context.as_of
    if plant_planner.gates.is_unfed(day):
        return list(gates)
    told = {"stage": _by_roots, "bloom": _by_flowers, "salts": _by_flush}
    found = []
    for gate in gates:
        text = told[gate.gate](plant_planner) if not gate.open and gate.gate in told else ""
        found.append(gate._replace(because=(*gate.because, Reason("forecast", text))) if text else gate)
    return found


def _by_roots(plant_planner: PlantPlanner) -> str:
    state = plant_planner.line.state_at(plant_planner.context.as_of)
    if state.is_wrapped or state.mother is not None:
        return ""
    asked = plant_planner.context.catalog.feeding_gates["stage"].longest_mm
    grown = root_of(plant_planner, asked)
    if grown is None and state.longest_mm is not None:
        return "measure the longest root again: three measurements tell its own pace"
    if grown is None:
        return held_roots(plant_planner) or "measure the longest root, and a date can be told"
    if state.longest_mm is not None and state.longest_mm >= asked:
        return "it opens when a second root is counted"
    return f"forecast: {grown.text}"


def _by_flowers(plant_planner: PlantPlanner) -> str:
    state = plant_planner.line.state_at(plant_planner.context.as_of)
    profile = profile_of(state, plant_planner.context.catalog)
    low, high = profile.bloom_months_low, profile.bloom_months_high
    if state.flowering_since is None or low is None or high is None:
        return ""
    early, late = (months_after(state.flowering_since, months) for months in (low, high))
    if late < plant_planner.context.as_of:
        return f"its flowers were expected to last until {_day(late)}: say when the last one has fallen"
    return f"forecast: its flowers last until {_day(early)} to {_day(late)}, {low:g} to {high:g} months"


def _by_flush(plant_planner: PlantPlanner) -> str:
    flush = next((slot for slot in plant_planner.slots_ahead("rounds") if slot.care == "flushing"), None)
    return f"flush between {_day(flush.earliest)} and {_day(flush.latest)}" if flush is not None else ""


def _day(ordinal: int) -> str:
    return day_month(date.fromordinal(ordinal))
