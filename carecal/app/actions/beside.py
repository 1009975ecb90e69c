"""Who stands beside a find, as entries of their own: each of them is looked over, by the command that told the find."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.app.command_context import CommandContext
from carecal.app.make_entries import make_entry
from carecal.collection.entries import StoodBeside

if TYPE_CHECKING:
    from datetime import date

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.collection.entries import Entry
    from carecal.collection.plants import PlantHistory

__all__ = ["beside"]

MOST = 60  # our choice, because no more plants stand within a metre of one; a larger place is one task of its grower


def beside(
    collection: Collection, now: Now, line: PlantHistory, day: date, pest: str, where: str | None
) -> list[Entry]:
    """Return the entries of the plants that stood at the same place as one on the day of a find.

    None of those that have the same trouble themselves or were told of it on that day; none where the place is
    unknown, the trouble has no looks at neighbours, or so many stand there that they are no neighbours.

    Args:
        collection: The collection.
        now: The moment of the command.
        line: The plant on which something was found.
        day: The day.
        pest: What was found.
        where: Where on it, of rot.
    """
    tables, place = collection.catalog, line.state_at(day.toordinal()).place
    if place is None or (pest not in tables.pest_cycles and where not in tables.rot_courses):
        return []
    others = [
        other
        for other in CommandContext(collection, now, None).lines
        if other.number != line.number and _stood_at(other, place, day) and not _knows(other, pest, day)
    ]
    if len(others) > MOST:
        return []
    return [make_entry(StoodBeside, on=day, plant=other.id, pest=pest, where=where) for other in others]


def _stood_at(line: PlantHistory, place: str, day: date) -> bool:
    on = day.toordinal()
    return line.entered <= on and line.state_at(on).place == place


def _knows(line: PlantHistory, pest: str, day: date) -> bool:
    """Return whether a plant has the trouble itself by a day, or was told of it beside on that day."""
    on = day.toordinal()
    return any(own.pest == pest for own in line.state_at(on).pests) or any(
        told.pest == pest and told.since == on for told in line.besides
    )
