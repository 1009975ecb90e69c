"""The visits of somebody who looks after the plants for some days: few, with plain water; it moves no plan."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from carecal.planning.tasks import plain_task

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.plan.model import Task
    from carecal.planning.planner import Planner
    from carecal.planning.plant_planner import PlantPlanner
    from carecal.planning.wettings.slots import Chain, Slot

__all__ = ["VISIT_DAYS", "visits"]

VISIT_DAYS = 3  # our choice, because sitters come twice a week, and dry harms less than wet [d]


class _Pot(NamedTuple):
    """A chain of wettings or moistenings, and the one that stands next."""

    plant_planner: PlantPlanner
    chain: Chain
    aid: str
    slot: Slot

    def after(self, day: int) -> _Pot | None:
        """Return it with the wetting after one on a day; None where there is none."""
        due = self.chain.beats.next_due(day)
        slot = self.chain.slot(self.slot.number + 1, due, day, self.chain.tally) if due is not None else None
        return self._replace(slot=slot) if slot is not None else None

    def is_for(self, day: int) -> bool:
        """Return whether it is wetted on a visit: due by the next one, and not too early unless it were later still."""
        following = day + VISIT_DAYS
        if self.slot.earliest <= day:
            return self.slot.day < following
        return self.slot.latest < following and self.slot.earliest - day <= following - self.slot.latest


def visits(
    planner: Planner, first: int, last: int, former: int | None = None
) -> list[tuple[int, list[Task]]]:
    """Return the days on which somebody comes (ordinals), and what gets plain water or is moistened on each.

    Nobody comes more often than every third day; what dries faster gets its water at each visit. Feed, flush, looks and
    counts are the grower's own and wait. Every wetting is plain.

    Args:
        planner: The planner of the day.
        first: First day.
        last: Last day, included.
        former: Day of the visit before; None: there was none.
    """
    pots = [pot for pot in (_until(each, first) for each in _pots(planner)) if pot is not None]
    found: list[tuple[int, list[Task]]] = []
    day = first if former is None else max(first, former + VISIT_DAYS)
    while pots:
        day = max(day, min(pot.slot.day for pot in pots))
        if day > last:
            break
        due = [pot for pot in pots if pot.is_for(day)]
        found.append((day, [_task(pot, day) for pot in due]))
        pots = [
            pot
            for pot in (each.after(day) if each in due else each for each in pots)
            if pot is not None and pot.slot.day <= last + VISIT_DAYS
        ]
        day += VISIT_DAYS
    return found


def _pots(planner: Planner) -> Iterator[_Pot]:
    for plant_planner in planner.plant_planners.values():
        if plant_planner.line.retired is None:
            for aid, chain in (("", plant_planner.chain), *plant_planner.aids.items()):
                if chain.pending is not None:
                    yield _Pot(plant_planner, chain, aid, chain.pending)


def _until(pot: _Pot, first: int) -> _Pot | None:
    """Return a chain with what the grower does on its own days before the first visit."""
    as_of, found = pot.plant_planner.context.as_of, pot  # type: int, _Pot | None
    while found is not None and max(found.slot.day, as_of) < first:
        found = found.after(max(found.slot.day, as_of))
    return found


def _task(pot: _Pot, day: int) -> Task:
    """Return a wetting as plain water on the day of a visit."""
    return plain_task(pot.slot, pot.plant_planner, day, pot.aid)._replace(ask_felt=False, asks="")
