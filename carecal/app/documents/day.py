"""The round of a day as it stood in the morning, and what was answered since, so that rows keep their place."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from carecal import __version__
from carecal.app.documents.today import FORMAT, today
from carecal.app.documents.today_fresh import fresh_today
from carecal.app.near.document import NEAR_DAYS
from carecal.app.store import cached, keep, zone_of
from carecal.catalog.digest import content_digest
from carecal.collection.records import taken_back

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.collection.records import Record
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["Answer", "answers_of", "day_round"]

TICKS = frozenset({"done", "left", "excepted"})
KEY = "today/morning"


@dataclass(frozen=True, slots=True)
class Answer:
    """What became of a task today: `kind` is done, left or excepted."""

    entry: int
    kind: str
    by: str
    at: str  # time of day in the collection's zone, as '08:10'
    felt: str = ""


def day_round(collection: Collection, now: Now) -> tuple[dict[str, Any], dict[str, Answer]]:
    """Return the day's round as if nothing had been ticked today, and the answers since, by task.

    Args:
        collection: The collection.
        now: The moment; its day is the round's.
    """
    records = collection.journal.records()
    ticks = _tick_commands(records, now.day)
    if not ticks:
        return today(collection, now.day), {}
    undone = taken_back(records)
    morning = [r for r in records if r.command not in ticks and not _undoes(r, ticks)]
    return _morning(collection, now.day, morning), answers_of(
        collection, now, [r for r in records if r.command in ticks - undone]
    )


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


def _tick_commands(records: Sequence[Record], day: date) -> set[int]:
    """Return the commands that do nothing but answer tasks on a day."""
    ticks = {r.command for r in records if r.kind in TICKS and r.on == day}
    return ticks - {r.command for r in records if r.kind not in TICKS or r.on != day}


def _undoes(record: Record, commands: set[int]) -> bool:
    return record.kind == "undone" and int(record.data["command"]) in commands


def _morning(collection: Collection, day: date, records: Sequence[Record]) -> dict[str, Any]:
    last = records[-1].n if records else 0
    stamp = f"{FORMAT}|{__version__}|{day}|{last}|{len(records)}|{content_digest(collection.folder)}"
    kept = cached(collection.journal.connection, KEY, stamp)
    if kept is not None:
        found: dict[str, Any] = json.loads(kept)
        return found
    made = fresh_today(collection, day, records=records)
    keep(collection.journal.connection, KEY, stamp, json.dumps(made, ensure_ascii=False))
    return made


def _entries(plant_planner: PlantPlanner) -> Iterator[tuple[str, int | None]]:
    """Yield each task of a plant with the entry that answered it."""
    for chain in (plant_planner.chain, *plant_planner.aids.values()):
        yield from ((slot.id, slot.entry) for slot in chain.slots())
    yield from ((look.id, look.entry) for look in plant_planner.looks.history)


def _answer(collection: Collection, record: Record) -> Answer:
    zone = ZoneInfo(zone_of(collection.journal.connection))
    at = datetime.fromisoformat(record.written).astimezone(zone)
    return Answer(record.n, record.kind, record.by, f"{at:%H:%M}", str(record.data.get("felt") or ""))
