"""States of a plant that the grower sets by hand, as entries: aids, reservoir, quarantine, gates, bloom, spike."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from carecal.app.command_context import CommandContext, named, one_of
from carecal.app.make_entries import make_entry
from carecal.collection.entries import AidSet, BloomSet, GateSet, QuarantineSet, ReservoirSet, SpikeSet
from carecal.errors import ConfirmationNeeded, Refused, option
from carecal.planning.sick.rot import ROT
from carecal.planning.sick.wraps import CLOSED
from carecal.wording.dates import day_month

if TYPE_CHECKING:
    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.collection.entries import Entry
    from carecal.collection.plants import PlantHistory, PlantState

__all__ = ["aid", "bloom", "gate", "quarantine", "reservoir", "spike"]


def aid(
    collection: Collection,
    now: Now,
    plant: str,
    name: str,
    *,
    off: bool = False,
    on: date | None = None,
    sure: bool = False,
) -> list[Entry]:
    """Return the entry of an aid that is given or taken off.

    Raises:
        UnknownName: The plant or the aid is not known.
        ConfirmationNeeded: A wrap would be closed over rot that was found lately.
        Refused: It has the aid already, or has it not, or the day does not fit.
    """
    context, day, line, state = _state(collection, now, plant, on)
    named("aid", name, context.catalog.aids)
    if off and name not in state.aid_names:
        raise Refused(
            f"{plant} has no {name} on {day_month(day)}; its aids: {', '.join(sorted(state.aid_names)) or 'none'}"
        )
    if not off and name in state.aid_names:
        raise Refused(f"{plant} has a {name} already on {day_month(day)}")
    if name == "wrap" and not off and not sure:
        _ask_rot(state, day, context)
    return [make_entry(AidSet, on=day, plant=line.id, aid=name, off=off)]


def _ask_rot(state: PlantState, day: date, context: CommandContext) -> None:
    """Ask where a wrap is closed over rot that has not been clean and dry long enough (wraps.toml rot_free_days)."""
    clean = int(context.catalog.wraps[CLOSED].rot_free_days)
    found = max([w.since for w in state.pests if w.pest == ROT], default=None)
    if found is not None and day.toordinal() < found + clean:
        raise ConfirmationNeeded(
            f"rot was found on {date.fromordinal(found)}: a wrap is closed after {clean} clean dry days;"
            " close it all the same?"
        )


def reservoir(
    collection: Collection, now: Now, plant: str, to: str, *, on: date | None = None
) -> list[Entry]:
    """Return the entry of a reservoir that is emptied on purpose or filled again.

    Raises:
        UnknownName: No plant has that id.
        Refused: It stands in no container with a reservoir, it is so already, or the day does not fit.
    """
    one_of("reservoir", to, ("empty", "filled"))
    context, day, line, state = _state(collection, now, plant, on)
    containers = context.catalog.containers
    container = state.container or ""
    if container not in containers or not containers[container].has_reservoir:
        fits = ", ".join(name for name, row in containers.items() if row.has_reservoir)
        raise Refused(
            f"{plant} stands in {container or 'an unknown container'}, which has no reservoir; those that have: {fits}"
        )
    if state.reservoir == to:
        raise Refused(f"the reservoir of {plant} is {to} already on {day_month(day)}")
    return [make_entry(ReservoirSet, on=day, plant=line.id, to=to)]


def quarantine(
    collection: Collection,
    now: Now,
    plant: str,
    *,
    until: date | None = None,
    end: bool = False,
    on: date | None = None,
) -> list[Entry]:
    """Return the entry of a plant that is set apart until the day on which it is asked, or no longer.

    Raises:
        UnknownName: No plant has that id.
        Refused: It ends and there was none, or a day does not fit.
    """
    _, day, line, state = _state(collection, now, plant, on)
    if end and until is not None:
        raise Refused(f"{option('until')} and {option('end')} exclude each other; give one of them")
    if end and state.quarantine_since is None:
        raise Refused(f"{plant} is not in quarantine on {day_month(day)}")
    if until is not None and until < day:
        raise Refused(f"a quarantine until {until} would end before it begins, {day}; allowed are later days")
    return [make_entry(QuarantineSet, on=day, plant=line.id, until=until, end=end)]


def gate(
    collection: Collection, now: Now, plant: str, name: str, to: str, *, on: date | None = None
) -> list[Entry]:
    """Return the entry of a feeding gate that is held open by hand, or left to itself again.

    Raises:
        UnknownName: The plant or the gate is not known.
        Refused: The gate may not be held open, is so already, or the day does not fit.
    """
    one_of("gate", to, ("open", "auto"))
    context, day, line, state = _state(collection, now, plant, on)
    gates = context.catalog.feeding_gates
    named("gate", name, gates)
    if to == "open" and not gates[name].overridable:
        fits = ", ".join(key for key, row in gates.items() if row.overridable)
        raise Refused(f"the gate {name} cannot be held open by hand; those that can: {fits}")
    if (name in state.gates_open) == (to == "open"):
        raise Refused(
            f"the gate {name} of {plant} is {'held open' if to == 'open' else 'left to itself'} already"
        )
    return [make_entry(GateSet, on=day, plant=line.id, gate=name, to=to)]


def bloom(collection: Collection, now: Now, plant: str, to: str, *, on: date | None = None) -> list[Entry]:
    """Return the entry that says whether a spike may run.

    Raises:
        UnknownName: No plant has that id.
        Refused: The word or the day does not fit.
    """
    one_of("bloom", to, ("allow", "not-yet"))
    _, day, line, _ = _state(collection, now, plant, on)
    return [make_entry(BloomSet, on=day, plant=line.id, to=to)]


def spike(
    collection: Collection, now: Now, plant: str, to: str, *, on: date | None = None, sure: bool = False
) -> list[Entry]:
    """Return the entry that says what is done with a spike.

    Raises:
        UnknownName: No plant has that id.
        ConfirmationNeeded: A terminal spike, which stays while it is green, would be cut.
        Refused: It has no spike, a keiki hangs on the plant, or the day does not fit.
    """
    one_of("spike", to, ("keep", "cut", "let-run"))
    context, day, line, state = _state(collection, now, plant, on)
    if state.flowering == "none":
        raise Refused(
            f"{plant} shows no spike on {day_month(day)}; say first that one came",
            command=f"observe {plant} --flowering in-spike",
            how="with carecal",
        )
    if to == "cut" and _carries_keiki(context, line):
        raise Refused(f"a keiki hangs on {plant}: its spike is not cut before the keiki is parted")
    if to == "cut" and state.flowering == "terminal-spike" and not sure:
        raise ConfirmationNeeded(
            f"the spike of {plant} is terminal and stays while it is green, it feeds what comes after it: has it dried?"
        )
    return [make_entry(SpikeSet, on=day, plant=line.id, to=to)]


def _state(
    collection: Collection, now: Now, plant: str, on: date | None
) -> tuple[CommandContext, date, PlantHistory, PlantState]:
    context = CommandContext(collection, now, (plant,))
    day, lines = context.alive(on)
    return context, day, lines[0], lines[0].state_at(day.toordinal())


def _carries_keiki(context: CommandContext, mother: PlantHistory) -> bool:
    """Return whether any living plant hangs on this one (models G8)."""
    return any(
        line.latest.mother == mother.number
        for line in CommandContext(context.collection, context.now, None).lines
    )
