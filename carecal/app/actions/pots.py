"""Potting, moving and parting, as entries or as announcements of a day ahead."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.app.command_context import CommandContext, named
from carecal.app.make_entries import make_entry
from carecal.collection.entries import Moved, MovePlanned, Parted, Potted, PottingPlanned
from carecal.errors import ConfirmationNeeded, Refused, option
from carecal.planning.sick.buds import is_turning_barred

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.catalog.tables import Catalog
    from carecal.collection.entries import Entry

__all__ = ["check_pair", "move", "move_all", "part", "pot"]


def check_pair(catalog: Catalog, medium: str, container: str) -> None:
    """Refuse a medium or container that is not known, or a pair of them that does not exist.

    Raises:
        UnknownName: A name is not known; with names that resemble it.
        Refused: The medium does not go into the container; names those it does go into.
    """
    named("medium", medium, catalog.media)
    named("container", container, catalog.containers)
    if (medium, container) not in catalog.pairs:
        fits = [name for name in catalog.containers if (medium, name) in catalog.pairs]
        what = "bare roots do" if medium == "none" else f"{medium} does"
        raise Refused(
            f"{what} not go into the container {container}; allowed are {', '.join(fits) or 'none'}"
        )


def pot(
    collection: Collection,
    now: Now,
    ids: Sequence[str],
    medium: str,
    container: str,
    size_cm: float | None = None,
    *,
    on: date | None = None,
    watered: bool = True,
    pruned: bool = False,
    filled: bool = False,
    planned: bool = False,
    sure: bool = False,
) -> list[Entry]:
    """Return the entries of a potting: day 0 of a new potting number, or its announcement.

    Args:
        collection: The collection.
        now: The moment of the command.
        ids: Ids of the plants.
        medium: The new medium.
        container: The new container.
        size_cm: Top diameter of the pot; None: as before. [cm]
        on: The day; None: today.
        watered: Whether it was watered; if not it waits some days for its first wetting.
        pruned: Whether roots were cut, which lengthens the wait for feed.
        filled: Whether a reservoir was filled; it starts empty else.
        planned: Announced for a day ahead.
        sure: Whether what is unusual was confirmed.

    Raises:
        UnknownName: A plant, medium or container is not known.
        ConfirmationNeeded: The plant was potted on that day already.
        Refused: The pair does not exist, a size is missing, or the day does not fit.
    """
    context = CommandContext(collection, now, ids)
    check_pair(context.catalog, medium, container)
    if filled and not context.catalog.containers[container].has_reservoir:
        raise Refused(f"{option('filled')} belongs to a container with a reservoir; {container} has none")
    if planned:
        return _plan_potting(context, medium, container, size_cm, on)
    day, lines = context.alive(on)
    entries: list[Entry] = []
    for line in lines:
        state = line.state_at(day.toordinal())
        if state.mother is not None:
            raise Refused(
                f"{line.id} hangs on its mother; part it from her first",
                command=f"part {line.id} --medium {medium} …",
                how="with carecal",
            )
        if size_cm is None and state.size_cm is None and container not in {"mount", "bag"}:
            raise Refused(f"the size of {line.id} is not known; give {option('size')} in cm")
        if not sure and any(e.kind == "potted" and e.day == day.toordinal() for e in line.events):
            raise ConfirmationNeeded(f"{line.id} was potted on {day} already: a second time on one day?")
        entries.append(
            make_entry(
                Potted,
                on=day,
                plant=line.id,
                medium=medium,
                container=container,
                size_cm=size_cm,
                watered=watered,
                pruned=pruned,
                filled=filled,
            )
        )
    return entries


def move(
    collection: Collection,
    now: Now,
    ids: Sequence[str],
    place: str,
    *,
    on: date | None = None,
    planned: bool = False,
    sure: bool = False,
) -> list[Entry]:
    """Return the entries of plants that stand at another place from a day on, or the announcement of it.

    Raises:
        UnknownName: A plant or the place is not known.
        ConfirmationNeeded: A spike has chosen its side, or bears buds: it would be turned or shed them.
        Refused: A plant stands there already, or the day does not fit.
    """
    context = CommandContext(collection, now, ids)
    context.place(place)
    if planned:
        ahead = _day_ahead(now, on)
        _, lines = context.alive(None)
        return [make_entry(MovePlanned, on=now.day, plant=line.id, place=place, day=ahead) for line in lines]
    day, lines = context.alive(on)
    for line in lines:
        if line.state_at(day.toordinal()).place == place:
            raise Refused(f"{line.id} stands at {place} already on {day}")
    turned = [line.id for line in lines if is_turning_barred(line.state_at(day.toordinal()), context.catalog)]
    if turned and not sure:
        raise ConfirmationNeeded(
            f"the spike of {', '.join(turned)} has chosen its side: turned now it twists, and buds may drop;"
            " it may move once all its flowers are open. Move it all the same?"
        )
    return [make_entry(Moved, on=day, plant=line.id, place=place) for line in lines]


def move_all(
    collection: Collection, now: Now, start: str, place: str, *, on: date | None = None
) -> list[Entry]:
    """Return the entries of all plants of one place that go to another.

    Raises:
        UnknownName: A place is not known.
        Refused: Nothing stands at the first place, both are the same, or the day does not fit.
    """
    context = CommandContext(collection, now, None)
    context.place(start)
    context.place(place)
    if start == place:
        raise Refused(f"{start} and {place} are one place; give another")
    day = context.fact_day(on)
    there = [line for line in context.lines if line.state_at(day.toordinal()).place == start]
    there = [line for line in there if line.entered <= day.toordinal()]
    if not there:
        raise Refused(f"nothing stands at {start} on {day}")
    return [make_entry(Moved, on=day, plant=line.id, place=place) for line in there]


def part(
    collection: Collection,
    now: Now,
    plant: str,
    medium: str,
    container: str,
    size_cm: float | None = None,
    *,
    on: date | None = None,
    place: str | None = None,
    watered: bool = True,
) -> list[Entry]:
    """Return the entry of a keiki or basal shoot that leaves its mother, and keeps its history.

    Raises:
        UnknownName: A plant, place, medium or container is not known.
        Refused: It hangs on no mother, the pair does not exist, or the day does not fit.
    """
    context = CommandContext(collection, now, (plant,))
    check_pair(context.catalog, medium, container)
    day, lines = context.alive(on)
    state = lines[0].state_at(day.toordinal())
    if state.mother is None:
        raise Refused(
            f"{plant} hangs on no mother on {day}; it can be repotted",
            command=f"pot {plant}",
            how="with carecal",
        )
    if place is not None:
        context.place(place)
    return [
        make_entry(
            Parted,
            on=day,
            plant=lines[0].id,
            medium=medium,
            container=container,
            size_cm=size_cm,
            place=place,
            watered=watered,
        )
    ]


def _plan_potting(
    context: CommandContext, medium: str, container: str, size_cm: float | None, on: date | None
) -> list[Entry]:
    ahead = _day_ahead(context.now, on)
    _, lines = context.alive(None)
    return [
        make_entry(
            PottingPlanned,
            on=context.now.day,
            plant=line.id,
            medium=medium,
            container=container,
            size_cm=size_cm,
            day=ahead,
        )
        for line in lines
    ]


def _day_ahead(now: Now, on: date | None) -> date:
    if on is None or on <= now.day:
        raise Refused(
            f"{option('planned')} needs {option('on')} with a day after today, {now.day}; {on or 'none'} was given"
        )
    return on
