"""Connections to a collection's SQLite file and the one way its errors become ours; it knows no tables."""

from __future__ import annotations

import sqlite3
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from carecal.errors import StorageError

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["FILE_NAME", "connect", "connect_copy", "storage_errors", "transaction"]

FILE_NAME = "collection.db"
WAIT_SECONDS = 5.0  # how long a write waits for another program; our choice, because no command writes longer
_WRITING = ("journal_mode=wal", "synchronous=full")
_ALWAYS = ("foreign_keys=on", "recursive_triggers=on", "cell_size_check=on")
_MESSAGES = {
    "SQLITE_BUSY": "is locked by another program; wait until it is done and try again",
    "SQLITE_LOCKED": "is locked by another program; wait until it is done and try again",
    "SQLITE_READONLY": "is read-only; allow writing to its folder and files",
    "SQLITE_PERM": "may not be read; allow reading of its folder and files",
    "SQLITE_CANTOPEN": "cannot be opened; allow reading of its folder and files",
    "SQLITE_NOTADB": "is not a database; restore it from a backup",
    "SQLITE_CORRUPT": "is damaged; restore it from a backup",
    "SQLITE_FULL": "cannot be written, the disk is full; free some space",
    "SQLITE_IOERR_SHMSIZE": "cannot be opened for writing, the disk is full; free some space",
    "SQLITE_IOERR": "cannot be read or written, the disk reports an error",
    "SQLITE_TOOBIG": "cannot take a text or photo of that size",
}


def connect(path: Path, *, readonly: bool = False, create: bool = False) -> sqlite3.Connection:
    """Return a connection to a collection's file; transactions are begun by `transaction` alone.

    A read-only connection also works where the folder itself may not be written, or the disk is full.

    Args:
        path: The file, as `FOLDER/collection.db`.
        readonly: Whether nothing may be written.
        create: Whether a missing file is made.

    Raises:
        StorageError: When the file is missing, is not a database or may not be opened.
    """
    if not create and not path.is_file():
        raise StorageError(f"no collection in {path.parent}; make one with 'carecal init'")
    with storage_errors(path):
        if readonly:
            return _connect_readonly(path)
        return _prepare(_open(path, "mode=rwc" if create else "mode=rw"), _WRITING + _ALWAYS)


def connect_copy(path: Path) -> sqlite3.Connection:
    """Return a connection to a copy in memory, which takes writes and forgets them when it is closed.

    Raises:
        StorageError: When the file is missing, is not a database or may not be read.
    """
    if not path.is_file():
        raise StorageError(f"no collection in {path.parent}; make one with 'carecal init'")
    with storage_errors(path):
        return _prepare(_copy_in_memory(path, path.with_name(path.name + "-wal")), _ALWAYS)


def _open(path: Path, query: str) -> sqlite3.Connection:
    uri = f"{path.resolve().as_uri()}?{query}"
    return sqlite3.connect(uri, uri=True, isolation_level=None, timeout=WAIT_SECONDS)


def _prepare(connection: sqlite3.Connection, pragmas: tuple[str, ...]) -> sqlite3.Connection:
    try:
        for pragma in pragmas:
            connection.execute(f"pragma {pragma}")
        connection.execute("select count(*) from sqlite_schema").fetchone()
    except BaseException:
        connection.close()
        raise
    return connection


def _connect_readonly(path: Path) -> sqlite3.Connection:
    pragmas = ("query_only=on", *_ALWAYS)
    try:
        return _prepare(_open(path, "mode=ro"), pragmas)
    except sqlite3.OperationalError as error:
        if not _name(error).startswith(("SQLITE_CANTOPEN", "SQLITE_READONLY", "SQLITE_IOERR_SHM")):
            raise
    log = path.with_name(path.name + "-wal")
    if log.exists() and log.stat().st_size:
        return _prepare(_copy_in_memory(path, log), pragmas)
    return _prepare(_open(path, "mode=ro&immutable=1"), pragmas)


def _copy_in_memory(path: Path, log: Path) -> sqlite3.Connection:
    """Return a copy that holds what an interrupted writer left in its log, where the folder cannot be written."""
    import shutil  # noqa: PLC0415 - brings all compressions along for a case that is rare
    import tempfile  # noqa: PLC0415 - as above

    with tempfile.TemporaryDirectory(prefix="carecal-") as folder:
        for source in filter(Path.is_file, (path, log)):
            shutil.copyfile(source, Path(folder) / source.name)
        memory = sqlite3.connect(":memory:", isolation_level=None)
        with closing(_open(Path(folder) / path.name, "mode=rw")) as copy:
            copy.backup(memory)
    return memory


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[sqlite3.Connection]:
    """Run a block as one transaction: committed at its end, rolled back on any error.

    Raises:
        StorageError: When the file is locked, read-only, damaged, or the disk is full.
    """
    with storage_errors(_path_of(connection)):
        connection.execute("BEGIN IMMEDIATE")
        try:
            yield connection
            connection.execute("COMMIT")
        except BaseException:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            raise


@contextmanager
def storage_errors(path: Path | sqlite3.Connection) -> Iterator[None]:
    """Translate SQLite's and the system's errors in a block to one line that names the collection.

    Raises:
        StorageError: In place of any `sqlite3.Error` or `OSError`.
    """
    try:
        yield
    except sqlite3.Error as error:
        raise StorageError(_explain(path, error)) from error
    except OSError as error:
        told = (error.strerror or str(error)).lower()
        raise StorageError(f"{error.filename or _file(path)}: {told}") from error


def _explain(path: Path | sqlite3.Connection, error: sqlite3.Error) -> str:
    name = _name(error)
    told = next(
        (text for code, text in _MESSAGES.items() if name == code or name.startswith(code + "_")), None
    )
    return f"{_file(path)} {told}" if told else f"{_file(path)}: {error}"


def _name(error: sqlite3.Error) -> str:
    return str(getattr(error, "sqlite_errorname", ""))


def _file(path: Path | sqlite3.Connection) -> Path:
    return path if isinstance(path, Path) else _path_of(path)


def _path_of(connection: sqlite3.Connection) -> Path:
    try:
        return Path(connection.execute("pragma database_list").fetchone()[2] or "collection")
    except sqlite3.Error:
        return Path("collection")
