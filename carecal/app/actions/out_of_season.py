"""Asks before an act out of season, with its reason; whoever means it says so. It writes nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.app.command_context import CommandContext
from carecal.errors import ConfirmationNeeded
from carecal.planning.steps.case import Case
from carecal.planning.steps.out_of_season import filling_now, moving_out_now, potting_now, unwrapping_now

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date

    from carecal.app.door import Collection
    from carecal.app.now import Now

__all__ = ["ask_filling", "ask_moving", "ask_potting", "ask_unwrapping"]


def ask_potting(
    collection: Collection, now: Now, ids: Sequence[str], container: str, on: date | None
) -> None:
    """Ask before a potting out of season.

    Raises:
        ConfirmationNeeded: For one of the plants it is; names it and says why.
        UnknownName: A plant is not known.
    """
    _ask(collection, now, ids, on, lambda case: potting_now(case, container), "Pot it")


def ask_filling(collection: Collection, now: Now, plant: str, on: date | None) -> None:
    """Ask before a reservoir is filled that had better stay empty.

    Raises:
        ConfirmationNeeded: It had; says why.
        UnknownName: The plant is not known.
    """
    _ask(collection, now, [plant], on, filling_now, "Fill it")


def ask_moving(collection: Collection, now: Now, ids: Sequence[str], place: str, on: date | None) -> None:
    """Ask before plants go outdoors while nights are too cold, or that are too weak for it.

    Raises:
        ConfirmationNeeded: For one of the plants it is so; names it and says why.
        UnknownName: A plant is not known.
    """
    _ask(collection, now, ids, on, lambda case: moving_out_now(case, place), "Move it out")


def ask_unwrapping(collection: Collection, now: Now, plant: str, on: date | None) -> None:
    """Ask before a wrap comes off a plant that has no new root yet.

    Raises:
        ConfirmationNeeded: It has none, or the room is too cold or too dark; says why.
        UnknownName: The plant is not known.
    """
    _ask(collection, now, [plant], on, unwrapping_now, "Take it off")


def _ask(
    collection: Collection,
    now: Now,
    ids: Sequence[str],
    on: date | None,
    why: Callable[[Case], str],
    deed: str,
) -> None:
    """Ask about what is done today; what is told of an earlier day has happened, whatever the season was."""
    if on is not None and on < now.day:
        return
    numbers = {line.number for line in CommandContext(collection, now, ids).lines}
    planner = collection.planner(now.day, plants=numbers)
    found = []
    for number in sorted(numbers):
        plant_planner = planner.plant_planners.get(number)
        reason = why(Case(plant_planner, planner.timeline.plants)) if plant_planner is not None else ""
        if reason:
            found.append(f"{plant_planner.line.name}: {reason}" if plant_planner is not None else reason)
    if found:
        raise ConfirmationNeeded(f"{'; '.join(found)}. {deed} all the same?")
