"""Shade at a window, put up or taken down, as an entry; it is checked here, not written."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.app.command_context import CommandContext
from carecal.app.make_entries import make_entry
from carecal.collection.entries import PlaceShaded
from carecal.errors import Refused

if TYPE_CHECKING:
    from datetime import date

    from carecal.app.door import Collection
    from carecal.app.now import Now

__all__ = ["shade"]

SAME_SEASON_DAYS = 150  # our choice, because what was said so long ago was said of another summer [d]


def shade(collection: Collection, now: Now, place: str, *, to: str, on: date | None = None) -> PlaceShaded:
    """Return the entry of shade that was put up at a window, or taken down.

    Args:
        collection: The collection.
        now: The moment of the command.
        place: The place.
        to: 'up' or 'down'.
        on: The day; None: today.

    Raises:
        UnknownName: The place is not known.
        Refused: It was said of this season already, no sun comes through a window there, or the day does not fit.
    """
    context = CommandContext(collection, now, ())
    context.place(place)
    day, facts = context.fact_day(on), context.timeline.facts
    if day.toordinal() < facts.places[place].specs[0].day:
        raise Refused(f"{day} lies before {place} was added; say a later day")
    kind = collection.catalog.place_kinds[facts.places[place].spec_at(day.toordinal()).place_kind]
    if kind.outdoors or not kind.light_fraction:
        raise Refused(f"no sun comes to {place} through a window; nothing to shade there")
    lately = range(day.toordinal() - SAME_SEASON_DAYS, day.toordinal() + 1)
    told = [is_up for since, is_up in facts.places[place].shades if since in lately]
    if told and told[-1] == (to == "up"):
        raise Refused(f"the shade at {place} is {to} already; nothing was written")
    return make_entry(PlaceShaded, on=day, place=place, to=to)
