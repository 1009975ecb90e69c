"""Sides that the grower takes where the trade disagrees, as entries and a list; nothing is written here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.app.command_context import CommandContext, named, one_of
from carecal.app.make_entries import make_entry
from carecal.collection.entries import SideTaken
from carecal.errors import Refused, option
from carecal.planning.sides import CHANGES_NO_PLAN

if TYPE_CHECKING:
    from collections.abc import Sequence

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.catalog.tables import Catalog
    from carecal.collection.entries import Entry

__all__ = ["side", "sides_of", "sides_under"]


def side(
    collection: Collection,
    now: Now,
    key: str,
    taken: str,
    *,
    plants: Sequence[str] = (),
    profile: str | None = None,
) -> Entry:
    """Return the entry of the side that the grower takes, for all, for a profile or for plants.

    Raises:
        UnknownName: The key, a plant or the profile is not known.
        Refused: The side is neither a nor b.
    """
    named("side", key, collection.catalog.sides)
    one_of("side", taken, ("a", "b"))
    if profile is not None:
        named("profile", profile, collection.catalog.profiles)
    if plants and profile is not None:
        raise Refused(f"{option('plant')} and {option('profile')} exclude each other; give one of them")
    ids = (
        tuple(line.id for line in CommandContext(collection, now, plants).alive(None)[1]) if plants else None
    )
    return make_entry(SideTaken, on=now.day, key=key, side=taken, profile=profile, plants=ids)


def sides_of(collection: Collection, now: Now) -> list[dict[str, object]]:
    """Return the questions of the trade with both sides and which one is taken, by whom and where."""
    timeline = collection.timeline(now.day)
    names = {number: line.id for number, line in timeline.plants.items()}
    found: list[dict[str, object]] = []
    for row in collection.catalog.sides.values():
        taken: list[dict[str, object]] = [
            {
                "side": side_,
                "profile": profile,
                "plants": sorted(names[n] for n in plants) if plants else None,
            }
            for key, side_, profile, plants in timeline.facts.sides
            if key == row.id
        ]
        found.append(
            {
                "key": row.id,
                "question": row.question,
                "a": row.side_a,
                "b": row.side_b,
                "default": row.default,
                "because": row.because,
                "affects": row.affects,
                "source": row.source,
                "taken": taken,
                "changes_no_plan": CHANGES_NO_PLAN.get(row.id),
                "side": timeline.facts.side(row.id, row.default, plant=0, profile=""),
            }
        )
    return found


def sides_under(
    profile: str, catalog: Catalog, collection: Collection | None, now: Now | None
) -> list[dict[str, object]]:
    """Return the conflicts of the trade with the side that plants of a profile take; without a home the defaults."""
    facts = (
        collection.timeline(now.day, plants=set()).facts
        if collection is not None and now is not None
        else None
    )
    return [
        {
            "key": row.id,
            "question": row.question,
            "a": row.side_a,
            "b": row.side_b,
            "side": facts.side(row.id, row.default, plant=0, profile=profile)
            if facts is not None
            else row.default,
        }
        for row in catalog.sides.values()
    ]
