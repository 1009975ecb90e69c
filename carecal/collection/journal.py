"""The journal: entries appended as commands, and nothing ever taken out; what they mean is decided elsewhere.

It imports no pydantic, so that opening a collection stays cheap: the entries that come in dump themselves.
"""

from __future__ import annotations

import json
from contextlib import closing
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from carecal.collection.chain import add_link
from carecal.collection.database import FILE_NAME, connect, connect_copy, storage_errors, transaction
from carecal.collection.entry_limits import doubts, signature_doubt
from carecal.collection.identifiers import names_of
from carecal.collection.journal_reader import JournalReader
from carecal.collection.migrations import MIGRATIONS, check_version, migrate
from carecal.collection.records import Record
from carecal.collection.references import map_plants
from carecal.errors import Refused, StorageError

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Callable, Sequence
    from pathlib import Path
    from typing import Self

    from carecal.collection.entries import Entry

__all__ = ["FOLDERS", "Journal", "stamp_of"]

FOLDERS = ("profiles", "shared", "photos")


class _TrialOver(Exception):  # noqa: N818 - a signal that rolls a trial back, not an error
    """Leaves a transaction that was only a trial."""


def stamp_of(instant: datetime) -> str:
    """Return an aware instant as the journal writes it: ISO, UTC, whole seconds.

    Raises:
        ValueError: When the instant has no zone.
    """
    if instant.tzinfo is None:
        raise ValueError(f"an instant without a zone: {instant.isoformat()}")
    return instant.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


class Journal(JournalReader):
    """The append-only record of one collection, in its folder's database."""

    @classmethod
    def create(cls, folder: Path) -> Self:
        """Make an empty collection in a folder, with a namespace of its own for the names of events.

        Raises:
            Refused: When a collection stands there already.
            StorageError: When the folder cannot be written.
        """
        path = folder / FILE_NAME
        if path.exists():
            raise Refused(f"a collection stands in {folder} already; choose another folder")
        import secrets  # noqa: PLC0415 - brings much along and is needed once in a collection's life

        part = folder / f".{FILE_NAME}.{secrets.token_hex(4)}.part"
        with storage_errors(path):
            for name in ("", *FOLDERS):
                (folder / name).mkdir(parents=True, exist_ok=True)
            try:
                _make(part)
                part.replace(path)
            finally:
                part.unlink(missing_ok=True)
        return cls.open(folder)

    @classmethod
    def begin(cls, folder: Path) -> Self:
        """Return an empty journal in a folder: a new one, or one whose maker was killed before its first entry.

        Raises:
            Refused: A collection with entries stands there.
            StorageError: The folder cannot be written.
        """
        try:
            return cls.create(folder)
        except Refused:
            journal = cls.open(folder)
            if journal.head() == 0:
                return journal
            journal.close()
            raise

    @classmethod
    def open(cls, folder: Path, *, readonly: bool = False) -> Self:
        """Open the collection in a folder; an older file is migrated after a copy was made of it.

        Raises:
            StorageError: When there is none, or it is newer, locked, damaged or of another program.
        """
        path = folder / FILE_NAME
        connection = connect(path, readonly=readonly)
        try:
            _check_begun(connection, path)
            (_check_current if readonly else migrate)(connection, path)
        except BaseException:
            connection.close()
            raise
        return cls(folder, connection)

    @classmethod
    def open_copy(cls, folder: Path) -> Self:
        """Open a copy in memory of the collection in a folder that cannot be written; what it is told is forgotten.

        Raises:
            StorageError: When there is none, or it is older, newer, damaged or of another program.
        """
        path = folder / FILE_NAME
        connection = connect_copy(path)
        try:
            _check_begun(connection, path)
            _check_current(connection, path)
        except BaseException:
            connection.close()
            raise
        return cls(folder, connection)

    def append(
        self,
        entries: Sequence[Entry],
        *,
        by: str,
        written: datetime,
        clock: datetime,
        apart: bool = False,
        check: Callable[[tuple[Record, ...]], None] | None = None,
    ) -> tuple[Record, ...]:
        """Write entries as one command, or each as its own, and return their records once they are safe on the disk.

        Args:
            entries: In the order in which they count; later ones may name plants that earlier ones add.
            by: Who says so.
            written: The instant they count as written.
            clock: The real clock's instant.
            apart: Whether each entry is a command of its own, to be taken back alone; all are written, or none.
            check: Called with the records while nobody else can write; where it raises, nothing is written.

        Raises:
            UnknownName: When an entry names a plant that does not exist; nothing is written.
            Refused: When an id would name two plants, `by` is no name, a day is too far away or a zone does not exist;
                nothing is written.
            StorageError: When the file cannot be written.
        """
        commands = [[entry] for entry in entries] if apart else [entries]
        with transaction(self.connection):
            records = tuple(
                record
                for command in commands
                for record in self._append(command, _checked_by(by), stamp_of(written), stamp_of(clock))
            )
            if check is not None:
                check(records)
        return records

    def preview(
        self, entries: Sequence[Entry], *, by: str, written: datetime, clock: datetime
    ) -> tuple[Record, ...]:
        """Return the records that `append` would write, and write nothing; it raises what `append` raises."""
        records: tuple[Record, ...] = ()
        try:
            with transaction(self.connection):
                records = self._append(entries, _checked_by(by), stamp_of(written), stamp_of(clock))
                raise _TrialOver  # noqa: TRY301 - leaving by an error is what rolls the trial back
        except _TrialOver:
            return records

    def restore_records(self, records: Sequence[Record]) -> int:
        """Add those of a whole journal's records that come after ours and return how many these are.

        Raises:
            Refused: When one of ours differs from the record of its number; nothing is written.
            StorageError: When the file cannot be written.
        """
        with transaction(self.connection):
            ours = self.records()
            for mine, theirs in zip(ours, records, strict=False):
                if mine != theirs:
                    raise Refused(
                        f"entry {theirs.n} of the file is not entry {mine.n} of this collection;"
                        " import a journal into an empty collection or the one it came from"
                    )
            added = records[len(ours) :]
            for record in added:
                self._insert(record)
            self._index_ids()
        return len(added)

    def _append(self, entries: Sequence[Entry], by: str, written: str, clock: str) -> tuple[Record, ...]:
        command = self._newest_command() + 1
        real = "" if clock == written else clock
        records = []
        for n, entry in enumerate(entries, self.head() + 1):
            _check_limits(entry)
            plant, data = self._dump(entry)
            record = Record(n, command, entry.kind, plant, entry.on, written, by, data, real)
            self._insert(record)
            self._index_id(record)
            records.append(record)
        return tuple(records)

    def _dump(self, entry: Entry) -> tuple[int | None, dict[str, Any]]:
        fields = entry.model_dump(mode="json", exclude_none=True, exclude={"on", "plant"})
        data = map_plants(entry.kind, fields, self.number_of)
        name: str | None = getattr(entry, "plant", None)
        if entry.kind == "added":
            return self.most_plants() + 1, {"id": name, **data}
        return None if name is None else self.number_of(name), data

    def _insert(self, record: Record) -> None:
        text = json.dumps(record.data, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
        head = (record.n, record.command, record.kind, record.plant, record.on.isoformat(), record.written)
        self.connection.execute(
            "insert into entry (n, command, kind, plant, on_day, written, clock, author, data)"
            " values (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (*head, record.clock or record.written, record.by, text),
        )
        add_link(self.connection, record.n)

    def _index_id(self, record: Record) -> None:
        """Keep the table of present ids up to date: a new plant is one row, anything else a new fold."""
        if record.kind in {"renamed", "undone", "amended"}:
            self._index_ids()
        elif record.kind == "added":
            name = record.data["id"]
            if self._rows("select 1 from plant_id where id = ?", name):
                raise Refused(f"a plant '{name}' exists already; choose another id")
            self.connection.execute("insert into plant_id values (?, ?)", (name, record.plant))

    def _index_ids(self) -> None:
        ids = names_of(self._naming())
        self.connection.execute("delete from plant_id")
        rows = [(name, number) for number, name in ids.items()]
        self.connection.executemany("insert into plant_id values (?, ?)", rows)


def _make(path: Path) -> None:
    """Write a whole new database that is no log-keeping one yet, so that it can be put in place by its name."""
    import uuid  # noqa: PLC0415 - asks the platform for much and is needed once in a collection's life

    with closing(connect(path, create=True)) as connection:
        migrate(connection, path)
        with transaction(connection):
            rows = [("namespace", str(uuid.uuid4())), ("generation", "1")]
            connection.executemany("insert into secret values (?, ?)", rows)
        connection.execute("pragma journal_mode=delete")


def _check_begun(connection: sqlite3.Connection, path: Path) -> None:
    if check_version(connection, path) == 0:
        raise StorageError(f"{path} is empty, no collection; restore it from a backup")


def _check_current(connection: sqlite3.Connection, path: Path) -> None:
    if check_version(connection, path) != MIGRATIONS[-1].number:
        raise StorageError(f"{path} is of an older program; open it once for writing")


def _check_limits(entry: Entry) -> None:
    for field, doubt in doubts(entry):
        raise Refused(f"{field}: {doubt}")


def _checked_by(by: str) -> str:
    if doubt := signature_doubt(by):
        raise Refused(doubt)
    return by
