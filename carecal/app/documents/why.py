"""Why a plant is treated as it is, as one document: rhythm with reasons, gates, factor, states, what was last done."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from carecal.app.documents.grounds import grounds_of
from carecal.app.documents.today import today
from carecal.app.documents.why_parts import forecast_rows, gate_row, iso, rhythm_rows, step_row
from carecal.catalog.names import near
from carecal.errors import Refused, UnknownName
from carecal.planning.held import held_back
from carecal.planning.pace.questions import felt_last, question_of
from carecal.planning.rhythm.resting import BUDS, HALF, rest_on
from carecal.planning.rhythm.season_ratio import season_ratio
from carecal.planning.rhythm.situations import situation_at
from carecal.planning.rhythm.terms import profile_of
from carecal.planning.sick.watch import remarks_of
from carecal.planning.spans import FOREVER, next_covered
from carecal.planning.steps.overview import steps_of
from carecal.planning.wettings.assumed import assumed_of
from carecal.planning.wettings.feeding import light_class_of
from carecal.wording.assumed import logged_as
from carecal.wording.dates import day_text
from carecal.wording.pace import words_of_factor
from carecal.wording.season import held_text, lent_text, little_water, ratio_text, rest_text
from carecal.wording.tasks import asked_of, done_word, plant_marks, pot_line, task_head, task_line, waits_text
from carecal.wording.why import FEEDING_IS_SAFE, fed_at, plain_text

if TYPE_CHECKING:
    from collections.abc import Collection as Set
    from collections.abc import Iterator

    from carecal.app.door import Collection
    from carecal.collection.plants import PlantHistory
    from carecal.plan.model import Plan, PlantView
    from carecal.planning.planner import Planner
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["steps", "why"]


def why(collection: Collection, as_of: date, plant: str) -> dict[str, Any]:
    """Return everything that decides what is planned for a plant.

    Raises:
        UnknownName: No plant has that id.
        Refused: It was not there yet, or has left.
    """
    number = collection.number_of(plant)
    planner = collection.planner(as_of, plants={number})
    line = planner.timeline.plants.get(number)
    if line is None:
        raise Refused(f"'{plant}' was not in the collection on {as_of}; it was added later")
    if line.retired is not None:
        raise Refused(
            f"{plant} left on {date.fromordinal(line.retired)} ({line.retired_because})",
            command=f"log {plant}",
        )
    plan = planner.plan("rounds", plants={number})
    view, plant_planner = plan.plant(number), planner.plant_planners[number]
    estimate = plant_planner.taught_on(as_of.toordinal())
    return {
        "plant": view.id,
        "name": view.name,
        "as_of": as_of.isoformat(),
        "profile": view.profile,
        "pot": pot_line(view),
        "stage": view.stage,
        "flowering": view.flowering,
        "states": list(view.states),
        "aids": list(view.aids),
        "reservoir": view.reservoir,
        "mother": _id_of(collection, line.latest.mother),
        "marks": list(plant_marks(view)),
        "remarks": [f"{remark.head}: {remark.text}" for remark in remarks_of(plant_planner)],
        "on_watch": view.on_watch,
        "came": iso(view.came),
        "potted": iso(view.potted),
        "seen": {
            key: getattr(line.latest, key) for key in ("roots", "longest_mm", "tips", "leaves", "firmness")
        },
        "rhythms": rhythm_rows(plan.rhythms),
        "suspended": _suspended(plan),
        "waits": next((waits_text(t.waits_since) for t in plan.tasks if t.waits_since is not None), ""),
        "season": list(_season(plant_planner)),
        "lent": _is_lent(plant_planner),
        "next": _next(collection, as_of, plan, view),
        "factor": {
            "value": view.factor,
            "low": view.factor_low,
            "high": view.factor_high,
            "entries": view.factor_entries,
            "text": words_of_factor(estimate),
            "question": question_of(estimate, felt_last=felt_last(line)) if plan.rhythms else "",
        },
        "salts": plant_planner.salting.words(plant_planner.chain.tally, as_of.toordinal()),
        "forecasts": forecast_rows(plant_planner),
        "feeding": _feeding(plant_planner, plan),
        "gates": [gate_row(gate, collection, is_unfed=_unfed(plant_planner)) for gate in plan.gates],
        "steps": [step_row(step, view) for step in plan.steps],
        "last": _last_done(line),
        "assumed": [
            {"on": date.fromordinal(slot.day).isoformat(), "text": logged_as(slot.care)}
            for slot in assumed_of(plant_planner.chain)
        ],
        "announced": [
            {"kind": a.kind, "on": date.fromordinal(a.day).isoformat(), "text": a.text}
            for a in line.announced
        ],
        "grounds": grounds_of(plant_planner, plan, plant),
    }


def steps(
    collection: Collection, as_of: date, plants: Set[str] = (), *, only_open: bool = False
) -> dict[str, Any]:
    """Return what is safe when: the steps of plants and the gates of their feeding.

    Args:
        collection: The collection.
        as_of: The day.
        plants: Ids; none: all.
        only_open: Only what is safe now.

    Raises:
        UnknownName: An id names no plant that is there.
    """
    numbers = {collection.number_of(name) for name in plants} or None
    planner = collection.planner(as_of)  # all of them: a keiki's step asks how its mother stands
    plan = planner.plan("rounds", plants=numbers)
    told = [
        step
        for plant_planner in _desks(planner, numbers)
        for step in steps_of(plant_planner, planner.timeline.plants, every=True)
    ]
    views = {view.id: view for view in plan.plants}
    for name in plants:
        if name not in views:
            raise UnknownName("plant", name, near(name, views))
    held = {gate.plant for gate in plan.gates if only_open and not gate.open}  # one shut gate is enough
    return {
        "as_of": as_of.isoformat(),
        "steps": [
            step_row(step, plan.plant(step.plant))
            for step in (told if numbers or only_open else plan.steps)
            if not only_open or step.status == "now"
        ],
        "gates": [
            {
                **gate_row(gate, collection, is_unfed=_unfed(planner.plant_planners[gate.plant])),
                "plant": plan.plant(gate.plant).id,
                "name": plan.plant(gate.plant).name,
            }
            for gate in plan.gates
            if gate.plant not in held
        ],
    }


def _next(collection: Collection, as_of: date, plan: Plan, view: PlantView) -> list[dict[str, Any]]:
    """Return the next four tasks of a plant with their windows, today's feeds as the round has them."""
    told = _in_the_round(collection, as_of, plan)
    return [
        {
            "task": t.id,
            "on": t.on.isoformat(),
            "earliest": t.earliest.isoformat(),
            "due": t.due.isoformat(),
            "latest": t.latest.isoformat(),
            "status": t.status,
            "asks": asked_of(t),
            **(told.get(t.id) or {"text": task_line(t, view), "head": task_head(t, view)}),
        }
        for t in [t for t in plan.tasks if t.status in {"planned", "open", "overdue"}][:4]
    ]


def _in_the_round(collection: Collection, as_of: date, plan: Plan) -> dict[str, dict[str, str]]:
    """Return line and head of today's feeds as the round has them, whose can may hold another strength."""
    feeds = {t.id for t in plan.tasks if t.care == "feeding" and t.on == as_of}
    if not feeds:
        return {}
    rounds = today(collection, as_of)["rounds"]
    lines = [line for r in rounds for line in r["tasks"] if line["task"] in feeds]
    return {line["task"]: {key: line[key] for key in ("text", "head")} for line in lines}


def _feeding(plant_planner: PlantPlanner, plan: Plan) -> str:
    """Return whether it is fed now; else until when it gets plain water, and why. '' where nothing is wetted."""
    if not plan.rhythms:
        return ""
    day, shut = plant_planner.context.as_of, [gate for gate in plan.gates if not gate.open]
    if not shut:
        stretch = situation_at(plant_planner.stretches, day)
        if plant_planner.feed_days(stretch, day):
            return FEEDING_IS_SAFE
        return plain_text([light_class_of(stretch, day, plant_planner.context).says], None, is_rest=False)
    opens = None if _unfed(plant_planner) else next_covered(plant_planner.gates.open_spans, day)
    until = date.fromordinal(opens - 1) if opens is not None and opens > day else None
    reasons = [gate.because[0].text for gate in shut if gate.because]
    return plain_text(reasons, until, is_rest=any(gate.gate == "rest" for gate in shut))


def _unfed(plant_planner: PlantPlanner) -> bool:
    day = plant_planner.context.as_of
    return plant_planner.gates.is_unfed(day)


def _desks(planner: Planner, numbers: Set[int] | None) -> list[PlantPlanner]:
    return [
        plant_planner
        for n, plant_planner in planner.plant_planners.items()
        if plant_planner.line.retired is None and (numbers is None or n in numbers)
    ]


def _id_of(collection: Collection, number: int | None) -> str | None:
    """Return the id of a plant that is not planned here, as the mother of a keiki."""
    return next((name for name, known in collection.journal.ids().items() if known == number), None)


def _suspended(plan: Plan) -> str:
    overdue = [t for t in plan.tasks if t.status == "overdue" and t.care not in {"inspection", "moistening"}]
    return f"later wettings wait until the one due {day_text(overdue[0].due)} is answered" if overdue else ""


def _is_lent(plant_planner: PlantPlanner) -> bool:
    stretches = plant_planner.stretches
    return bool(stretches) and situation_at(stretches, plant_planner.context.as_of).gap == "lent"


def _season(plant_planner: PlantPlanner) -> Iterator[str]:
    """Yield how it rests, and what holds its water back for cold, now or next."""
    context, line = plant_planner.context, plant_planner.line
    if _is_lent(plant_planner):
        yield lent_text(context.facts.places[line.latest.place or ""].spec_at(context.as_of).name)
        return
    rest, state = rest_on(plant_planner.rests, context.as_of), line.state_at(context.as_of)
    if rest is not None and state.flowering not in BUDS:
        profile = profile_of(state, context.catalog)
        half = None if rest.half_from == FOREVER else date.fromordinal(rest.half_from)
        sign = profile.rest_ends_sign or "new growth"
        is_half = rest.holds(context.as_of) == HALF
        yield rest_text(
            date.fromordinal(rest.start), sign, half, is_half=is_half, dries=profile.rest_interval_factor != 1
        )
    ratio = season_ratio(plant_planner)
    if ratio is not None:
        yield ratio_text(ratio.value, ratio.row.room, ratio.row.ratio_low, ratio.row.ratio_high)
    held = held_back(plant_planner)
    if held is not None:
        days = [date.fromordinal(held.first), date.fromordinal(held.last) if held.last is not None else None]
        yield held_text(held.why, days, held.limit_c, held.mild_c, is_now=held.first <= context.as_of)
        if held.is_offered:
            yield little_water(line.name, line.latest.place, held.why)


def _last_done(line: PlantHistory) -> dict[str, str]:
    """Return the last day of each care that was really done, by its word; of a feed with the strength poured."""
    found: dict[str, tuple[str, str]] = {}
    for event in line.told:
        if event.kind in {"wet", "aid", "look", "left", "potted"}:
            care = (
                event.care
                if event.kind in {"wet", "aid", "look"}
                else {"potted": "potting"}.get(event.kind, "left")
            )
            found[care] = fed_at(done_word(care), event.ppm_n), date.fromordinal(event.day).isoformat()
    return dict(sorted(found.values(), key=lambda item: item[1], reverse=True))
