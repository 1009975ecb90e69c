"""Which collections lie below a folder; it opens none of them."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from carecal.collection.database import FILE_NAME
from carecal.errors import StorageError

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["collections_below"]


def collections_below(folder: Path) -> Iterator[str]:
    """Yield the collections of a tree as paths from its folder, in order; links are not followed.

    What lies within a collection is not looked at, nor what begins with a dot.

    Args:
        folder: The tree, or a collection itself, which is then '.'.

    Raises:
        StorageError: The folder is not there or cannot be read.
    """
    try:
        with os.scandir(folder) as found:
            entries = sorted(found, key=lambda entry: entry.name)
    except OSError as error:
        raise StorageError(f"folder {folder} cannot be read: {error.strerror or error}") from error
    yield from _below(Path(), entries, folder)


def _below(path: Path, entries: list[os.DirEntry[str]], root: Path) -> Iterator[str]:
    if any(entry.name == FILE_NAME for entry in entries):
        yield path.as_posix()
        return
    for entry in entries:
        if entry.name.startswith(".") or not entry.is_dir(follow_symlinks=False):
            continue
        try:
            with os.scandir(root / path / entry.name) as found:
                below = sorted(found, key=lambda each: each.name)
        except OSError:
            yield (path / entry.name).as_posix()  # whoever opens it says why it cannot be read
            continue
        yield from _below(path / entry.name, below, root)
