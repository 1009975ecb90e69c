"""What a script asks of a collection beside its plan: why a plant is treated as it is, and a calendar's bytes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from carecal.app.documents.why import why
from carecal.app.now import real_now
from carecal.app.publish.calendars import options_of, render_calendar
from carecal.app.store import zone_of

if TYPE_CHECKING:
    from datetime import date

    from carecal.app.door import Collection

__all__ = ["to_ical", "why"]


def to_ical(collection: Collection, as_of: date | None = None, **options: Any) -> bytes:
    """Return the bytes of `carecal calendar write` on a day, and bring its ledger up to them.

    Args:
        collection: The open collection.
        as_of: The day; None: today in the collection's zone.
        options: Those of `carecal.app.publish.calendars.options_of`: grouping, form, plant, place, care, at, days …

    Raises:
        StorageError: The collection cannot be written.
    """
    now = real_now(zone_of(collection.journal.connection), as_of)
    return render_calendar(collection, options_of(collection, now, **options), now).body
