"""A full copy of a collection in one file, and a collection made from it again; neither is ever half written."""

from __future__ import annotations

import re
import secrets
import shutil
import time
import zipfile
from contextlib import closing, contextmanager, suppress
from typing import TYPE_CHECKING

from carecal.collection.archive import Contents, checked_contents, contents_of, sync, unpack
from carecal.collection.database import FILE_NAME, connect, storage_errors, transaction
from carecal.collection.journal import FOLDERS
from carecal.collection.migrations import check_version, copy_database
from carecal.errors import ConfirmationNeeded, Refused, StorageError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["backup", "contents_of_copy", "restore"]

_DATE = (1980, 1, 1, 0, 0, 0)  # the earliest a zip file can hold, so that equal collections give equal copies
_OLD_SECONDS = 86_400  # a part older than that was left by a program that was killed; our choice


def backup(folder: Path, target: Path, *, force: bool = False, sure: bool = False) -> Contents:
    """Write a full copy of a collection as one zip file, also while others write to it; return what is in it.

    The copy is made beside the file, read back as `restore` would and counted, and only then put in its place.

    Args:
        folder: The collection's folder.
        target: The file to make.
        force: Whether an existing file is replaced.
        sure: Whether it is replaced also by a copy that holds less, or of another collection.

    Raises:
        Refused: When the file exists and is not to be replaced.
        ConfirmationNeeded: When the file is a copy that holds more, or of another collection.
        StorageError: When there is no collection to read, or the file cannot be written.
    """
    if target.exists() and not force:
        raise Refused(f"{target} exists; choose another name, or allow replacing it")
    with closing(connect(folder / FILE_NAME, readonly=True)) as connection:
        if check_version(connection, folder / FILE_NAME) == 0:
            raise StorageError(f"{folder / FILE_NAME} is empty, no collection; there is nothing to copy")
        contents_of(connection, folder, folder / FILE_NAME)
        with storage_errors(target), _workplace(target) as part:
            copy_database(connection, part / FILE_NAME)
            _pack(folder, part / FILE_NAME, part / "copy")
            made = _read_back(part / "copy", part / "again")
            if target.exists() and not sure:
                _check_replaced(target, part / "old", made)
            (part / "copy").replace(target)
    return made


@contextmanager
def _workplace(target: Path) -> Iterator[Path]:
    """Give a folder beside a file to work in, and take it away whatever happens."""
    mark = re.compile(rf"\.{re.escape(target.name)}\.[0-9a-f]{{8}}\.part")
    for left in target.parent.iterdir():
        if mark.fullmatch(left.name) and left.stat().st_mtime < time.time() - _OLD_SECONDS:
            shutil.rmtree(left, ignore_errors=True)
    part = target.with_name(f".{target.name}.{secrets.token_hex(4)}.part")
    try:
        part.mkdir()
    except OSError as error:
        error.filename = str(target)  # what was asked for, not what stands beside it for a while
        raise
    try:
        yield part
    finally:
        shutil.rmtree(part, ignore_errors=True)


def _pack(folder: Path, database: Path, file: Path) -> None:
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        _store(archive, database, FILE_NAME)
        for path in _files(folder):
            _store(archive, path, path.relative_to(folder).as_posix())
    sync(file)


def _read_back(file: Path, folder: Path) -> Contents:
    folder.mkdir()
    try:
        unpack(file, folder)
        return checked_contents(folder, file)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def contents_of_copy(file: Path) -> Contents:
    """Return what a copy holds, read as `restore` would.

    Raises:
        StorageError: It is no whole copy of a collection.
    """
    with storage_errors(file), _workplace(file) as part:
        return _read_back(file, part / "again")


def _check_replaced(target: Path, folder: Path, made: Contents) -> None:
    """Ask before a copy goes that holds more than the new one, or is of another collection.

    Raises:
        ConfirmationNeeded: It is one.
    """
    old = None
    with suppress(StorageError):  # what is no copy that can be read back may be replaced by one that can
        old = _read_back(target, folder)
    if old is None:
        return
    if old.namespace != made.namespace:
        raise ConfirmationNeeded(f"{target} is of another collection and holds {old}; replace it?")
    if old.entries > made.entries or old.pictures > made.pictures:
        raise ConfirmationNeeded(f"{target} holds {old}, this one {made}; replace it?")


def _files(folder: Path) -> Iterator[Path]:
    for name in FOLDERS:
        yield from sorted(
            path for path in (folder / name).rglob("*") if path.is_file() and not path.is_symlink()
        )


def _store(archive: zipfile.ZipFile, path: Path, name: str) -> None:
    info = zipfile.ZipInfo(name, _DATE)
    info.compress_type, info.external_attr = zipfile.ZIP_DEFLATED, 0o600 << 16
    with path.open("rb") as source, archive.open(info, "w", force_zip64=True) as copy:
        shutil.copyfileobj(source, copy)


def restore(file: Path, folder: Path) -> Contents:
    """Make a collection from a copy, in a folder that is empty or absent; its calendars begin a new generation.

    Args:
        file: What `backup` wrote.
        folder: Where the collection shall stand.

    Raises:
        Refused: When something stands in the folder already.
        StorageError: When the file is no whole copy of a collection, is newer, or the folder cannot be written.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise Refused(
            f"{folder} is not empty{_standing(folder)}; allowed is an empty folder or one that is not there yet"
        )
    part = folder.parent / f".{folder.name}.{secrets.token_hex(4)}.part"
    with storage_errors(folder):
        try:
            part.mkdir(parents=True)
            unpack(file, part)
            found = checked_contents(part, file)
            _begin_generation(part / FILE_NAME)
            if folder.exists():
                folder.rmdir()
            part.rename(folder)
        finally:
            shutil.rmtree(part, ignore_errors=True)
    return found


def _standing(folder: Path) -> str:
    """Return which collection stands in a folder, in words; '' where there is none that can be read."""
    with suppress(StorageError), closing(connect(folder / FILE_NAME, readonly=True)) as connection:
        there = contents_of(connection, folder, folder / FILE_NAME)
        return f": it holds a collection of {there.entries} entries, the newest of {there.newest[:10]}"
    return ""


def _begin_generation(path: Path) -> None:
    """Let the calendars of a restored collection have names of their own."""
    with closing(connect(path)) as connection:
        with transaction(connection):
            connection.execute("update secret set value = value + 1 where key = 'generation'")
        connection.execute("pragma journal_mode=delete")
    sync(path)
