"""How few days with a wetting a house could do with, quickly reckoned: windows as they follow each other, no plan.

Days are as late as the windows allow, with those along who are due soon; each pot then goes by the one nearest its due
day. It is an estimate to compare by: what a
house would need without a plant, or with one that dries more slowly.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from carecal.planning.wettings.care_day import nearest
from carecal.planning.wettings.way import window_after

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["Pot", "Windows", "days_needed", "pot_of"]

WAITS = (0, 1, 2, 99)  # our choice of whom a day takes along: who is due within so many days [d]

Windows = tuple[int, int, int]  # earliest, due, latest (ordinals)


class Pot(Protocol):
    """A pot whose windows follow from the days on which it is wetted."""

    @property
    def first(self) -> Windows:
        """The window of the wetting that stands next."""

    def after(self, day: int) -> Windows | None:
        """Return the window after a wetting on a day; None beyond the days reckoned."""


class _AsPlanned:
    """The pot of a plant as it is planned; windows are kept, since they are asked for again and again."""

    def __init__(self, plant_planner: PlantPlanner, first: Windows) -> None:
        self.first, self._plant, self._known = first, plant_planner, {}  # type: Windows, PlantPlanner, dict[int, Windows | None]

    def after(self, day: int) -> Windows | None:
        if day not in self._known:
            window = window_after(self._plant.chain.beats, day)
            is_planned = window is not None and window.due <= self._plant.context.last_day
            self._known[day] = window[:3] if window is not None and is_planned else None
        return self._known[day]


def pot_of(plant_planner: PlantPlanner) -> Pot | None:
    """Return the pot of a plant; None where nothing is poured into it: gone, without roots, on its mother, wrapped."""
    slot, as_of = plant_planner.chain.pending, plant_planner.context.as_of
    if slot is None or plant_planner.line.retired is not None or slot.beat.terms.care == "moistening":
        return None
    if slot.status == "overdue":
        return _AsPlanned(plant_planner, (as_of, as_of, as_of))
    return _AsPlanned(plant_planner, (max(slot.earliest, as_of), slot.due, max(slot.latest, as_of)))


def days_needed(pots: Sequence[Pot]) -> int:
    """Return about how few days with a wetting the windows of some pots need."""
    return min((_needed(pots, wait) for wait in WAITS), default=0)


def _needed(pots: Sequence[Pot], wait: int) -> int:
    dates = _latest_days(pots, wait)
    return len({day for pot in pots for day in _walk(pot, dates)})


def _latest_days(pots: Sequence[Pot], wait: int) -> set[int]:
    """Return days that keep all windows, each as late as it may be, with all along who are due within a wait."""
    ahead, days = {at: pot.first for at, pot in enumerate(pots)}, set()
    while ahead:
        day = min(latest for _, _, latest in ahead.values())
        days.add(day)
        for at, (earliest, due, latest) in list(ahead.items()):
            if latest == day or (earliest <= day and due <= day + wait):
                following = pots[at].after(day)
                if following is None:
                    del ahead[at]
                else:
                    ahead[at] = following
    return days


def _walk(pot: Pot, dates: set[int]) -> Iterator[int]:
    """Yield the days on which a pot is wetted: in each window the date nearest its due day, else that day itself."""
    window: Windows | None = pot.first
    while window is not None:
        earliest, due, latest = window
        held = [day for day in range(earliest, latest + 1) if day in dates]
        day = nearest(held, due, "later") if held else due
        yield day
        window = pot.after(day)
