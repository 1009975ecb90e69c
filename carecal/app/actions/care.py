"""Cares as entries: done, left, missed. Everything is checked here; nothing is written."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from carecal.app.actions.care_checks import (
    CARES,
    WETTINGS,
    aid_of,
    ask_again,
    ask_weight,
    check_care,
    check_measured,
    check_single,
    check_strength,
)
from carecal.app.command_context import CommandContext, one_of
from carecal.app.make_entries import make_daily
from carecal.app.near.document import NEAR_DAYS
from carecal.app.near.shelf import poured_today
from carecal.app.tasks import task_for
from carecal.errors import Refused
from carecal.wording.dates import day_month

if TYPE_CHECKING:
    from collections.abc import Sequence

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.collection.entries import Entry
    from carecal.collection.plants import PlantHistory
    from carecal.planning.wettings.slots import Chain

__all__ = [
    "CARES",
    "CARE_WORDS",
    "WETTINGS",
    "care_named",
    "done",
    "leave",
    "missed",
]

CARE_WORDS = {
    "water": "watering",
    "watered": "watering",
    "refill": "refilling",
    "refilled": "refilling",
    "feed": "feeding",
    "fed": "feeding",
    "flush": "flushing",
    "flushed": "flushing",
    "moisten": "moistening",
    "moistened": "moistening",
    "look": "inspection",
    "looked": "inspection",
    "look-over": "inspection",
}
"""What a round prints, and what people say of it, as the care that is meant."""


def care_named(word: str) -> str:
    """Return the care that a word means: its own name, or what a round prints, as 'water'; else the word itself."""
    return CARE_WORDS.get(word.casefold(), word)


def done(
    collection: Collection,
    now: Now,
    care: str,
    ids: Sequence[str],
    *,
    on: date | None = None,
    felt: str | None = None,
    weight_g: float | None = None,
    ec_ms_cm: float | None = None,
    ppm_n: float | None = None,
    task: str | None = None,
    aid: str | None = None,
    sure: bool = False,
) -> list[Entry]:
    """Return the entries of a care that was carried out.

    Args:
        collection: The collection.
        now: The moment of the command.
        care: One of the cares.
        ids: Ids of the plants.
        on: The day; None: today.
        felt: How the medium felt: parched, right or damp.
        weight_g: What the pot weighed before. [g]
        ec_ms_cm: Conductivity of the drained water. [mS/cm]
        ppm_n: Strength of the feed that was poured; None: that of the day's can. [mg/L of N]
        task: Id of the task it answers.
        aid: The aid that was moistened; None: the one it has.
        sure: Whether what is unusual was confirmed.

    Raises:
        UnknownName: An id names no plant.
        AlreadyDone: The task was answered before.
        ConfirmationNeeded: The same care stands on that day already, or a weight lies outside dry and full.
        Refused: The day, the care or a number does not fit.
    """
    care = one_of("care", care_named(care), CARES)
    context = CommandContext(collection, now, ids)
    check_measured(care, felt, weight_g, ec_ms_cm, task, context)
    check_strength(care, ppm_n)
    day, lines = context.alive(on, historic=True)
    entries: list[Entry] = []
    for line in lines:
        ticked = task_for(collection, now, line, task, day) if task is not None else None
        state = line.state_then(day.toordinal())
        mine = aid_of(care, state, aid, ticked)
        check_care(care, line, state, mine, ticked)
        if not sure:
            ask_again(care, line, day, mine)
            ask_weight(line, day, weight_g)
        poured = ppm_n if ppm_n is not None else _poured(collection, now, care, line, day)
        told = {"felt": felt, "weight_g": weight_g, "ec_ms_cm": ec_ms_cm, "ppm_n": poured}
        entries.append(make_daily("done", on=day, plant=line.id, care=care, task=task, aid=mine, **told))
    return entries


def leave(
    collection: Collection,
    now: Now,
    care: str,
    ids: Sequence[str],
    *,
    on: date | None = None,
    felt: str = "damp",
    again_days: int | None = None,
    task: str | None = None,
    aid: str | None = None,
) -> list[Entry]:
    """Return the entries of plants that were looked at and left.

    Args:
        collection: The collection.
        now: The moment of the command.
        care: The care that was not needed.
        ids: Ids of the plants.
        on: The day; None: today.
        felt: Always damp: what felt right or parched is watered.
        again_days: Days until the next look; None: a quarter of its rhythm. [d]
        task: Id of the task it answers.
        aid: The aid that was still damp.

    Raises:
        UnknownName: An id names no plant.
        AlreadyDone: The task was answered before.
        Refused: The day, the care or a number does not fit.
    """
    care = one_of("care", care_named(care), CARES)
    if felt != "damp":
        raise Refused(f"felt '{felt}' is no reason to leave a plant; allowed is damp, else say done {care}")
    context = CommandContext(collection, now, ids)
    check_single(task, context)
    day, lines = context.alive(on, historic=True)
    entries: list[Entry] = []
    for line in lines:
        ticked = task_for(collection, now, line, task, day) if task is not None else None
        state = line.state_then(day.toordinal())
        mine = aid_of(care, state, aid, ticked)
        check_care(care, line, state, mine, ticked)
        entries.append(
            make_daily(
                "left",
                on=day,
                plant=line.id,
                care=care,
                felt="damp",
                again_days=again_days,
                task=task,
                aid=mine,
            )
        )
    return entries


def missed(
    collection: Collection, now: Now, care: str, ids: Sequence[str], *, on: date | None = None
) -> list[Entry]:
    """Return the entries that take back what is open, overdue or assumed at the end of the plants' wettings.

    Raises:
        UnknownName: An id names no plant.
        Refused: Nothing of a plant can be taken back.
    """
    care = one_of("care", care_named(care), ("watering", "moistening"))
    context = CommandContext(collection, now, ids)
    day, lines = context.alive(on)
    planner = collection.planner(
        day, until=day + timedelta(days=NEAR_DAYS), plants={line.number for line in lines}
    )
    for line in lines:
        plant_planner = planner.plant_planners[line.number]
        is_of_pot = care == "watering" or line.state_at(day.toordinal()).stage == "rootless"
        chains = [plant_planner.chain] if is_of_pot else []
        chains += plant_planner.aids.values() if care == "moistening" else []
        if not any(_may_be_missed(chain, day) for chain in chains):
            raise Refused(
                f"nothing of {line.id} is open, overdue or assumed on {day_month(day)}; nothing was missed"
            )
    return [make_daily("missed", on=day, plant=line.id, care=care) for line in lines]


def _may_be_missed(chain: Chain, day: date) -> bool:
    """Return whether a chain ends in an open, overdue or assumed slot."""
    pending = chain.pending
    is_waiting = pending is not None and pending.day <= day.toordinal()
    return is_waiting or bool(chain.history and chain.history[-1][0].status == "assumed")


def _poured(collection: Collection, now: Now, care: str, line: PlantHistory, day: date) -> float | None:
    """Return the strength of today's can for a feed, where the plant by itself asks for another. [mg/L of N]."""
    if care != "feeding" or day != now.day:
        return None
    return poured_today(collection, day, line.number)
