"""The file that a full copy is: what it may hold, how much it may unpack to, and what stands in it."""

from __future__ import annotations

import os
import shutil
import sqlite3
import struct
import zipfile
import zlib
from contextlib import closing
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, NamedTuple

from carecal.collection.database import FILE_NAME, connect, storage_errors
from carecal.collection.journal import FOLDERS
from carecal.collection.migrations import check_version
from carecal.errors import StorageError

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["Contents", "checked_contents", "contents_of", "sync", "unpack"]

MOST_FILES = 100_000  # our choice, because ten pictures a day make that in 27 years
FREE_BYTES = 100_000_000  # unpacked without a question of how small the file is; our choice
MOST_TIMES = (
    30  # a larger copy may unpack to so many times its size; our choice, because databases shrink to a tenth
)
_METHODS = frozenset({zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED})
_ENCRYPTED = 0x1
_BROKEN = (
    zipfile.BadZipFile,
    zipfile.LargeZipFile,
    zlib.error,
    struct.error,
    EOFError,
    NotImplementedError,
    RuntimeError,
    ValueError,
    LookupError,
    ArithmeticError,
)


class Contents(NamedTuple):
    """What a collection or a copy of one holds.

    Args:
        namespace: Its random id.
        entries: How many entries.
        newest: The instant of the newest one (ISO), or ''.
        pictures: How many pictures.
    """

    namespace: str
    entries: int
    newest: str
    pictures: int

    def __str__(self) -> str:
        """Return it in words."""
        entries = f"{self.entries} {'entry' if self.entries == 1 else 'entries'}"
        return f"{entries} and {self.pictures} {'picture' if self.pictures == 1 else 'pictures'}"


def unpack(file: Path, folder: Path) -> None:
    """Unpack a copy into a folder that is there; what it holds is not looked at yet.

    Raises:
        StorageError: It is no whole copy, holds what no collection holds, or unpacks to too much.
    """
    try:
        with zipfile.ZipFile(file) as archive:
            names = _checked_names(archive, file)
            for name in ("", *FOLDERS):
                (folder / name).mkdir(exist_ok=True)
            for name in names:
                path = folder / name
                path.parent.mkdir(parents=True, exist_ok=True)
                with archive.open(name) as source, path.open("wb") as copy:
                    shutil.copyfileobj(source, copy)  # never more than the size that was checked
                sync(path)
    except _BROKEN as error:
        told = " ".join(str(error).casefold().split())[:120] or type(error).__name__.lower()
        raise StorageError(f"{file} is not a whole backup: {told}") from error


def _checked_names(archive: zipfile.ZipFile, file: Path) -> list[str]:
    """Return the names of the files in a copy.

    Raises:
        StorageError: It holds other files than a collection has, too many, or too much.
    """
    infos = archive.infolist()
    if len(infos) > MOST_FILES:
        raise StorageError(f"{file} is not a backup: it holds {len(infos)} files; allowed are {MOST_FILES}")
    names = [info.filename for info in infos]
    strange = [name for name in names if not _is_ours(name)]
    if FILE_NAME not in names or strange:
        raise StorageError(f"{file} is not a backup of a collection; it holds {_listed(strange or names)}")
    if len(set(names)) < len(names):
        twice = next(name for name in names if names.count(name) > 1)
        raise StorageError(f"{file} is not a backup of a collection; it holds {_listed([twice])} twice")
    if any(info.flag_bits & _ENCRYPTED or info.compress_type not in _METHODS for info in infos):
        raise StorageError(f"{file} is encrypted or packed otherwise; allowed is what carecal backup writes")
    unpacked, most = sum(info.file_size for info in infos), most_bytes(file.stat().st_size)
    if unpacked > most:
        allowed = f"allowed are {most / 1e6:.0f} MB for a file of {file.stat().st_size / 1e6:.1f} MB"
        raise StorageError(f"{file} is not a backup: it would unpack to {unpacked / 1e6:.0f} MB; {allowed}")
    return names


def most_bytes(size: int) -> int:
    """Return to how much a copy may unpack by its own size. [bytes]"""
    return FREE_BYTES + MOST_TIMES * size


def _is_ours(name: str) -> bool:
    parts = PurePosixPath(name).parts
    return name == FILE_NAME or (
        len(parts) > 1
        and parts[0] in FOLDERS
        and ".." not in parts
        and not name.endswith("/")
        and not set(name) & set("\\:\0")
    )


def _listed(names: list[str]) -> str:
    return ascii(", ".join(sorted(names)[:3]))[1:-1] or "nothing"


def checked_contents(folder: Path, file: Path) -> Contents:
    """Return what an unpacked copy holds, after SQLite found its database whole.

    Args:
        folder: Where it was unpacked.
        file: The copy, for what is said.

    Raises:
        StorageError: Its database is damaged, foreign, newer, or holds no collection.
    """
    path = folder / FILE_NAME
    try:
        with closing(connect(path, readonly=True)) as connection, storage_errors(file):
            _check_database(connection, file)
            return contents_of(connection, folder, file)
    except StorageError as error:
        raise StorageError(str(error).replace(str(path), str(file))) from error


def _check_database(connection: sqlite3.Connection, file: Path) -> None:
    if check_version(connection, file) == 0:
        raise StorageError(f"{file} is not a backup of a collection; its database is empty")
    found = str(connection.execute("pragma integrity_check").fetchone()[0])
    if found != "ok":
        raise StorageError(f"{file} is damaged: {' '.join(found.split())[:120]}")


def contents_of(connection: sqlite3.Connection, folder: Path, file: Path) -> Contents:
    """Return what a collection holds.

    Args:
        connection: To its database.
        folder: Where its pictures lie.
        file: For what is said.

    Raises:
        StorageError: It holds no entry, or cannot be read.
    """
    with storage_errors(file):
        entries, newest = connection.execute("select count(*), max(written) from entry").fetchone()
        row = connection.execute("select value from secret where key = 'namespace'").fetchone()
        pictures = sum(1 for path in (folder / "photos").rglob("*") if path.is_file())
    if row is None or not entries:
        raise StorageError(f"{file} holds no entry of a collection; there is nothing to copy")
    return Contents(str(row[0]), int(entries), str(newest), pictures)


def sync(path: Path) -> None:
    """Wait until a file is safe on the disk."""
    with path.open("rb+") as opened:
        os.fsync(opened.fileno())
