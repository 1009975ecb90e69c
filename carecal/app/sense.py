"""Whether a journal still makes sense: what each entry needs of the ones before it (design §3 rule 15)."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from carecal.collection.history import came_on, is_historic
from carecal.collection.records import effective, taken_back

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from carecal.catalog.tables import Catalog
    from carecal.collection.records import Record
    from carecal.collection.timeline import Timeline

__all__ = ["nonsense"]

_NO_AIDS = frozenset({"wetting"})


def nonsense(records: Sequence[Record], timeline: Timeline, catalog: Catalog) -> dict[int, str]:
    """Return, by entry number, why an entry no longer makes sense; only entries that count are looked at.

    Args:
        records: The journal, undone commands included.
        timeline: Its fold on the last day of all.
        catalog: Profiles and tables.
    """
    counting = effective(records, date.max)
    book = _Book(counting, timeline, catalog)
    found: dict[int, str] = {}
    for record in counting:
        why = next(book.faults(record), "")
        if why:
            found[record.n] = why
    kept = {record.n for record in counting}
    found.update(_dangling(records, kept))
    return dict(sorted(found.items()))


def _dangling(records: Iterable[Record], kept: set[int]) -> Iterator[tuple[int, str]]:
    """Amendments and ends of absences whose entry does not count any more."""
    records = list(records)
    undone = taken_back(records)
    for record in records:
        if record.kind not in {"amended", "away-ended"} or record.command in undone:
            continue
        if int(record.data["entry"]) not in kept:
            yield record.n, f"entry {record.data['entry']}, which it speaks of, is taken back"


class _Book:
    """What the entries that count say of plants and places, to hold each of them against."""

    def __init__(self, counting: Sequence[Record], timeline: Timeline, catalog: Catalog) -> None:
        self.timeline, self.catalog = timeline, catalog
        self.added = {r.plant: r for r in counting if r.kind == "added"}
        self.left = {r.plant: r for r in counting if r.kind == "retired"}
        self.places = {r.data["place"] for r in counting if r.kind == "place"}
        self.pottings: dict[int | None, int] = {}
        for record in counting:
            if record.kind in {"potted", "parted"}:
                self.pottings[record.plant] = self.pottings.get(record.plant, 1) + 1

    def faults(self, record: Record) -> Iterator[str]:
        """Yield why a record makes no sense."""
        place = record.data.get("place")
        if place is not None and record.kind != "place" and place not in self.places:
            yield f"place {place} is not there"
        for number in _plants_in(record.data):
            if number not in self.added:
                yield "a plant it names is not there"
        if record.plant is None:
            return
        added, left = self.added.get(record.plant), self.left.get(record.plant)
        if added is None:
            yield "its plant is not there"
            return
        if record.on < added.on and not is_historic(record, added):
            yield _too_early(record, added)
        if left is not None and record.on > left.on and record.kind != "retired":
            yield f"it lies after its plant left, {left.on}"
        yield from self._of_state(record, record.plant)

    def _of_state(self, record: Record, plant: int) -> Iterator[str]:
        task = record.data.get("task")
        if task:
            yield from self._of_task(str(task), plant)
        line = self.timeline.plants.get(plant)
        if line is None:
            return
        state = line.state_at(record.on.toordinal())
        reservoirs = {name for name, row in self.catalog.containers.items() if row.has_reservoir}
        if record.kind == "reservoir" and state.container not in reservoirs:
            yield f"it stands in {state.container} then, which has no reservoir"
        if (
            record.kind == "done"
            and record.data.get("care") == "refilling"
            and state.container not in reservoirs
        ):
            yield "there is no reservoir to refill then"
        if record.kind == "parted" and self.added[plant].data.get("on_mother") is None:
            yield "it hangs on no mother"

    def _of_task(self, task: str, plant: int) -> Iterator[str]:
        parts = task.split("/")
        if parts[0] != "task" or len(parts) != 5:
            return
        if int(parts[2]) > self.pottings.get(plant, 1):
            yield f"task {task} is not there: no potting {parts[2]}"
        line = self.timeline.plants.get(plant)
        given = {name for state in line.states for name in state.aid_names} if line is not None else set()
        if parts[3] not in _NO_AIDS and parts[3] not in given:
            yield f"task {task} is not there: no {parts[3]}"


def _too_early(record: Record, added: Record) -> str:
    came = came_on(added)
    if came is not None and record.on < came:
        return f"it lies before its plant came, {came}"
    return f"it lies before its plant was entered, {added.on}"


def _plants_in(data: Mapping[str, Any]) -> Iterator[int]:
    for key in ("into", "on_mother"):
        if data.get(key) is not None:
            yield int(data[key])
    for number in data.get("plants") or ():
        yield int(number)
