"""What was done against a pest or rot, as entries: no product and no dose is ever written."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.app.command_context import CommandContext, named, one_of
from carecal.app.make_entries import make_entry
from carecal.collection.entries import Treated
from carecal.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.collection.entries import Entry

__all__ = ["treat"]


def treat(
    collection: Collection,
    now: Now,
    plants: Sequence[str],
    did: str,
    *,
    against: str | None = None,
    note: str | None = None,
    on: date | None = None,
) -> list[Entry]:
    """Return the entries of a treatment, one a plant.

    Args:
        collection: The collection.
        now: The moment of the command.
        plants: Ids of the plants.
        did: What was done, a name of treatments.toml.
        against: A pest of pests.toml or 'rot'; None: not said.
        note: Anything else.
        on: The day; None: today.

    Raises:
        UnknownName: A plant or the trouble is not known.
        Refused: The day does not fit, what was done is unknown, or it is not done against that trouble.
    """
    context = CommandContext(collection, now, tuple(dict.fromkeys(plants)))
    day, lines = context.alive(on)
    rows = context.catalog.treatments
    one_of("treatment", did, tuple(rows))
    if against is not None:
        named("pest or trouble", against, context.catalog.pests)
        if rows[did].against and against not in rows[did].against:
            allowed = ", ".join(rows[did].against)
            raise Refused(f"{did} is not done against {against}; it is done against {allowed}")
    return [make_entry(Treated, on=day, plant=line.id, did=did, against=against, note=note) for line in lines]
