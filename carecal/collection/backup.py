"""A full copy of a collection in one file, and a collection made from it again; neither is ever half written."""

from __future__ import annotations

import os
import secrets
import shutil
import zipfile
from contextlib import closing
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from carecal.collection.database import FILE_NAME, connect, storage_errors, transaction
from carecal.collection.journal import FOLDERS
from carecal.collection.migrations import check_version, copy_database
from carecal.errors import Refused, StorageError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["backup", "restore"]

_DATE = (1980, 1, 1, 0, 0, 0)  # the earliest a zip file can hold, so that equal collections give equal copies


def backup(folder: Path, target: Path, *, force: bool = False) -> None:
    """Write a full copy of a collection as one zip file, also while others write to it.

    Args:
        folder: The collection's folder.
        target: The file to make.
        force: Whether an existing file is replaced.

    Raises:
        Refused: When the file exists and is not to be replaced.
        StorageError: When the collection cannot be read or the file not be written.
    """
    if target.exists() and not force:
        raise Refused(f"{target} exists; choose another name, or allow replacing it")
    part = target.with_name(f".{target.name}.{secrets.token_hex(4)}.part")
    database = part.with_suffix(".db")
    with closing(connect(folder / FILE_NAME, readonly=True)) as connection, storage_errors(target):
        try:
            copy_database(connection, database)
            with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as archive:
                _store(archive, database, FILE_NAME)
                for path in _files(folder):
                    _store(archive, path, path.relative_to(folder).as_posix())
            _sync(part)
            part.replace(target)
        finally:
            part.unlink(missing_ok=True)
            database.unlink(missing_ok=True)


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


def _sync(path: Path) -> None:
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def restore(file: Path, folder: Path) -> None:
    """Make a collection from a copy, in a folder that is empty or absent; its calendars begin a new generation.

    Args:
        file: What `backup` wrote.
        folder: Where the collection shall stand.

    Raises:
        Refused: When something stands in the folder already.
        StorageError: When the file is no whole copy of a collection, is newer, or the folder cannot be written.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise Refused(f"{folder} is not empty; allowed is an empty folder or one that is not there yet")
    part = folder.parent / f".{folder.name}.{secrets.token_hex(4)}.part"
    with storage_errors(folder):
        try:
            part.mkdir(parents=True)
            _unpack(file, part)
            _check(part / FILE_NAME, file)
            if folder.exists():
                folder.rmdir()
            part.rename(folder)
        finally:
            shutil.rmtree(part, ignore_errors=True)


def _unpack(file: Path, folder: Path) -> None:
    try:
        with zipfile.ZipFile(file) as archive:
            names = archive.namelist()
            strange = [name for name in names if not _is_ours(name)]
            if FILE_NAME not in names or strange:
                raise StorageError(
                    f"{file} is not a backup of a collection; it holds {_listed(strange or names)}"
                )
            for name in ("", *FOLDERS):
                (folder / name).mkdir(exist_ok=True)
            for name in names:
                path = folder / name
                path.parent.mkdir(parents=True, exist_ok=True)
                with archive.open(name) as source, path.open("wb") as copy:
                    shutil.copyfileobj(source, copy)
                _sync(path)
    except (zipfile.BadZipFile, zipfile.LargeZipFile, NotImplementedError, EOFError) as error:
        raise StorageError(f"{file} is not a whole backup: {str(error).casefold()}") from error


def _is_ours(name: str) -> bool:
    parts = PurePosixPath(name).parts
    return name == FILE_NAME or (
        len(parts) > 1 and parts[0] in FOLDERS and ".." not in parts and not set(name) & set("\\:\0")
    )


def _listed(names: list[str]) -> str:
    return ascii(", ".join(sorted(names)[:3]))[1:-1] or "nothing"


def _check(path: Path, file: Path) -> None:
    """Refuse a database that is damaged, foreign or newer; then its calendars get names of a new generation."""
    with closing(connect(path)) as connection:
        if check_version(connection, file) == 0:
            raise StorageError(f"{file} is not a backup of a collection; its database is empty")
        found = connection.execute("pragma integrity_check").fetchone()[0]
        if found != "ok":
            raise StorageError(f"{file} is damaged: {found}")
        with transaction(connection):
            connection.execute("update secret set value = value + 1 where key = 'generation'")
        connection.execute("pragma journal_mode=delete")
    _sync(path)
