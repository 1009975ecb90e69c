"""The frame of hindsight: the days before a loss, what is known of each, and a departure from what was safe."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING

from carecal.planning.places.safe_starts import Limits
from carecal.planning.places.warmth import warm_night_c
from carecal.planning.rhythm.drying import Drying
from carecal.planning.rhythm.situations import situation_at
from carecal.planning.rhythm.terms import profile_of
from carecal.planning.steps.case import limits_for
from carecal.wording.dates import day_month

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from carecal.catalog.tables import Profile
    from carecal.collection.plants import Event, PlantState
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["LOOK_BACK_DAYS", "Departure", "Past", "on"]

LOOK_BACK_DAYS = 120  # issue: the days before a loss that are laid against what was safe [d]


def on(day: int) -> str:
    """Return a day in words."""
    return day_month(date.fromordinal(day))


@dataclass(frozen=True, slots=True)
class Departure:
    """One departure from what was safe.

    Attributes:
        code: What kind it is.
        weight: How much it may have mattered, 0 to 10, for the order alone.
        first: First day of it.
        last: Its last day.
        text: One sentence with the numbers, worded 'may have'.
        entries: Numbers of the journal's entries behind it.
    """

    code: str
    weight: float
    first: date
    last: date
    text: str
    entries: tuple[int, ...]


class Past:
    """The days before a loss of one plant, the day of the loss itself not included.

    Args:
        plant_planner: The plant.
        first: First day looked at (ordinal).
        loss: Day of the loss (ordinal).
    """

    def __init__(self, plant_planner: PlantPlanner, first: int, loss: int) -> None:
        self.plant_planner, self.line, self.context = plant_planner, plant_planner.line, plant_planner.context
        self.first, self.loss = first, loss

    @property
    def days(self) -> range:
        """The days looked at."""
        return range(self.first, self.loss)

    @cached_property
    def drying(self) -> Drying:
        """How the pot dried."""
        return Drying(self.plant_planner.stretches, self.context)

    def state(self, day: int) -> PlantState:
        """Return the plant's state on a day."""
        return self.line.state_at(day)

    def before(self, day: int) -> PlantState:
        """Return the plant's state on the day before, the first one where there is none."""
        return self.line.state_at(day - 1)

    def profile(self, day: int) -> Profile:
        """Return the culture it followed on a day."""
        return profile_of(self.state(day), self.context.catalog)

    def limits(self, step: str, day: int) -> Limits:
        """Return what a step asks of the medium, shifted by the kind (models W1)."""
        warm_c = warm_night_c(self.profile(day), self.state(day), self.context, self.line.number)
        return limits_for(self.context.catalog.steps[step], warm_c)

    def events(self, *kinds: str) -> Iterator[Event]:
        """Yield what happened in these days, in order, of some kinds."""
        yield from (e for e in self.line.events if e.kind in kinds and self.first <= e.day < self.loss)

    def dried(self, since: int, day: int) -> float | None:
        """Return how many of its own intervals passed between two days, 1 being on time; None: unknown. [-]."""
        progress = self.drying.progress(since, day)
        if progress is None:
            return None
        return progress / self.plant_planner.taught_on(day).factor

    def is_rootless(self, day: int) -> bool:
        """Return whether it had no roots on a day."""
        return self.state(day).stage == "rootless"

    def gap(self, day: int) -> str:
        """Return why nothing was wetted on a day, '' where it was."""
        return (
            situation_at(self.plant_planner.stretches, day).gap if self.plant_planner.stretches else "unknown"
        )

    def rests_in_the_cold(self, day: int) -> bool:
        """Return whether it was in a dry rest, whose cold nights are part of it."""
        stretches = self.plant_planner.stretches
        return bool(stretches) and situation_at(stretches, day).rest_water is not None

    def entry_of(self, day: int) -> int:
        """Return the entry that made the plant's state on a day."""
        return self.state(day).entry

    def departure(
        self, code: str, weight: float, days: Iterable[int], text: str, entries: Iterable[int]
    ) -> Departure:
        """Return a departure over some days."""
        span = sorted(days)
        return Departure(
            code,
            round(max(0.0, min(10.0, weight)), 2),
            date.fromordinal(span[0]),
            date.fromordinal(span[-1]),
            text,
            tuple(sorted(set(entries))),
        )
