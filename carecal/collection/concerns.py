"""Which plants an entry can move the plan of: its own, those it names, or all of them; it plans nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

    from carecal.collection.records import Record

__all__ = ["concerned", "mothers_of"]

NOBODY = frozenset({"clock-confirmed"})
_OTHERS = ("on_mother",)


def concerned(
    records: Iterable[Record],
    of_command: Callable[[int], Iterable[Record]],
    of_entry: Callable[[int], Iterable[Record]],
) -> frozenset[int] | None:
    """Return the numbers of the plants whose plan some records can move; None: all of them.

    A plant's plan also rests on its mother and on what sits on it: who keeps plans follows these besides.

    Args:
        records: The records, in any order.
        of_command: Gives the records of a command.
        of_entry: Gives the record of an entry, none where there is none.
    """
    found: set[int] = set()
    for record in records:
        mine = _concerned_by(record, of_command, of_entry)
        if mine is None:
            return None
        found |= mine
    return frozenset(found)


def _concerned_by(
    record: Record,
    of_command: Callable[[int], Iterable[Record]],
    of_entry: Callable[[int], Iterable[Record]],
) -> frozenset[int] | None:
    data = record.data
    if record.kind == "undone":
        return _before(record, of_command(int(data["command"])), of_command, of_entry)
    if record.kind == "amended":
        former = _before(record, of_entry(int(data["entry"])), of_command, of_entry)
        return None if former is None else former | set(_named(data.get("changes", {})))
    named = set(_named(data))
    if record.plant is not None:
        return frozenset({record.plant, *named})
    if data.get("plants") is not None and record.kind != "rounds-taken":
        return frozenset(named)
    return frozenset() if record.kind in NOBODY else None


def _before(
    record: Record,
    earlier: Iterable[Record],
    of_command: Callable[[int], Iterable[Record]],
    of_entry: Callable[[int], Iterable[Record]],
) -> frozenset[int] | None:
    """Return whom the earlier records concern that a record takes back or replaces."""
    told = [each for each in earlier if each.n < record.n]
    return concerned(told, of_command, of_entry) if told else None


def _named(data: Mapping[str, object]) -> Iterator[int]:
    """Yield the plants that an entry's fields name and whose plan they can move."""
    plants = data.get("plants")
    if isinstance(plants, list):
        yield from plants
    for key in _OTHERS:
        other = data.get(key)
        if isinstance(other, int):
            yield other


def mothers_of(records: Iterable[Record]) -> dict[int, set[int]]:
    """Return the mothers that each plant ever sat on by its entries, undone ones too, by its number.

    Args:
        records: All entries of the plants, and the amendments.
    """
    known: dict[int, int] = {}
    found: dict[int, set[int]] = {}
    for record in records:
        plant, data = record.plant, record.data
        if record.kind == "amended":
            plant, data = known.get(int(data["entry"])), data.get("changes", {})
        elif plant is not None:
            known[record.n] = plant
        if plant is not None and data.get("on_mother") is not None:
            found.setdefault(plant, set()).add(int(data["on_mother"]))
    return found
