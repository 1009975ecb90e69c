"""Which id names which plant: ids change and may be used again, plant numbers never."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from carecal.collection.records import effective
from carecal.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Iterable

    from carecal.collection.records import Record

__all__ = ["NAMING_KINDS", "Names", "names_of"]

NAMING_KINDS = frozenset({"added", "renamed", "undone", "amended"})


def names_of(records: Iterable[Record]) -> dict[int, str]:
    """Return the id of each plant by its number, as a whole journal leaves it; renamings count by their day.

    Args:
        records: The journal, or at least its entries of the `NAMING_KINDS`.

    Raises:
        Refused: When one id would name two plants.
    """
    ids: dict[int, str] = {}
    for record in effective((r for r in records if r.kind in NAMING_KINDS), date.max):
        if record.plant is None:
            continue
        if record.kind == "added":
            ids[record.plant] = record.data["id"]
        elif record.plant in ids and record.data.get("to"):
            ids[record.plant] = record.data["to"]
    _check_single(ids)
    return ids


def _check_single(ids: dict[int, str]) -> None:
    seen: set[str] = set()
    for name in ids.values():
        if name in seen:
            raise Refused(f"'{name}' would name two plants; rename one of them first")
        seen.add(name)


class Names:
    """The ids as they stand after each entry, for walking a journal in the order in which it was written."""

    def __init__(self) -> None:
        self._naming: list[Record] = []
        self.ids: dict[int, str] = {}
        self.numbers: dict[str, int] = {}

    def take(self, record: Record) -> None:
        """Go on to the state after one more entry.

        Raises:
            Refused: When one id would name two plants.
        """
        if record.kind not in NAMING_KINDS:
            return
        self._naming.append(record)
        if record.kind == "added" and record.plant is not None and record.data["id"] not in self.numbers:
            self.ids[record.plant] = record.data["id"]
            self.numbers[record.data["id"]] = record.plant
            return
        self.ids = names_of(self._naming)
        self.numbers = {name: number for number, name in self.ids.items()}
