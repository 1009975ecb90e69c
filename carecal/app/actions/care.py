"""Cares as entries: done, left, missed. Everything is checked here; nothing is written."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from carecal.app.command_context import CommandContext, one_of
from carecal.app.make_entries import make_daily
from carecal.app.near.document import NEAR_DAYS
from carecal.app.near.shelf import poured_today
from carecal.app.tasks import task_for
from carecal.errors import ConfirmationNeeded, Refused, option
from carecal.wording.dates import day_text
from carecal.wording.tasks import done_word

if TYPE_CHECKING:
    from collections.abc import Sequence

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.app.tasks import Ticked
    from carecal.collection.entries import Entry
    from carecal.collection.plants import PlantHistory, PlantState
    from carecal.planning.wettings.slots import Chain

__all__ = [
    "CARES",
    "CARE_WORDS",
    "WETTINGS",
    "aid_of",
    "care_named",
    "check_care",
    "done",
    "leave",
    "missed",
]

CARES = ("watering", "refilling", "feeding", "flushing", "moistening", "inspection")
WETTINGS = frozenset(CARES[:4])
MOISTENED = ("cloth", "moss-collar")
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
MAX_EC = 20.0  # [mS/cm]
MOST_PPM = 400.0  # [mg/L of N]


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
    _check_measured(care, felt, weight_g, ec_ms_cm, task, context)
    _check_strength(care, ppm_n)
    day, lines = context.alive(on, historic=True)
    entries: list[Entry] = []
    for line in lines:
        ticked = task_for(collection, now, line, task, day) if task is not None else None
        state = line.state_then(day.toordinal())
        mine = aid_of(care, state, aid, ticked)
        check_care(care, line, state, mine, ticked)
        if not sure:
            _ask_again(care, line, day, mine)
            _ask_weight(line, day, weight_g)
        entries.append(
            make_daily(
                "done",
                on=day,
                plant=line.id,
                care=care,
                felt=felt,
                weight_g=weight_g,
                ec_ms_cm=ec_ms_cm,
                ppm_n=_poured(collection, now, care, line, day) if ppm_n is None else ppm_n,
                task=task,
                aid=mine,
            )
        )
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
    _check_single(task, context)
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
            raise Refused(f"nothing of {line.id} is open, overdue or assumed on {day}; nothing was missed")
    return [make_daily("missed", on=day, plant=line.id, care=care) for line in lines]


def _may_be_missed(chain: Chain, day: date) -> bool:
    """Return whether a chain ends in an open, overdue or assumed slot."""
    pending = chain.pending
    is_waiting = pending is not None and pending.day <= day.toordinal()
    return is_waiting or bool(chain.history and chain.history[-1][0].status == "assumed")


def _check_single(task: str | None, context: CommandContext) -> None:
    if task is not None and len(context.ids or ()) != 1:
        raise Refused(
            f"{option('task')} names one task of one plant; {len(context.ids or ())} plants were named"
        )


def _check_measured(
    care: str,
    felt: str | None,
    weight_g: float | None,
    ec: float | None,
    task: str | None,
    context: CommandContext,
) -> None:
    _check_single(task, context)
    given = [name for name, value in (("felt", felt), ("weight", weight_g), ("ec", ec)) if value is not None]
    if given and care not in WETTINGS:
        raise Refused(
            f"--{given[0]} belongs to a wetting of the pot; {care} is not one (allowed: {', '.join(CARES[:4])})"
        )
    if (weight_g is not None or ec is not None) and len(context.ids or ()) != 1:
        raise Refused(f"a weight or EC belongs to one plant; {len(context.ids or ())} were named")
    if ec is not None and not 0 <= ec <= MAX_EC:
        guess = f"; {ec:g} looks like µS/cm: that is {ec / 1000:g} mS/cm" if ec > MAX_EC else ""
        raise Refused(f"EC {ec:g} mS/cm is out of range; allowed are 0 to {MAX_EC:g} mS/cm{guess}")


def _check_strength(care: str, ppm_n: float | None) -> None:
    """Refuse a strength of what is no feed, and one that is plain water or burns roots."""
    if ppm_n is None:
        return
    if care != "feeding":
        raise Refused(f"{option('ppm')} belongs to a feed; {care} is none")
    if not 0 < ppm_n <= MOST_PPM:
        raise Refused(f"{ppm_n:g} ppm N is out of range; allowed are 1 to {MOST_PPM:g} ppm N of a feed")


def _poured(collection: Collection, now: Now, care: str, line: PlantHistory, day: date) -> float | None:
    """Return the strength of today's can for a feed, where the plant by itself asks for another. [mg/L of N]."""
    if care != "feeding" or day != now.day:
        return None
    return poured_today(collection, day, line.number)


def aid_of(care: str, state: PlantState, aid: str | None, ticked: Ticked | None) -> str | None:
    """Return the aid that is meant: the one named, the task's, or the one the plant has; None: the pot itself."""
    if aid is not None or ticked is not None:
        return aid or (ticked.aid if ticked is not None else None)
    if care != "moistening" or state.stage == "rootless":
        return None
    return next((name for name in MOISTENED if name in state.aid_names), None)


def check_care(
    care: str, line: PlantHistory, state: PlantState, aid: str | None, ticked: Ticked | None
) -> None:
    """Refuse a care that the plant cannot have, or that is not of the task's kind."""
    if care in WETTINGS and state.mother is not None:
        raise Refused(
            f"{line.id} hangs on its mother and is not wetted by itself; say it for the mother, or part it first"
        )
    if care == "refilling" and state.reservoir != "filled":
        raise Refused(f"{line.id} has no filled reservoir; allowed are watering, feeding, flushing")
    if aid is not None and aid not in state.aid_names:
        names = ", ".join(sorted(state.aid_names)) or "none"
        raise Refused(f"{line.id} has no {aid}; its aids: {names}")
    if care == "moistening" and state.stage != "rootless" and not state.aid_names & set(MOISTENED):
        raise Refused(f"{line.id} has nothing to moisten: no cloth, no moss-collar, not rootless")
    if ticked is None:
        return
    kind = "look" if care == "inspection" else "aid" if aid else "wetting"
    of_task = "aid" if ticked.aid else ticked.path
    if kind != of_task:
        raise Refused(f"task '{ticked.id}' is a {of_task}, not answered by {care}")


def _ask_again(care: str, line: PlantHistory, day: date, aid: str | None) -> None:
    for event in line.told:
        if event.kind not in {"wet", "aid", "look"} or event.day != day.toordinal():
            continue
        if event.care == care and (aid is None or event.aid == aid):
            raise ConfirmationNeeded(
                f"{line.name} was {done_word(care)} on {day_text(day)} already: a second time on one day?"
            )


def _ask_weight(line: PlantHistory, day: date, weight_g: float | None) -> None:
    """Ask where a weight lies outside the dry and full weights of this potting."""
    if weight_g is None:
        return
    since = line.state_then(day.toordinal()).potted or 0
    marks = {e.mark: e.weight_g for e in line.told if e.kind == "weighed" and e.day >= since and e.mark}
    dry, full = marks.get("dry"), marks.get("full")
    if (dry is not None and weight_g < dry) or (full is not None and weight_g > full):
        known = [f"{grams:g} g {mark}" for mark, grams in (("dry", dry), ("full", full)) if grams is not None]
        span = " to ".join(known)
        raise ConfirmationNeeded(f"{weight_g:g} g lies outside what {line.id} weighs, {span}: is that right?")
