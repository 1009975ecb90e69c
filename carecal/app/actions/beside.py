"""Who stands beside a find, as entries of their own: each of them is looked over, by the command that told the find."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.app.command_context import CommandContext
from carecal.app.make_entries import make_entry
from carecal.collection.entries import Amended, StoodBeside
from carecal.planning.sick.rot import ROT

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.collection.entries import Entry, Observed
    from carecal.collection.plants import PlantHistory
    from carecal.collection.records import Record

__all__ = ["beside", "besides_put_right"]

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
    spot = where if pest == ROT else None
    if place is None or (pest not in tables.pest_cycles and spot not in tables.rot_courses):
        return []
    others = [
        other
        for other in CommandContext(collection, now, None).lines
        if other.number != line.number and _stood_at(other, place, day) and not _knows(other, pest, day)
    ]
    if len(others) > MOST:
        return []
    return [make_entry(StoodBeside, on=day, plant=other.id, pest=pest, where=spot) for other in others]


def besides_put_right(
    collection: Collection, now: Now, counted: Sequence[Record], found: Record, right: Observed
) -> list[Entry]:
    """Return the entries that put right who stood beside a find once the find itself is put right.

    Their looks go with a find that was none, and follow another trouble or another day; one that is found only now has
    its neighbours written down now.

    Args:
        collection: The collection.
        now: The moment of the command.
        counted: The records that count, as they stand now.
        found: The observation as it stands.
        right: The observation as it is put right.
    """
    told = (right.seen, right.where, right.on)
    if told == (found.data.get("seen"), found.data.get("where"), found.on):
        return []
    mine = [
        r
        for r in counted
        if (r.kind, r.command, r.on) == ("beside", found.command, found.on)
        and (r.data["pest"] == found.data.get("seen") or r.data.get("withdrawn"))
    ]
    tables, spot = collection.catalog, right.where if right.seen == ROT else None
    if right.seen not in tables.pest_cycles and spot not in tables.rot_courses:
        standing = [r for r in mine if not r.data.get("withdrawn")]
        return [make_entry(Amended, on=now.day, entry=r.n, changes={"withdrawn": True}) for r in standing]
    if not mine:
        found_on = [
            each for each in CommandContext(collection, now, None).lines if each.number == found.plant
        ]
        return [
            each
            for line in found_on
            for each in beside(collection, now, line, right.on, str(right.seen), spot)
        ]
    wanted = {"pest": right.seen, "where": spot, "withdrawn": None}
    day = right.on if right.on != found.on else None
    changes = [(r.n, {key: to for key, to in wanted.items() if r.data.get(key) != to}) for r in mine]
    return [
        make_entry(Amended, on=now.day, entry=n, changes=changed, on_day=day)
        for n, changed in changes
        if changed or day
    ]


def _stood_at(line: PlantHistory, place: str, day: date) -> bool:
    on = day.toordinal()
    return line.entered <= on and line.state_at(on).place == place


def _knows(line: PlantHistory, pest: str, day: date) -> bool:
    """Return whether a plant has the trouble itself by a day, or was told of it beside on that day."""
    on = day.toordinal()
    return any(own.pest == pest for own in line.state_at(on).pests) or any(
        told.pest == pest and told.since == on for told in line.besides
    )
