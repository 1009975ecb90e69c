"""Reading a journal: its records, its newest entries and which id names which plant; it writes nothing."""

from __future__ import annotations

import json
from datetime import date
from typing import TYPE_CHECKING, Any

from carecal.catalog.names import near
from carecal.collection.concerns import concerned
from carecal.collection.database import storage_errors
from carecal.collection.records import Record, taken_back
from carecal.errors import StorageError, UnknownName

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Collection, Iterable, Sequence
    from pathlib import Path
    from types import TracebackType
    from typing import Self

__all__ = ["JournalReader"]

_SELECT = "select n, command, kind, plant, on_day, written, clock, author, data from entry"
_FIRST_DAY = (
    "select min(on_day) from entry where kind in ('added', 'renamed', 'undone', 'amended') and kind = 'added'"
)
_NAMING = " where kind in ('added', 'renamed', 'undone', 'amended')"  # as the index entry_that_names has it


class JournalReader:
    """One collection's records, read from its folder's database.

    Args:
        folder: The collection's folder.
        connection: An open connection to its database; the ledgers and sessions kept there use it too.
    """

    def __init__(self, folder: Path, connection: sqlite3.Connection) -> None:
        self.folder, self.connection = folder, connection

    def close(self) -> None:
        """Close the connection; the journal cannot be used any more."""
        self.connection.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def records(self, plants: Collection[int] | None = None) -> list[Record]:
        """Return the journal by entry number.

        Args:
            plants: Plant numbers; then only their entries and those of the collection as a whole are read.

        Raises:
            StorageError: When the file cannot be read.
        """
        if plants is None:
            return _records(self._rows(_SELECT + " order by n"))
        rows = self._rows(_SELECT + " where plant is null")
        for plant in set(plants):
            rows += self._rows(_SELECT + " where plant = ?", plant)
        return _records(sorted(rows))

    def record(self, entry: int) -> Record:
        """Return one entry's record.

        Raises:
            UnknownName: When there is no entry of that number.
        """
        found = _records(self._rows(_SELECT + " where n = ?", entry))
        if not found:
            raise UnknownName("entry", str(entry))
        return found[0]

    def command_records(self, command: int) -> list[Record]:
        """Return the entries of one command, an empty list when there is no such command."""
        return _records(self._rows(_SELECT + " where command = ? order by n", command))

    def command_of(self, entry: int) -> int:
        """Return the command that an entry was written by.

        Raises:
            UnknownName: When there is no entry of that number.
        """
        return self.record(entry).command

    def head(self) -> int:
        """Return the newest entry's number, 0 while there is none."""
        return self._number("select max(n) from entry")

    def commands_on(self, day: date, kinds: Collection[str]) -> dict[int, list[Record]]:
        """Return the commands all of whose entries are of some kinds and of one day, with their records.

        Args:
            day: The day.
            kinds: Kinds of entries.
        """
        rows = self._rows("select distinct command from entry where on_day = ?", day.isoformat())
        found = {int(command): self.command_records(command) for (command,) in rows}
        return {
            command: records
            for command, records in sorted(found.items())
            if all(record.kind in kinds and record.on == day for record in records)
        }

    def undone(self) -> list[Record]:
        """Return the entries that take commands back, by number."""
        return _records(self._rows(_SELECT + _NAMING + " and kind = 'undone' order by n"))

    def amended(self) -> list[Record]:
        """Return the entries that put others right, by number."""
        return _records(self._rows(_SELECT + _NAMING + " and kind = 'amended' order by n"))

    def since(self, entry: int) -> list[Record]:
        """Return the entries after one, by number.

        Args:
            entry: The newest entry that was known, 0 for none.
        """
        return _records(self._rows(_SELECT + " where n > ? order by n", entry))

    def changed_since(self, entry: int) -> frozenset[int] | None:
        """Return the plants whose plan the entries after one can move; None: all of them.

        Args:
            entry: The newest entry that was known, 0 for none.
        """
        return self.concerned(self.since(entry))

    def concerned(self, records: Iterable[Record]) -> frozenset[int] | None:
        """Return the plants whose plan records can move, what they take back included; None: all of them."""
        return concerned(
            records,
            self.command_records,
            lambda entry: _records(self._rows(_SELECT + " where n = ?", entry)),
        )

    def first_day(self) -> date | None:
        """Return the first day on which a plant came, one whose coming was undone too; None without any."""
        found = self._rows(_FIRST_DAY)[0][0]
        return date.fromisoformat(found) if found is not None else None

    def most_plants(self) -> int:
        """Return the highest number that a plant ever had; 0 without any."""
        return self._number("select max(plant) from entry")

    def last_command(self) -> int | None:
        """Return the newest command that still counts and is no undo itself, or None."""
        undone = self.undone()
        passed = taken_back(undone) | {record.command for record in undone}
        command = self._newest_command()
        while command > 0 and command in passed:
            command -= 1
        return command or None

    def ids(self) -> dict[str, int]:
        """Return the plant number of each id that now names a plant, by number."""
        return dict(self._rows("select id, plant from plant_id order by plant"))

    def added_ids(self) -> dict[int, str]:
        """Return the id under which each plant was added, by number; plants whose adding was undone too."""
        rows = self._rows(_SELECT + _NAMING + " and kind = 'added' order by n")
        return {record.plant: record.data["id"] for record in _records(rows) if record.plant is not None}

    def number_of(self, name: str) -> int:
        """Return the number of the plant that an id names.

        Raises:
            UnknownName: When no plant has that id, with the ids that resemble it.
        """
        found = self._rows("select plant from plant_id where id = ?", name)
        if not found:
            meant = self.named(name)
            raise UnknownName("plant", name, [meant] if meant else near(name, self.ids()))
        return int(found[0][0])

    def named(self, name: str) -> str | None:
        """Return the id of the one plant that people read under a name, in any case; None for none or several."""
        names: dict[int, str] = {}
        undone = taken_back(self.undone())
        for record in self._naming():
            told = record.data.get("changes", record.data).get("name")
            if record.plant is not None and told and record.command not in undone:
                names[record.plant] = str(told).casefold()
        found = [plant_id for plant_id, number in self.ids().items() if names.get(number) == name.casefold()]
        return found[0] if len(found) == 1 else None

    def id_of(self, number: int) -> str:
        """Return the id of a plant by its number.

        Raises:
            UnknownName: When there is no such plant, or its adding was undone.
        """
        found = self._rows("select id from plant_id where plant = ?", number)
        if not found:
            raise UnknownName("plant number", str(number))
        return str(found[0][0])

    def _naming(self) -> list[Record]:
        return _records(self._rows(_SELECT + _NAMING + " order by n"))

    def _newest_command(self) -> int:
        return self._number("select max(command) from entry")

    def _number(self, query: str) -> int:
        return int(self._rows(query)[0][0] or 0)

    def _rows(self, query: str, *values: object) -> list[Any]:
        with storage_errors(self.connection):
            return self.connection.execute(query, values).fetchall()


def _records(rows: Sequence[Sequence[Any]]) -> list[Record]:
    """Return the rows as records; one parse for all their data, because a parse each takes twice the time."""
    try:
        parsed = json.loads("[" + ",".join([row[8] for row in rows]) + "]")
    except (ValueError, TypeError):
        parsed = [_fields(row[0], row[8]) for row in rows]
    days: dict[str, date] = {}
    values = []
    for (n, command, kind, plant, on_day, written, clock, author, _), data in zip(rows, parsed, strict=True):
        on = days.get(on_day)
        if on is None:
            on = days[on_day] = _day(n, on_day)
        values.append((n, command, kind, plant, on, written, author, data, "" if clock == written else clock))
    return list(map(Record._make, values))


def _fields(n: int, text: object) -> Any:
    try:
        return json.loads(text)  # type: ignore[arg-type]  # what is no text is damaged
    except (ValueError, TypeError) as error:
        raise StorageError(f"entry {n} is damaged, its fields cannot be read; restore a backup") from error


def _day(n: int, text: str) -> date:
    try:
        return date.fromisoformat(text)
    except (ValueError, TypeError) as error:
        raise StorageError(f"entry {n} is of {text}, which is no day; restore a backup") from error
