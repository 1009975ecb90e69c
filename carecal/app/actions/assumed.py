"""What was taken as done because nobody said otherwise, said to be true. Everything is checked; nothing is written."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from carecal.app.command_context import CommandContext
from carecal.app.make_entries import make_daily
from carecal.app.near.document import NEAR_DAYS
from carecal.errors import Refused
from carecal.planning.wettings.assumed import assumed_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.collection.entries import Entry

__all__ = ["confirm"]


def confirm(collection: Collection, now: Now, ids: Sequence[str] = ()) -> list[Entry]:
    """Return the entries that say that wettings which were taken as done were done on the days they were taken for.

    Args:
        collection: The collection.
        now: The moment of the command.
        ids: Ids of the plants; none: all of which a wetting is assumed.

    Raises:
        UnknownName: An id names no plant.
        Refused: Nothing was assumed of a plant that was named, or of any.
    """
    context = CommandContext(collection, now, ids or None)
    day, lines = context.alive(None) if ids else (now.day, context.lines)
    planner = collection.planner(
        day, until=day + timedelta(days=NEAR_DAYS), plants={line.number for line in lines}
    )
    entries: list[Entry] = []
    for line in lines:
        slots = assumed_of(planner.plant_planners[line.number].chain)
        if not slots and ids:
            raise Refused(
                f"nothing was taken as done of {line.id}; to say that it was watered: done water {line.id}"
            )
        entries += [
            make_daily(
                "done",
                on=date.fromordinal(min(slot.day, slot.latest)),
                plant=line.id,
                care=slot.care,
                task=slot.id,
                unseen=None if slot.is_certain else True,
            )
            for slot in slots
        ]
    if not entries:
        raise Refused("nothing was taken as done; every wetting was answered")
    return entries
