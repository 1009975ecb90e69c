"""Slots and looks as tasks for people: technique, litres, cautions, care day and status."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.horticulture.drydown import pot_volume_l
from carecal.horticulture.rounding import significant
from carecal.planning.cautions import cautions_of
from carecal.planning.forecasts import question_for
from carecal.planning.model import Task
from carecal.planning.situations import situation_at
from carecal.planning.spans import day_of
from carecal.planning.terms import lacks

if TYPE_CHECKING:
    from carecal.collection.plants import PlantState
    from carecal.planning.desk import Desk
    from carecal.planning.looks import Look
    from carecal.planning.model import Grouping, Status
    from carecal.planning.scene import Scene
    from carecal.planning.slots import Slot

__all__ = ["ahead", "held_l", "litres_of", "past_tasks", "technique_of"]

OF_VOLUME = {
    "drench": 0.5,
    "soak": 1.0,
    "fill-and-drain": 0.45,
    "refill": 0.2,
}  # models D6; twice through wets a coarse medium
POUR_THROUGH_OF_HELD = 2.2
SURFACE_L, MIST_L = 0.03, 0.02  # [L]
PLAIN = frozenset({"watering", "refilling", "moistening"})
UNSIZED_CM = 12.0  # our choice, because a mount without a size takes what a 12 cm pot takes


def technique_of(care: str, plain: str) -> str:
    """Return the technique of a care whose plain wetting is done by `plain`."""
    if care == "flushing":
        return "soak" if plain == "soak" else "pour-through"
    if care == "feeding" and plain == "refill":
        return "fill-and-drain"
    return plain


def litres_of(technique: str, state: PlantState, scene: Scene) -> float:
    """Return what a technique takes from the can for one plant (models D6). [L]."""
    key = technique, state.size_cm, state.medium
    if key not in scene.kept_litres:
        scene.kept_litres[key] = _litres_of(technique, state, scene)
    return scene.kept_litres[key]


def _litres_of(technique: str, state: PlantState, scene: Scene) -> float:
    volume = pot_volume_l(state.size_cm or UNSIZED_CM)
    if technique == "pour-through":
        return significant(POUR_THROUGH_OF_HELD * held_l(state, scene), 3)
    if technique in OF_VOLUME:
        return significant(OF_VOLUME[technique] * volume, 3)
    return {"surface": SURFACE_L, "mist": MIST_L}.get(technique, 0.0)


def held_l(state: PlantState, scene: Scene) -> float:
    """Return the water a plant's medium holds: pot volume times the mean water of the medium (models D5). [L]."""
    medium = scene.catalog.media[state.medium or "bark"]
    return pot_volume_l(state.size_cm or UNSIZED_CM) * (medium.water_pct_low + medium.water_pct_high) / 200


def ahead(desk: Desk, grouping: Grouping, until: int | None = None) -> list[Task]:
    """Return the open, overdue and planned tasks of one plant from the plan's day on, wettings before looks.

    Args:
        desk: The plant.
        grouping: 'rounds' or 'each'.
        until: Last due day; None: the last day planned.
    """
    if desk.line.retired is not None:
        return []
    last = desk.scene.last_day if until is None else until
    slots = desk.slots_ahead(grouping, last)
    tasks = [_wetting(slot, desk, grouping, "") for slot in slots]
    for aid, chain in desk.aids.items():
        tasks.extend(_wetting(s, desk, grouping, aid) for s in chain.ahead(grouping, last))
    placed = {slot.id: task for slot, task in zip(slots, tasks, strict=False)}
    tasks.extend(_looking(look, desk, grouping, placed) for look in desk.looks_ahead(grouping, slots, last))
    return tasks


def past_tasks(desk: Desk, since: int) -> list[Task]:
    """Return what became of the tasks whose care day or answer lies on or after a day and before the plan's day."""
    found = []
    as_of = desk.scene.as_of
    chains = [("", desk.chain), *desk.aids.items()]
    for aid, chain in chains:
        for slot in chain.slots():
            day = slot.answered if slot.answered is not None else slot.day
            if slot.status in {"done", "assumed", "left", "skipped"} and since <= day <= as_of:
                found.append(_task_of(slot, desk, day, slot.status, aid))
    for look in desk.looks.history:
        day = look.answered if look.answered is not None else look.day
        if since <= day <= as_of:
            found.append(_look_task(look, desk, day, look.status, look.joined_to))
    return found


def _wetting(slot: Slot, desk: Desk, grouping: Grouping, aid: str) -> Task:
    day, status = _standing(slot.day, slot.due, slot.status, desk.scene.as_of, grouping)
    if not aid and status in {"open", "overdue"}:
        slot = _as_it_stands(slot, desk)
    return _task_of(slot, desk, day, status, aid)


def _as_it_stands(slot: Slot, desk: Desk) -> Slot:
    """Return a wetting that is asked for today as the plant stands today: an emptied reservoir is not refilled."""
    beat = desk.beats.at(desk.scene.as_of)
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


def _task_of(slot: Slot, desk: Desk, day: int, status: Status, aid: str) -> Task:
    terms = slot.beat.terms
    stretch = situation_at(desk.stretches, max(slot.due, slot.beat.start))
    technique = technique_of(slot.care, terms.technique)
    state = stretch.state
    wanted = None if aid else desk.answer_wanted(slot)
    return Task(
        id=slot.id, plant=desk.line.number, care=slot.care, technique=technique, slot=slot.number,
        earliest=day_of(slot.earliest), due=day_of(slot.due),
        latest=day_of(slot.latest), on=day_of(day), status=status,
        cautions=cautions_of(state, slot.due, slot.care, desk.scene, plant=desk.line.number),
        potting=slot.potting, aid=aid,
        certain=slot.is_certain, carried=status == "overdue", ppm_n=slot.ppm_n,
        litres=_litres(slot, technique, state, desk, aid), ask_felt=wanted is not None, asks=wanted or "",
        minutes=int(desk.scene.catalog.cares[slot.care].minutes), because=slot.why,
    )  # fmt: skip


def _litres(slot: Slot, technique: str, state: PlantState, desk: Desk, aid: str) -> float:
    """Return what the can gives one wetting; a flush as much as its salts ask for. [L]."""
    if aid or technique in {"surface", "mist"}:
        return litres_of("surface", state, desk.scene)
    if slot.care == "flushing" and technique == "pour-through":
        flush = desk.salting.flush_litres(slot.salt_ms_cm, slot.due)
        if flush is not None:
            return flush
    return litres_of(technique, state, desk.scene)


def _looking(look: Look, desk: Desk, grouping: Grouping, placed: dict[str, Task]) -> Task:
    wetting = placed.get(look.joined_to or "")
    day, status = _standing(look.day, look.due, look.status, desk.scene.as_of, grouping)
    if wetting is not None and status == "planned":
        return _look_task(
            look, desk, wetting.on.toordinal(), "open" if wetting.status == "open" else status, wetting.id
        )
    return _look_task(
        look, desk, day, status, wetting.id if wetting is not None and wetting.on.toordinal() == day else None
    )


def _look_task(look: Look, desk: Desk, day: int, status: Status, joined: str | None) -> Task:
    stretch = situation_at(desk.stretches, max(look.due, desk.line.entered))
    missing = lacks(stretch.state, desk.scene.catalog) if stretch.gap == "unknown" else ()
    asks = f"say its {', '.join(missing)}" if missing else "open and look" if stretch.state.is_wrapped else ""
    if not asks and status in {"planned", "open", "overdue"}:
        asks = question_for(desk, look.due)
    return Task(
        id=look.id, plant=desk.line.number, care="inspection", technique="look", slot=look.number,
        earliest=day_of(look.earliest), due=day_of(look.due),
        latest=day_of(look.latest), on=day_of(day), status=status, joined_to=joined,
        cautions=cautions_of(stretch.state, look.due, "inspection", desk.scene, plant=desk.line.number),
        potting=stretch.state.potting, certain=True, carried=status == "overdue",
        minutes=int(desk.scene.catalog.cares["inspection"].minutes), asks=asks,
    )  # fmt: skip
