"""The first start of a new version: a full copy before anything is opened, and a look over everything after it."""

from __future__ import annotations

from contextlib import closing
from typing import TYPE_CHECKING

from carecal import __version__
from carecal.app.files.upkeep import findings
from carecal.app.store import set_secret
from carecal.collection.backup import backup
from carecal.collection.database import FILE_NAME, connect, storage_errors

if TYPE_CHECKING:
    import sqlite3
    from pathlib import Path

    from carecal.app.door import Collection
    from carecal.app.now import Now

__all__ = ["copy_before", "look_after"]

PROGRAM = "program"  # the version that served a collection last


def copy_before(folder: Path) -> Path | None:
    """Write a full copy beside a collection that another version served last; None where none is needed.

    It is called before the collection is opened for writing, so that the copy is as the other version left it. Where it
    was made already and the start broke off, that copy stays.

    Args:
        folder: The collection's folder.

    Raises:
        StorageError: The collection cannot be read, or the copy not be written: then nothing new begins.
    """
    had = _program_of(folder)
    if had in {"", __version__}:
        return None
    target = folder / f"before-{__version__}.zip"
    if not target.exists():
        backup(folder, target)
    return target


def look_after(collection: Collection, now: Now, *, is_new: bool) -> list[str]:
    """Remember which version serves a collection now; of a new one return what `verify` finds wrong.

    Args:
        collection: The collection, opened for writing.
        now: The moment of the command.
        is_new: Whether another version served it last.
    """
    found = findings(collection, now) if is_new else []
    if _said_program(collection.journal.connection) != __version__:
        set_secret(collection.journal.connection, PROGRAM, __version__)
    return found


def _program_of(folder: Path) -> str:
    """Return the version that served a collection last, else the newest that changed its file; '' for no collection."""
    path = folder / FILE_NAME
    if not path.is_file():
        return ""
    with closing(connect(path, readonly=True)) as connection, storage_errors(path):
        said = _said_program(connection)
        if said:
            return said
        row = connection.execute("select program from migration order by number desc limit 1").fetchone()
    return "" if row is None else str(row[0])


def _said_program(connection: sqlite3.Connection) -> str:
    with storage_errors(connection):
        row = connection.execute("select value from secret where key = ?", (PROGRAM,)).fetchone()
    return "" if row is None else str(row[0])
