"""The round of a day as one document, kept until an entry, a day, a file or the program changes."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from carecal import __version__
from carecal.app.lazy import LazyModule
from carecal.app.store import cached, keep
from carecal.catalog.digest import content_digest
from carecal.errors import Refused

if TYPE_CHECKING:
    from datetime import date

    from carecal.app.door import Collection
    from carecal.app.near import shelf as near
else:
    near = LazyModule("carecal.app.near.shelf")

__all__ = ["MOST_DAYS", "today"]

MOST_DAYS = 366
FORMAT = 29  # of the document; another number throws kept ones away


def today(collection: Collection, as_of: date, days: int = 1) -> dict[str, Any]:
    """Return the round of a day and of the days after it, from the cache where nothing has changed.

    Args:
        collection: The collection.
        as_of: The day.
        days: How many days, the first included. [d]

    Raises:
        Refused: The number of days is out of range.
    """
    if not 1 <= days <= MOST_DAYS:
        raise Refused(f"{days} days are out of range; allowed are 1 to {MOST_DAYS}")
    key = f"today/{days}"
    stamp = f"{FORMAT}|{__version__}|{as_of}|{collection.journal.head()}|{content_digest(collection.folder)}"
    kept = cached(collection.journal.connection, key, stamp)
    if kept is not None:
        found: dict[str, Any] = json.loads(kept)
        return found
    made = near.near_round(collection, as_of, days)
    keep(collection.journal.connection, key, stamp, json.dumps(made, ensure_ascii=False))
    return made
