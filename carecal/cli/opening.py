"""How a collection is open_collection for a command, by what the command does to it and what its folder allows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.app.door import Collection
from carecal.collection.database import FILE_NAME
from carecal.collection.journal import Journal
from carecal.errors import StorageError

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["open_collection"]


def open_collection(folder: Path, *, readonly: bool, forgets: bool) -> Collection:
    """Return the collection of a folder, open for writing where that can be.

    Args:
        folder: The collection's folder.
        readonly: Nothing will be written; then a folder that may not be written will do.
        forgets: What is written need not last; then such a folder will do, too, and a copy in memory is written.

    Raises:
        StorageError: There is none, or it cannot be open_collection so.
    """
    try:
        return Collection.open(folder)
    except StorageError:
        if not (readonly or forgets) or not (folder / FILE_NAME).is_file():
            raise
    return Collection(Journal.open_copy(folder)) if forgets else Collection.open(folder, readonly=True)
