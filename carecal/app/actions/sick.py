"""What was done against a pest or rot, as entries: no product and no dose is ever written."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.app.command_context import CommandContext, named, one_of
from carecal.app.make_entries import make_entry
from carecal.collection.entries import Treated, Tried
from carecal.errors import ConfirmationNeeded, Refused
from carecal.planning.sick.losing import free_from, trying_of
from carecal.planning.spans import day_of

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.catalog.tables import Catalog
    from carecal.collection.entries import Entry

__all__ = ["check_treatment", "treat", "tried"]


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
    day, lines = context.alive(on, historic=True)
    check_treatment(did, against, context.catalog)
    return [make_entry(Treated, on=day, plant=line.id, did=did, against=against, note=note) for line in lines]


def check_treatment(did: str, against: str | None, catalog: Catalog) -> None:
    """Refuse what is no treatment, or is not done against a trouble."""
    rows = catalog.treatments
    one_of("treatment", did, tuple(rows))
    if against is not None:
        named("pest or trouble", against, catalog.pests)
        if rows[did].against and against not in rows[did].against:
            allowed = ", ".join(rows[did].against)
            raise Refused(f"{did} is not done against {against}; it is done against {allowed}")


def tried(
    collection: Collection,
    now: Now,
    plant: str,
    what: str | None,
    *,
    note: str | None = None,
    on: date | None = None,
    sure: bool = False,
) -> list[Entry]:
    """Return the entry of what is tried on a plant that loses ground, or that it goes on as it is.

    Args:
        collection: The collection.
        now: The moment of the command.
        plant: Id of the plant.
        what: A name of tries.toml; None: it goes on as it is.
        note: Anything else.
        on: The day; None: today.
        sure: Whether what is unusual was confirmed.

    Raises:
        UnknownName: The plant or the try is not known.
        ConfirmationNeeded: Something else is still being tried, or it was potted only lately.
        Refused: The day does not fit.
    """
    context = CommandContext(collection, now, (plant,))
    day, lines = context.alive(on)
    line, ordinal, tables = lines[0], day.toordinal(), context.catalog
    if what is not None:
        named("try", what, tables.tries)
        running, free = (
            trying_of(line, ordinal, tables),
            free_from(tables.tries[what], line.state_at(ordinal), ordinal),
        )
        if free is not None and not sure:
            raise ConfirmationNeeded(
                f"{plant} was potted lately, and moss is not changed again before {day_of(free)}:"
                " change it all the same?"
            )
        if running is not None and running.row.name != what and tables.tries[what].days and not sure:
            raise ConfirmationNeeded(
                f"{running.row.name.replace('-', ' ')} is being tried on {plant} until {day_of(running.until)},"
                " and two things at a time teach nothing: try it all the same?"
            )
    return [make_entry(Tried, on=day, plant=line.id, what=what, note=note)]
