"""Why a command came to grief: an entry that no way in would have let through. It catches and repairs nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.app.files.upkeep import journal_faults
from carecal.catalog.load import load_catalog
from carecal.collection.database import FILE_NAME, storage_errors
from carecal.collection.journal import Journal
from carecal.collection.record_faults import record_faults
from carecal.errors import CarecalError

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["entry_at_fault"]


def entry_at_fault(folder: Path) -> str:
    """Return which entry of a collection cannot be worked with and what to do, on one line; '' when all can.

    Args:
        folder: The collection's folder; one without a collection has no such entry.
    """
    if not (folder / FILE_NAME).is_file():
        return ""
    try:
        with Journal.open(folder, readonly=True) as journal, storage_errors(folder / FILE_NAME):
            if journal.connection.execute("pragma integrity_check(1)").fetchone()[0] != "ok":
                return f"{folder / FILE_NAME} is damaged; restore it from a backup"
            records = journal.records()
        found = next(iter(record_faults(records)), None)
        if found is None:
            found = next(iter(journal_faults(records, load_catalog(folder))), None)
    except CarecalError as error:
        return str(error)
    if found is None:
        return ""
    kind = next((record.kind for record in records if record.n == found[0]), "")
    return (
        f"entry {found[0]} ({kind}) cannot be worked with: {found[1]}; put it right by carecal amend, or in what "
        "carecal export writes, imported into a new folder"
    )
