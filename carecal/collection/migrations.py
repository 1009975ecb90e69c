"""The numbered steps that make a collection's tables, and the check that a file is neither foreign nor newer."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING, NamedTuple

from carecal import __version__
from carecal.collection.chain import fill_links
from carecal.collection.database import connect, storage_errors, transaction
from carecal.errors import StorageError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

__all__ = ["APPLICATION_ID", "MIGRATIONS", "Migration", "check_version", "copy_database", "migrate"]

APPLICATION_ID = 0x63617265  # 'care' in ASCII, in the header of each file


class Migration(NamedTuple):
    """One step: its number is the file's version afterwards, its statements run one by one in one transaction.

    What SQL alone cannot work out is done by `fill`, in the same transaction after the statements.
    """

    number: int
    name: str
    statements: tuple[str, ...]
    fill: Callable[[sqlite3.Connection], None] | None = None


_APPEND_ONLY = "select raise(abort, 'the journal is append-only')"
_NAMING = "kind in ('added', 'renamed', 'undone', 'amended')"

MIGRATIONS: tuple[Migration, ...] = (
    Migration(
        1,
        "journal, ledgers and sessions",
        (
            """create table entry (
                n integer primary key check (n > 0),
                command integer not null check (command > 0),
                kind text not null check (kind <> ''),
                plant integer check (plant > 0),
                on_day text not null check (on_day glob '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
                written text not null check (written glob '????-??-??T??:??:??Z'),
                clock text not null check (clock glob '????-??-??T??:??:??Z'),
                author text not null,
                data text not null check (json_valid(data))
            ) strict""",
            "create index entry_of_plant on entry (plant, n)",
            "create index entry_of_command on entry (command)",
            f"create index entry_that_names on entry (n) where {_NAMING}",
            f"create trigger entry_kept_whole before update on entry begin {_APPEND_ONLY}; end",
            f"create trigger entry_kept before delete on entry begin {_APPEND_ONLY}; end",
            """create trigger entry_not_replaced before insert on entry
                when exists (select 1 from entry where n = new.n)
                begin select raise(abort, 'the journal is append-only'); end""",
            "create table plant_id (id text primary key, plant integer not null unique) strict, without rowid",
            """create table ledger (
                calendar text not null, uid text not null, digest text not null,
                sequence integer not null check (sequence >= 0), stamp text not null, start text not null,
                body blob not null, primary key (calendar, uid)
            ) strict, without rowid""",
            """create table calendar (
                id integer primary key, name text not null, token_hash text not null unique,
                options text not null check (json_valid(options)), created text not null, revoked text,
                fetched text, fetched_by text
            ) strict""",
            """create table published (
                calendar integer primary key references calendar (id), as_of text not null,
                head integer not null, etag text not null, modified text not null, body blob not null,
                gzip blob not null, note text not null default ''
            ) strict""",
            "create table secret (key text primary key, value text not null) strict, without rowid",
            "create table cache (key text primary key, stamp text not null, value blob not null) strict",
            "create table session (id_hash text primary key, created text not null, seen text not null) strict",
            """create table one_time (
                hash text primary key, purpose text not null, expires text not null, used text
            ) strict""",
            """create table sitter (
                id integer primary key, name text not null, token_hash text not null unique,
                start text not null, until text not null, created text not null, ended text
            ) strict""",
        ),
    ),
    Migration(
        2,
        "digests of entries and ledgers",
        (
            "create table entry_link (n integer primary key, link blob not null) strict",
            f"create trigger entry_link_kept before update on entry_link begin {_APPEND_ONLY}; end",
            f"create trigger entry_link_stays before delete on entry_link begin {_APPEND_ONLY}; end",
            "alter table ledger add column seal blob",
            "create table ledger_seal (calendar text primary key, seal blob not null) strict, without rowid",
        ),
        fill_links,
    ),
    Migration(
        3,
        "sensors and their lines",
        (
            """create table sensor (
                id integer primary key, place text not null, token_hash text not null unique,
                created text not null, revoked text, heard text, gathered text, note text not null default ''
            ) strict""",
            """create table sensor_line (
                sensor integer not null references sensor (id), at text not null, day text not null,
                temp_c real, rh_pct real, medium_c real, ppfd real,
                entered integer not null default 0, primary key (sensor, at)
            ) strict, without rowid""",
        ),
    ),
)


def migrate(connection: sqlite3.Connection, path: Path, steps: Sequence[Migration] = MIGRATIONS) -> int:
    """Bring a file up to the newest step and return the version it had; an older one is copied first.

    Each step is one transaction with its own record, so an interruption leaves a whole, older file.

    Args:
        connection: A writing connection to the file.
        path: The file; its copy stands beside it as `collection-before-N.db`.
        steps: All steps, oldest first.

    Raises:
        StorageError: When the file is of another program, is newer, or cannot be written.
    """
    had = check_version(connection, path, steps)
    if had == steps[-1].number:
        return had
    if had:
        _keep_copy(connection, path, steps[-1].number)
    for step in steps:
        _run(connection, step)
    return had


def check_version(connection: sqlite3.Connection, path: Path, steps: Sequence[Migration] = MIGRATIONS) -> int:
    """Return the version of a file; 0 for one without any table.

    Raises:
        StorageError: When the file is of another program, or newer: then it names the version needed.
    """
    with storage_errors(path):
        version = int(connection.execute("pragma user_version").fetchone()[0])
        mark = int(connection.execute("pragma application_id").fetchone()[0])
        is_empty = connection.execute("select count(*) from sqlite_schema").fetchone()[0] == 0
    if mark != APPLICATION_ID and not (is_empty and mark == 0 and version == 0):
        raise StorageError(f"{path} is a database of another program; allowed is a collection")
    if version > steps[-1].number:
        needed = _needed(connection, version)
        raise StorageError(f"{path} was written by a newer program; it needs carecal {needed}")
    return version


def _needed(connection: sqlite3.Connection, version: int) -> str:
    """The program that first wrote that step; the file itself tells it."""
    try:
        row = connection.execute("select program from migration where number = ?", (version,)).fetchone()
    except sqlite3.Error:
        row = None
    return f"{row[0]} or later" if row else f"for files of format {version}, this is {__version__}"


def _run(connection: sqlite3.Connection, step: Migration) -> None:
    with transaction(connection):
        # Read inside the transaction: another program may have run the step since we looked.
        if int(connection.execute("pragma user_version").fetchone()[0]) >= step.number:
            return
        connection.execute(
            "create table if not exists migration (number integer primary key, name text not null,"
            " program text not null) strict"
        )
        for statement in step.statements:
            connection.execute(statement)
        if step.fill is not None:
            step.fill(connection)
        connection.execute("insert into migration values (?, ?, ?)", (step.number, step.name, __version__))
        connection.execute(f"pragma application_id={APPLICATION_ID}")
        connection.execute(f"pragma user_version={step.number:d}")


def _keep_copy(connection: sqlite3.Connection, path: Path, number: int) -> None:
    copy_database(connection, path.with_name(f"{path.stem}-before-{number}{path.suffix}"))


def copy_database(connection: sqlite3.Connection, target: Path) -> None:
    """Write a checked copy of the whole database as one plain file, also while others write to it.

    Raises:
        StorageError: When the copy cannot be written or does not pass SQLite's check of integrity.
    """
    part = target.with_name(f".{target.name}.part")
    with storage_errors(target):
        part.unlink(missing_ok=True)
        try:
            with closing(connect(part, create=True)) as copy:
                connection.backup(copy)
                copy.execute("pragma journal_mode=delete")
                found = copy.execute("pragma integrity_check").fetchone()[0]
            if found != "ok":
                raise StorageError(f"{target}: the copy is damaged: {found}")
            with part.open("rb+") as file:
                os.fsync(file.fileno())
            part.replace(target)
        finally:
            part.unlink(missing_ok=True)
