"""A collection in memory: entries in, plans out, without a database; tests of several folders share it."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from datetime import date
from functools import cache
from pathlib import Path

from carecal.catalog.tables import Catalog
from carecal.collection.entries import CollectionStarted, Entry, MonthRow, PlaceAdded, PlantAdded
from carecal.collection.records import Record
from carecal.collection.timeline import fold
from carecal.planning.planner import Planner

TABLES = Path(__file__).parent / "published" / "tables"


@cache
def demo_climates() -> dict[str, tuple[MonthRow, ...]]:
    """Return the twelve rows of each place of climate_demo.csv."""
    rows: dict[str, list[MonthRow]] = {}
    with (TABLES / "climate_demo.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            values = {key: row[key] for key in row if key not in {"place", "source"}}
            rows.setdefault(row["place"], []).append(MonthRow.model_validate(values))
    return {place: tuple(found) for place, found in rows.items()}


class Bench:
    """A collection in memory: entries in, plans out."""

    def __init__(self, catalog: Catalog, start: date, *, latitude: float = 54.3) -> None:
        self.catalog = catalog
        self.records: list[Record] = []
        self._numbers: dict[str, int] = {}
        self.write(
            CollectionStarted(
                on=start, name="Bench", latitude=latitude, longitude=10, timezone="Europe/Berlin"
            )
        )

    def write(self, *entries: Entry) -> Bench:
        """Add entries as one command."""
        command = self.records[-1].command + 1 if self.records else 1
        for entry in entries:
            data = entry.model_dump(mode="json", exclude_none=True, exclude={"on", "plant"})
            name = getattr(entry, "plant", None)
            if isinstance(entry, PlantAdded):
                self._numbers[entry.plant] = len(self._numbers) + 1
                data["id"] = entry.plant
            for key in ("plants",):
                if data.get(key):
                    data[key] = [self._numbers[n] for n in data[key]]
            if data.get("on_mother"):
                data["on_mother"] = self._numbers[data["on_mother"]]
            number = self._numbers[name] if name else None
            n = len(self.records) + 1
            written = f"{entry.on.isoformat()}T09:{n // 60 % 60:02d}:{n % 60:02d}Z"
            self.records.append(Record(n, command, entry.kind, number, entry.on, written, "owner", data))
        return self

    def planner(self, as_of: date, until: date | None = None) -> Planner:
        """Return the planner of a day."""
        stages = sorted(self.catalog.stages.values(), key=lambda stage: stage.order)
        reservoirs = frozenset(name for name, row in self.catalog.containers.items() if row.has_reservoir)
        return Planner(fold(self.records, as_of, stages, reservoirs), self.catalog, "bench", until)

    def place(self, name: str, rows: Sequence[MonthRow], on: date, kind: str = "warm-sill") -> Bench:
        """Add a place with twelve monthly rows."""
        return self.write(PlaceAdded(on=on, place=name, place_kind=kind, climate=tuple(rows)))
