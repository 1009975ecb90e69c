"""Entries about the coming and going of plants, and what is known of one. They are checked here, not written."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from carecal.app.actions.pots import check_pair
from carecal.app.command_context import CommandContext, named
from carecal.app.documents.places import suits
from carecal.app.make_entries import make_entry
from carecal.app.setup.settings import strength_of
from carecal.collection.entries import FeedStrengthSet, PlantAdded, Renamed, Retired
from carecal.collection.plants import PlantState
from carecal.errors import Refused, option
from carecal.planning.plan_context import PlanContext
from carecal.planning.rhythm.terms import lacks
from carecal.planning.sick.flowers import close_unanswered
from carecal.planning.sick.losing import losing_of
from carecal.wording.weak import LEVELS

if TYPE_CHECKING:
    from collections.abc import Collection as Container
    from collections.abc import Iterator, Mapping

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.catalog.tables import Catalog
    from carecal.collection.entries import Entry
    from carecal.collection.plants import PlantHistory

__all__ = [
    "add_plant",
    "check_added",
    "feed_strength",
    "newcomer_remarks",
    "plant_of",
    "plants_of",
    "rename",
    "retire",
]


def add_plant(collection: Collection, now: Now, plant: str, **values: Any) -> PlantAdded:
    """Return the entry of a plant that comes into the collection; what is unknown becomes its first task.

    Args:
        collection: The collection.
        now: The moment of the command.
        plant: Its id.
        values: Fields of the entry by name; absent ones are None.

    Raises:
        UnknownName: A medium, container, place, profile or mother is not known.
        Refused: A value is out of range, a pair does not exist, or a day lies ahead.
    """
    mother = values.get("on_mother")
    if mother is not None:
        values = _on_mother(collection, now, plant, values)
    entry = make_entry(PlantAdded, on=now.day, plant=plant, **values)
    places = collection.timeline(now.day, plants=set()).facts.places
    faults = list(check_added(collection.catalog, now.day, entry, places))
    if len(faults) == 1:
        raise faults[0][1]
    if faults:
        raise Refused("; ".join(refusal.args[0] for _, refusal in faults))
    return entry


def check_added(
    catalog: Catalog, today: date, entry: PlantAdded, places: Container[str]
) -> Iterator[tuple[str, Refused]]:
    """Yield each fault of a newcomer that its own fields do not tell, with the name of the field.

    Args:
        catalog: Profiles and tables.
        today: The day of the command.
        entry: The newcomer.
        places: Ids of the places there will be.
    """
    for field, what, known in (
        ("profile", "profile", catalog.profiles),
        ("medium", "medium", catalog.media),
        ("container", "container", catalog.containers),
        ("place", "place", places),
    ):
        name = getattr(entry, field)
        if name is not None:
            try:
                named(what, name, known)
            except Refused as refusal:
                yield field, refusal
    if entry.medium in catalog.media and entry.container in catalog.containers:
        try:
            check_pair(catalog, entry.medium or "", entry.container or "")
        except Refused as refusal:
            yield "container", refusal
    pot = catalog.containers.get(entry.container or "")
    if entry.reservoir is not None and (pot is None or not pot.has_reservoir):
        yield (
            "reservoir",
            Refused(f"{entry.container or 'a pot that is not named'} has no reservoir; leave it out"),
        )
    for field in ("came", "potted", "watered"):
        day = getattr(entry, field)
        if day is not None and day > today:
            yield field, Refused(f"{field} {day} lies ahead; what happened is dated up to today, {today}")
    if entry.roots == 0 and entry.longest_mm:
        yield "longest", Refused(f"a longest root of {entry.longest_mm:g} mm needs a root; roots is 0")


def _on_mother(collection: Collection, now: Now, plant: str, values: dict[str, Any]) -> dict[str, Any]:
    """Return the values of a keiki, which stands where its mother does and in no pot of its own."""
    mother = values["on_mother"]
    own = [
        key for key in ("medium", "container", "size_cm", "potted", "watered") if values.get(key) is not None
    ]
    if own:
        raise Refused(f"{plant} hangs on {mother} and has no {own[0]} of its own; part it first, then say so")
    _, lines = CommandContext(collection, now, (mother,)).alive(None)
    if lines[0].retired is not None:
        raise Refused(f"{mother} has left; a keiki hangs on a plant that is there")
    if values.get("place") is None:
        values = {**values, "place": lines[0].latest.place}
    return values


def newcomer_remarks(collection: Collection, now: Now, entry: PlantAdded) -> tuple[str, ...]:
    """Return what does not suit a newcomer where it will stand, once (models W5)."""
    state = PlantState(
        day=now.day.toordinal(),
        entry=0,
        written="",
        profile=entry.profile or "phalaenopsis",
        place=entry.place,
    )
    return tuple(suits(collection, now, entry.plant, state))


def rename(
    collection: Collection, now: Now, plant: str, to: str | None = None, name: str | None = None
) -> Entry:
    """Return the entry of a plant that gets another id, another display name, or both.

    Raises:
        UnknownName: No plant has that id.
        Refused: Neither was given, or another plant has the id.
    """
    if to is None and name is None:
        raise Refused("neither a new id nor a name was given; give one of them")
    CommandContext(collection, now, (plant,)).alive(None)
    if to is not None and to in collection.journal.ids():
        raise Refused(f"a plant '{to}' exists already; choose another id")
    return make_entry(Renamed, on=now.day, plant=plant, to=to, name=name)


def retire(
    collection: Collection,
    now: Now,
    plant: str,
    because: str,
    *,
    into: str | None = None,
    on: date | None = None,
    note: str | None = None,
) -> Entry:
    """Return the entry of a plant that leaves the collection.

    Raises:
        UnknownName: A plant is not known.
        Refused: It left before, hangs no more together with what it merges into, or the day does not fit.
    """
    context = CommandContext(collection, now, (plant,))
    day, lines = context.alive(on)
    line = lines[0]
    if line.retired is not None:
        raise Refused(f"{plant} left on {date.fromordinal(line.retired)} already ({line.retired_because})")
    if (because == "merged") != (into is not None):
        raise Refused(f"merged needs {option('into')} with the plant it joins, and only merged does")
    if into is not None:
        if into == plant:
            raise Refused(f"{plant} cannot merge into itself; name another plant")
        CommandContext(collection, now, (into,)).alive(day)
    return make_entry(Retired, on=day, plant=plant, because=because, into=into, note=note)


def plants_of(collection: Collection, now: Now, *, everyone: bool = False) -> list[dict[str, Any]]:
    """Return the living plants as they stand on the day, by number; with `everyone` those that left, too."""
    timeline = collection.planner(now.day).timeline  # with what was taken as over, since nobody said
    lines = timeline.plants.values() if everyone else timeline.living()
    names = {number: line.id for number, line in timeline.plants.items()}
    return [
        _document(line, names, now.day, collection.catalog)
        for line in sorted(lines, key=lambda line: line.number)
    ]


def plant_of(collection: Collection, now: Now, plant: str) -> dict[str, Any]:
    """Return all that is known of one plant on the day, and what of its place does not suit it.

    Raises:
        UnknownName: No plant has that id.
    """
    context = CommandContext(collection, now, (plant,))
    line = context.lines[0]
    close_unanswered(line, PlanContext(context.timeline.facts, collection.catalog, now.day))
    names = {number: name for name, number in collection.journal.ids().items()}
    missing = list(lacks(line.latest, collection.catalog)) if line.latest.mother is None else []
    remarks = suits(collection, now, plant, line.latest) if line.retired is None else []
    return {
        **_document(line, names, now.day, collection.catalog),
        "missing": missing,
        "does_not_suit": remarks,
        "note": line.note or None,
    }


def feed_strength(collection: Collection, now: Now, plant: str, value: str) -> FeedStrengthSet:
    """Return the entry of how strong one plant is fed; the stage, light and water may still ask for less.

    Args:
        collection: The collection.
        now: The moment of the command.
        plant: Id of the plant.
        value: Strength [mg/L of N], or 'none': as its kind asks, or as is set for all.

    Raises:
        UnknownName: No plant has that id.
        Refused: It has left, the value is no strength, or it is fed so already.
    """
    context = CommandContext(collection, now, (plant,))
    day, lines = context.alive(None)
    ppm_n = None if value.strip().casefold() == "none" else strength_of(value.strip())
    if lines[0].latest.feed_ppm_n == ppm_n:
        so = f"at {ppm_n:g} mg/L of N" if ppm_n is not None else "as its kind asks"
        raise Refused(f"{plant} is fed {so} already; nothing was written")
    return make_entry(FeedStrengthSet, on=day, plant=lines[0].id, ppm_n=ppm_n)


def _document(line: PlantHistory, names: Mapping[int, str], on: date, catalog: Catalog) -> dict[str, Any]:
    state, losing = line.latest, losing_of(line, on.toordinal(), catalog)
    return {
        "id": line.id,
        "number": line.number,
        "name": line.name,
        "profile": state.profile,
        "medium": state.medium,
        "container": state.container,
        "size_cm": state.size_cm,
        "place": state.place,
        "stage": state.stage,
        "flowering": state.flowering,
        "aids": sorted(state.aid_names),
        "reservoir": state.reservoir,
        "mother": names.get(state.mother) if state.mother is not None else None,
        "roots": state.roots,
        "longest_mm": state.longest_mm,
        "tips": state.tips,
        "leaves": state.leaves,
        "firmness": state.firmness,
        "feed_ppm_n": state.feed_ppm_n,
        "entered": _iso(line.entered),
        "came": _iso(state.came),
        "potted": _iso(state.potted),
        "potting": state.potting,
        "quarantine": state.quarantine_since is not None,
        "losing": LEVELS[losing.shown] if losing is not None else None,
        "left": _iso(line.retired),
        "left_because": line.retired_because,
    }


def _iso(day: int | None) -> str | None:
    return date.fromordinal(day).isoformat() if day is not None else None
