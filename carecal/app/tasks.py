"""Which task an id names and what became of it: the ground on which a tick is taken or answered 'already done'."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from carecal.app.near.document import NEAR_DAYS
from carecal.app.store import zone_of
from carecal.errors import AlreadyDone, Refused

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.collection.journal import Journal
    from carecal.collection.plants import PlantHistory
    from carecal.collection.records import Record
    from carecal.planning.looks import Look
    from carecal.planning.plant_planner import PlantPlanner
    from carecal.planning.wettings.slots import Slot

__all__ = ["Ticked", "already", "task_for", "tick_text"]

_WORDS = {"done": "done", "left": "looked at and left", "excepted": "put off", "undone": "taken back"}
_UNANSWERED = frozenset({"planned", "open", "overdue"})


@dataclass(frozen=True, slots=True)
class Ticked:
    """A task that may be answered: its path is 'wetting', 'look' or the name of an aid."""

    id: str
    path: str
    status: str
    joined_to: str | None = None

    @property
    def aid(self) -> str | None:
        """The aid whose moistening it is, if it is one."""
        return None if self.path in {"wetting", "look"} else self.path


def task_for(collection: Collection, now: Now, line: PlantHistory, task: str, on: date) -> Ticked:
    """Return the task of a plant that an id names and that can be answered on a day.

    Raises:
        AlreadyDone: It was answered before.
        Refused: The plant has no such task, it was skipped, or it was assumed and the day lies outside its window.
    """
    planner = collection.planner(now.day, until=now.day + timedelta(days=NEAR_DAYS), plants={line.number})
    plant_planner = planner.plant_planners[line.number]
    open_ids = []
    for path, slot in _all(plant_planner):
        if slot.id == task:
            _check_answerable(collection, now, plant_planner.line, slot, on)
            return Ticked(slot.id, path, slot.status, getattr(slot, "joined_to", None))
        if slot.status in _UNANSWERED:
            open_ids.append(slot.id)
    raise Refused(f"{line.id} has no task '{task}'; next are {', '.join(open_ids) or 'none'}")


def _all(plant_planner: PlantPlanner) -> Iterator[tuple[str, Slot | Look]]:
    for path, chain in (("wetting", plant_planner.chain), *plant_planner.aids.items()):
        for slot in chain.slots():
            yield path, slot
    for look in plant_planner.looks.history:
        yield "look", look
    if plant_planner.looks.pending is not None:
        yield "look", plant_planner.looks.pending


def _check_answerable(
    collection: Collection, now: Now, line: PlantHistory, slot: Slot | Look, on: date
) -> None:
    if slot.status in {"done", "left"}:
        event = next((e for e in line.events if e.entry == slot.entry), None)
        if event is not None:
            what = "looked at and left" if event.kind == "left" else "done"
            zone = ZoneInfo(collection.timeline(now.day, plants=set()).facts.timezone)
            raise AlreadyDone(what, tick_text(event.written, zone, now), event.by)
    if slot.status == "skipped":
        raise Refused(f"task '{slot.id}' was skipped; say what was done without naming a task")
    if slot.status == "assumed" and not slot.earliest <= on.toordinal() <= slot.latest:
        first, last = date.fromordinal(slot.earliest), date.fromordinal(slot.latest)
        raise Refused(
            f"task '{slot.id}' was assumed on {date.fromordinal(slot.day)}; a late tick is dated {first} to {last}, "
            "else say that it was missed",
            command="missed",
            how="with carecal",
        )


def already(journal: Journal, new: Record, old: Record, now: Now, *, is_one: bool) -> AlreadyDone:
    """Return the answer to one who says again what was said meanwhile.

    Args:
        journal: The journal.
        new: What was to be written.
        old: What was said before it.
        now: The moment.
        is_one: Whether what was to be written is about one plant alone, which then needs no name.
    """
    when = tick_text(old.written, ZoneInfo(zone_of(journal.connection)), now)
    plant = "" if is_one or new.plant is None else journal.id_of(new.plant)
    return AlreadyDone(_WORDS.get(old.kind, "written down"), when, old.by, plant)


def tick_text(written: str, zone: ZoneInfo, now: Now) -> str:
    """Return when an entry was written, in the collection's zone: time of day, with the day if it was another one."""
    local = datetime.fromisoformat(written).astimezone(zone)
    return f"{local:%H:%M}" if local.date() == now.day else f"on {local.date()} at {local:%H:%M}"
