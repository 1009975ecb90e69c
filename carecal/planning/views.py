"""What a plant is on the plan's day, and what was really done to it, for those who read a plan."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from carecal.collection.facts import NOTES_SHOWN
from carecal.horticulture.rounding import significant
from carecal.plan.model import Fact, PlantView
from carecal.planning.rhythm.situations import situation_at
from carecal.planning.sick.losing import losing_of
from carecal.planning.states import states_of

if TYPE_CHECKING:
    from carecal.collection.plants import Event, PlantHistory
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["facts_of", "view_of"]

SHOWN = frozenset({"wet", "aid", "look", "left", "potted"})


def view_of(plant_planner: PlantPlanner, ids: dict[int, str]) -> PlantView:
    """Return the plant as it is on the plan's day; `ids` are the present ids of all plants by number."""
    line, context = plant_planner.line, plant_planner.context
    state = line.state_at(context.as_of)
    stretch = situation_at(plant_planner.stretches, context.as_of) if plant_planner.stretches else None
    names = states_of(state, context.as_of, context.catalog, resting=bool(stretch and stretch.is_resting))
    estimate = plant_planner.taught_on(context.as_of)
    last_done, last_care = _last_wetting(line)
    losing = losing_of(line, context.as_of, context.catalog)
    return PlantView(
        number=line.number,
        id=line.id,
        name=line.name,
        profile=state.profile,
        medium=state.medium,
        container=state.container,
        size_cm=state.size_cm,
        place=state.place,
        stage=state.stage,
        flowering=state.flowering,
        aids=tuple(sorted(state.aid_names)),
        states=tuple(names),
        reservoir=state.reservoir,
        came=_date(state.came),
        potted=_date(state.potted),
        on_watch=context.is_on_watch(state, context.as_of),
        factor=significant(estimate.factor),
        factor_low=significant(estimate.low),
        factor_high=significant(estimate.high),
        factor_entries=estimate.entries,
        basis=line.newest_written,
        tips=state.tips,
        last_done=_date(last_done),
        last_care=last_care,
        mother=ids.get(state.mother) if state.mother is not None else None,
        potting=state.potting,
        losing=losing.shown if losing is not None else "",
    )


def _last_wetting(line: PlantHistory) -> tuple[int | None, str]:
    """Return the day of the last wetting that was said, and what it was; a look or a moist cloth is none."""
    found = (line.watered, "watering")
    for event in line.told:
        if event.kind == "wet" or (event.kind == "potted" and event.watered):
            found = (event.day, event.care or "watering")
    return found if found[0] is not None else (None, "")


def facts_of(line: PlantHistory, plant_planner: PlantPlanner, since: int) -> list[Fact]:
    """Return what was really done to a plant since a day; notes only where the collection gives them away."""
    has_notes = plant_planner.context.facts.setting(NOTES_SHOWN, "no") == "yes"
    tasks = {slot.entry: slot.id for slot in plant_planner.chain.slots() if slot.entry is not None}
    return [
        Fact(
            e.entry,
            line.number,
            _care(e),
            date.fromordinal(e.day),
            e.written,
            _text(e, has_notes=has_notes),
            e.task or tasks.get(e.entry, ""),
        )
        for e in line.events
        if e.kind in SHOWN and since <= e.day
    ]


def _care(event: Event) -> str:
    return {"potted": "potting", "left": "left", "look": "inspection"}.get(event.kind, event.care)


def _text(event: Event, *, has_notes: bool) -> str:
    parts = []
    if event.felt:
        parts.append(f"felt {event.felt}")
    if event.weight_g is not None:
        parts.append(f"{event.weight_g:g} g")
    if event.ec_ms_cm is not None:
        parts.append(f"EC of the drained water {event.ec_ms_cm:g} mS/cm")
    if event.ppm_n is not None:
        parts.append(f"{event.ppm_n:g} ppm N poured")
    if event.rain:
        parts.append("by rain")
    if event.text and has_notes:
        parts.append(event.text)
    return "; ".join(parts)


def _date(day: int | None) -> date | None:
    return date.fromordinal(day) if day is not None else None
