"""The round of a day as it stood in the morning, and what was answered since, so that rows keep their place."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from carecal.app.documents.today import today
from carecal.app.near.document import NEAR_DAYS
from carecal.app.near.shelf import round_without
from carecal.app.store import zone_of
from carecal.collection.records import effective

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.collection.records import Record
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["TICKS", "Answer", "answers_of", "day_round"]

TICKS = frozenset({"done", "left", "excepted"})


@dataclass(frozen=True, slots=True)
class Answer:
    """What became of a task today: `kind` is done, left or excepted."""

    entry: int
    kind: str
    by: str
    at: str  # time of day in the collection's zone, as '08:10'
    felt: str = ""
    care: str = ""


def day_round(collection: Collection, now: Now) -> tuple[dict[str, Any], dict[str, Answer]]:
    """Return the day's round as if nothing had been ticked today, and the answers since, by task.

    Args:
        collection: The collection.
        now: The moment; its day is the round's.
    """
    ticks = collection.journal.commands_on(now.day, TICKS)
    if not ticks:
        return today(collection, now.day), {}
    told = [record for records in ticks.values() for record in records]
    amends = _amends(collection.journal.amended(), {record.n for record in told})
    later = [record for records in amends.values() for record in records]
    counted = effective([*told, *later, *collection.journal.undone()], now.day)
    answers = [record for record in counted if record.command in ticks]
    return round_without(collection, now.day, ticks | amends), answers_of(collection, now, answers)


def answers_of(collection: Collection, now: Now, ticks: Sequence[Record]) -> dict[str, Answer]:
    """Return which tasks some records of today answered."""
    told = {record.n: _answer(collection, record) for record in ticks}
    found = {str(r.data["task"]): told[r.n] for r in ticks if r.data.get("task")}
    plants = {r.plant for r in ticks if r.plant is not None}
    if not plants:
        return found
    planner = collection.planner(now.day, until=now.day + timedelta(days=NEAR_DAYS), plants=plants)
    for number in sorted(plants & set(planner.plant_planners)):
        for task, entry in _entries(planner.plant_planners[number]):
            if entry in told:
                found.setdefault(task, told[entry])
    return found


def _amends(amended: Sequence[Record], ticked: set[int]) -> dict[int, list[Record]]:
    """Return the commands that do nothing but put right what a tick said, as how the medium felt."""
    by_command: dict[int, list[Record]] = {}
    for record in amended:
        by_command.setdefault(record.command, []).append(record)
    return {
        command: records
        for command, records in by_command.items()
        if all(int(record.data["entry"]) in ticked and not record.data.get("on_day") for record in records)
    }


def _entries(plant_planner: PlantPlanner) -> Iterator[tuple[str, int | None]]:
    """Yield each task of a plant with the entry that answered it."""
    for chain in (plant_planner.chain, *plant_planner.aids.values()):
        yield from ((slot.id, slot.entry) for slot in chain.slots())
    yield from ((look.id, look.entry) for look in plant_planner.looks.history)


def _answer(collection: Collection, record: Record) -> Answer:
    zone = ZoneInfo(zone_of(collection.journal.connection))
    at = datetime.fromisoformat(record.written).astimezone(zone)
    felt, care = str(record.data.get("felt") or ""), str(record.data.get("care") or "")
    return Answer(record.n, record.kind, record.by, f"{at:%H:%M}", felt, care)
