"""What was seen and weighed, as entries: counts are held against the last ones, pictures go into the collection."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from carecal.app.actions.beside import beside
from carecal.app.command_context import CommandContext, named
from carecal.app.make_entries import make_entry
from carecal.app.tasks import task_for
from carecal.collection.entries import Observed, Weighed
from carecal.errors import ConfirmationNeeded, Refused, option, options
from carecal.planning.rhythm.terms import profile_of
from carecal.planning.sick.crown import is_crownless
from carecal.planning.sick.rot import ROT

if TYPE_CHECKING:
    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.catalog.tables import Catalog
    from carecal.collection.entries import Entry
    from carecal.collection.plants import PlantHistory, PlantState

__all__ = ["check_length", "check_trouble", "observe", "weigh"]

_COUNTS = ("roots", "tips", "leaves")
JUMP_TIMES, JUMP_MORE = (
    3,
    5,
)  # our choice, because no plant gets more than 3 times as many and 5 between two looks
GROWTH_MM_D, GROWTH_MM = (
    6.0,
    40.0,
)  # our choice, because roots grow 1-3 mm a day (models G4); twice that and a bit
ROOT_TIMES = 10  # our choice, because a ruler read in cm for mm errs by ten
_MORE_TROUBLES = ("rot", "virus")


def observe(
    collection: Collection,
    now: Now,
    plant: str,
    *,
    on: date | None = None,
    sure: bool = False,
    task: str | None = None,
    shows: str | None = None,
    **seen: object,
) -> list[Entry]:
    """Return the entry of what was seen of a plant, and of who stood beside it where that was a pest or rot.

    What is absent changes nothing.

    Args:
        collection: The collection.
        now: The moment of the command.
        plant: Id of the plant.
        on: The day; None: today.
        sure: Whether what is unusual was confirmed.
        task: Id of the look it answers.
        shows: 'unknown' for leaves or flowers nobody can name yet.
        seen: Fields of an observation, as `roots=5, longest_mm=60`.

    Raises:
        UnknownName: The plant or the pest is not known.
        AlreadyDone: The task was answered before.
        ConfirmationNeeded: A count jumps, or differs from one of the same day.
        Refused: Nothing was said, the day does not fit, or a value is not allowed.
    """
    context = CommandContext(collection, now, (plant,))
    day, lines = context.alive(on, historic=True)
    values = {key: value for key, value in seen.items() if value is not None}
    if shows is not None:
        if shows != "unknown":
            raise Refused(f"shows '{shows}' is not known; allowed is unknown")
        values["shows_unknown"] = True
    if not values:
        raise Refused(
            f"nothing was said of {plant}; give at least one of {options('roots', 'leaves', 'firmness', 'note')} …"
        )
    check_trouble(values, context.catalog)
    _check_rest(values, lines[0], day, context.catalog)
    _check_crown(values, lines[0], day)
    if task is not None:
        task_for(collection, now, lines[0], task, day)
    entry = make_entry(Observed, on=day, plant=lines[0].id, task=task, **values)
    if not sure:
        _ask_jumps(lines[0], day, values)
    if values.get("seen") is None or day.toordinal() < lines[0].entered:
        return [entry]
    where = str(values["where"]) if values.get("where") is not None else None
    return [entry, *beside(collection, now, lines[0], day, str(values["seen"]), where)]


def weigh(
    collection: Collection,
    now: Now,
    plant: str,
    weight_g: float,
    *,
    on: date | None = None,
    mark: str | None = None,
    sure: bool = False,
) -> list[Entry]:
    """Return the entry of a weighed pot; `mark` says that it was full or dry.

    Raises:
        UnknownName: No plant has that id.
        ConfirmationNeeded: A dry pot would be as heavy as a full one, or the other way round.
        Refused: The day or the weight does not fit.
    """
    context = CommandContext(collection, now, (plant,))
    day, lines = context.alive(on, historic=True)
    entry = make_entry(Weighed, on=day, plant=lines[0].id, weight_g=weight_g, mark=mark)
    since = lines[0].state_then(day.toordinal()).potted or 0
    marks = {e.mark: e.weight_g for e in lines[0].told if e.kind == "weighed" and e.mark and e.day >= since}
    dry = weight_g if mark == "dry" else marks.get("dry")
    full = weight_g if mark == "full" else marks.get("full")
    if not sure and dry is not None and full is not None and not dry <= weight_g <= full:
        raise ConfirmationNeeded(
            f"{weight_g:g} g lies outside {dry:g} g dry to {full:g} g full of {plant}: is that right?"
        )
    if mark is not None and dry is not None and full is not None and dry >= full:
        raise Refused(
            f"{plant} cannot weigh {dry:g} g dry and {full:g} g full; put the other mark right first"
        )
    return [entry]


def check_trouble(values: dict[str, object], catalog: Catalog) -> None:
    """Refuse a trouble that is not known, and rot without its place."""
    seen = values.get("seen")
    if seen is not None:
        named(
            "pest or trouble",
            str(seen),
            [*catalog.pests, *(t for t in _MORE_TROUBLES if t not in catalog.pests)],
        )
        if seen == ROT and values.get("where") not in catalog.rot_courses:
            spots = ", ".join(catalog.rot_courses)
            raise Refused(f"say where the rot is: give {option('where')} as one of {spots}")
    elif values.get("where") is not None:
        raise Refused(f"{option('where')} tells where something was seen; give {option('seen')} too")


def _check_crown(values: dict[str, object], line: PlantHistory, day: date) -> None:
    state = line.state_then(day.toordinal())
    if values.get("crown") == "shoot" and state.crown_lost is None:
        raise Refused(
            f"the crown of {line.id} is not known to be lost; a keiki is added with {option('on_mother')}"
        )
    if values.get("crown") == "lost" and is_crownless(state):
        raise Refused(f"{line.id} has lost its crown already, on {date.fromordinal(state.crown_lost or 0)}")


def _check_rest(values: dict[str, object], line: PlantHistory, day: date, catalog: Catalog) -> None:
    profile = profile_of(line.state_at(day.toordinal()), catalog)
    if values.get("rest") is not None and profile.rest_from_month is None:
        raise Refused(f"{profile.latin} has no rest; leave {option('rest')} out")


def _ask_jumps(line: PlantHistory, day: date, values: dict[str, Any]) -> None:
    """Ask where a count jumps from the last one; observations dated later do not count."""
    state = line.state_then(day.toordinal())
    for name in _COUNTS:
        old, new = _last_told(line, name, getattr(state, name), day), values.get(name)
        if old is not None and new is not None and new > JUMP_TIMES * old + JUMP_MORE:
            raise ConfirmationNeeded(f"{line.id} had {old} {name}, now {new}: is that right?")
    old_mm, new_mm = _last_told(line, "longest_mm", state.longest_mm, day), values.get("longest_mm")
    if old_mm is None or new_mm is None:
        return
    days = day.toordinal() - _counted_on(line, state, day)
    check_length(line.id, old_mm, new_mm)
    if new_mm > old_mm + GROWTH_MM + GROWTH_MM_D * days:
        raise ConfirmationNeeded(
            f"the longest root of {line.id} was {old_mm:g} mm {days} days ago, now {new_mm:g}: is that right?"
        )


def check_length(plant: str, old_mm: float, new_mm: float) -> None:
    """Ask where the longest root of a plant has become a tenth or ten times as long."""
    if new_mm * ROOT_TIMES <= old_mm or new_mm >= ROOT_TIMES * old_mm > 0:
        raise ConfirmationNeeded(
            f"the longest root of {plant} was {old_mm:g} mm, now {new_mm:g} mm; in cm perhaps? is that right?"
        )


def _last_told(line: PlantHistory, name: str, known: float | None, day: date) -> float | None:
    """Return the last count up to a day; of the days before a plant was entered only what is told of them."""
    if day.toordinal() >= line.entered:
        return known
    told = [value for on, what, value in line.measured if what == name and on <= day.toordinal()]
    return told[-1] if told else None


def _counted_on(line: PlantHistory, state: PlantState, day: date) -> int:
    """The day from which on the longest root had the length it has in a state."""
    same = [d for d, s in line.counts if d <= day.toordinal() and s.longest_mm == state.longest_mm]
    return max(same, default=line.entered)
