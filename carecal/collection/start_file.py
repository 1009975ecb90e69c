"""The start file (TOML): `[collection]`, `[[place]]` and `[[plant]]`, with the options of the commands as keys."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from carecal.catalog.files import read_toml
from carecal.catalog.schema import shown, unknown_key
from carecal.collection.climate_file import read_climate
from carecal.collection.columns import plain_number
from carecal.collection.dates import parse_day
from carecal.collection.entries import CollectionStarted, Entry, PlaceAdded, PlantAdded
from carecal.collection.entry_faults import sentences
from carecal.collection.plant_list import id_from_name
from carecal.errors import CarecalError, DataFault, Fault, Refused

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from datetime import date
    from pathlib import Path

    Check = Callable[[Entry], Iterable[tuple[str, str]]]

__all__ = ["START_KEYS", "read_start_file"]

_COLLECTION = {
    "name": "name",
    "latitude": "latitude",
    "longitude": "longitude",
    "elevation": "elevation_m",
    "timezone": "timezone",
}
_PLACE = {
    "id": "place",
    "name": "name",
    "kind": "place_kind",
    "aspect": "aspect",
    "winter": "winter",
    "summer": "summer",
    "lamp": "lamp_ppfd",
    "hours": "lamp_hours",
    "climate": "climate",
}
_PLANT = {
    "id": "plant",
    "name": "name",
    "profile": "profile",
    "medium": "medium",
    "container": "container",
    "size": "size_cm",
    "place": "place",
    "came": "came",
    "potted": "potted",
    "watered": "watered",
    "stage": "stage",
    "roots": "roots",
    "longest": "longest_mm",
    "tips": "tips",
    "leaves": "leaves",
    "plug": "plug",
    "flowering": "flowering",
    "aid": "aids",
    "on-mother": "on_mother",
    "note": "note",
}
_TABLES: dict[str, tuple[type[Entry], Mapping[str, str]]] = {
    "collection": (CollectionStarted, _COLLECTION),
    "place": (PlaceAdded, _PLACE),
    "plant": (PlantAdded, _PLANT),
}
START_KEYS: Mapping[str, Mapping[str, str]] = {table: keys for table, (_, keys) in _TABLES.items()}
_DATES = ("came", "potted", "watered")


def read_start_file(path: Path, *, on: date, check: Check | None = None) -> list[Entry]:
    """Return the entries that start or fill a collection, none of them written yet; mothers before their keikis.

    Args:
        path: The file; paths of climate files in it count from its folder.
        on: The day of the entries; words for dates count from it.
        check: What else may be wrong with an entry, as field and sentence.

    Raises:
        DataFault: With all faults of the file.
        StorageError: When the file cannot be read.
    """
    raw, faults = read_toml(path.name, path)
    if faults:
        raise DataFault(faults)
    reader = _Reader(path, on, check)
    for table, value in raw.items():
        reader.take(table, value)
    reader.check_mothers()
    if reader.faults:
        raise DataFault(reader.faults)
    return reader.ordered()


class _Reader:
    def __init__(self, path: Path, on: date, check: Check | None) -> None:
        self.path, self.on, self.check = path, on, check
        self.faults: list[Fault] = []
        self.entries: dict[tuple[str, str], Entry] = {}

    def fault(self, key: str, message: str) -> None:
        self.faults.append(Fault(self.path.name, key, message))

    def take(self, table: str, value: object) -> None:
        """Read one table, or each of an array of tables."""
        if table not in _TABLES:
            self.fault(table, unknown_key(table, _TABLES))
            return
        rows = [value] if table == "collection" else value
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            brackets = "[collection]" if table == "collection" else f"[[{table}]]"
            self.fault(table, f"{shown(value)} is not a table of values; write {brackets}")
            return
        for number, row in enumerate(rows, 1):
            self._row(table, row, f"{table}.{row.get('id') or row.get('name') or number}")

    def _row(self, table: str, row: Mapping[str, Any], at: str) -> None:
        model, keys = _TABLES[table]
        values: dict[str, object] = {"on": self.on}
        before = len(self.faults)
        for key, value in row.items():
            name = key.replace("_", "-")
            if name not in keys:
                self.fault(f"{at}.{key}", unknown_key(key, keys))
                continue
            try:
                values.update(self._value(keys[name], value))
            except Refused as refusal:
                self.fault(f"{at}.{key}", str(refusal))
        if table == "place":
            values.setdefault("place", id_from_name(str(row.get("name", ""))))
        called = {field: key for key, field in keys.items()}
        try:
            entry = model.model_validate(values)
        except ValidationError as error:
            told = sentences(error, model, called)
            broken = {fault.key for fault in self.faults[before:]}
            for name, sentence in told:
                if f"{at}.{name}" not in broken:
                    self.fault(f"{at}.{name}", sentence)
            return
        if len(self.faults) == before:
            self._keep(table, entry, at, called)

    def _keep(self, table: str, entry: Entry, at: str, called: Mapping[str, str]) -> None:
        key = (table, str(getattr(entry, table, "")))
        if key in self.entries:
            self.fault(f"{at}.id", f"'{key[1]}' appears twice; choose another id")
        self.entries[key] = entry
        for field, sentence in self.check(entry) if self.check is not None else ():
            self.fault(f"{at}.{called.get(field, field)}", sentence)

    def _value(self, field: str, value: object) -> dict[str, object]:
        """The fields of the entry that one key gives."""
        if field in ("winter", "summer"):
            return _day_and_night(field, value)
        if field == "climate":
            return {field: self._climate(value)}
        if field == "aids":
            return {
                field: (value,)
                if isinstance(value, str)
                else tuple(value)
                if isinstance(value, list)
                else value
            }
        if field in _DATES and isinstance(value, str):
            return {field: parse_day(value, today=self.on)}
        if isinstance(value, bool):
            raise Refused(f"{shown(value)} is not allowed here")
        return {field: value}

    def _climate(self, value: object) -> object:
        if not isinstance(value, str):
            return value
        try:
            return read_climate(self.path.parent / value)
        except DataFault as fault:
            self.faults.extend(fault.faults)
        except CarecalError as error:
            raise Refused(str(error)) from error
        return None

    def check_mothers(self) -> None:
        """A mother may stand in the collection already, but none of this file is its own ancestor."""
        for table, name in self.entries:
            if table == "plant" and name in self._mothers(name):
                self.fault(f"plant.{name}.on-mother", f"'{name}' would be its own mother; name another plant")

    def _mothers(self, name: str) -> list[str]:
        """The mother of a plant, hers and so on, as far as this file names them."""
        line: list[str] = []
        entry = self.entries.get(("plant", name))
        while isinstance(entry, PlantAdded) and entry.on_mother and entry.on_mother not in line:
            line.append(entry.on_mother)
            entry = self.entries.get(("plant", entry.on_mother))
        return line

    def ordered(self) -> list[Entry]:
        """The collection, then places, then plants as the file lists them, each after its mother."""
        tables, listed = list(_TABLES), list(self.entries)

        def place(key: tuple[str, str]) -> tuple[int, int, int]:
            line = [key, *(("plant", mother) for mother in self._mothers(key[1]))]
            return (
                tables.index(key[0]),
                max(listed.index(each) for each in line if each in self.entries),
                len(line),
            )

        return [self.entries[key] for key in sorted(self.entries, key=place)]


def _day_and_night(field: str, value: object) -> dict[str, object]:
    parts = str(value).split("/")
    if len(parts) != 2:
        raise Refused(f"{shown(value)} is not a day's and a night's temperature; write it as '20/16' [°C]")
    day, night = (plain_number(part.strip()) for part in parts)
    return {f"{field}_day_c": day, f"{field}_night_c": night}
