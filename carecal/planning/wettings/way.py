"""Along which days the wettings of one plant go: each is chosen for where it leaves those after it (models R1c)."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from carecal.planning.wettings.care_day import care_day, landing, nearest
from carecal.planning.wettings.slips import window_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from carecal.collection.fact_types import CareDates
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.rhythm.beats import Beats

__all__ = ["Way", "Window", "window_after"]


class Window(NamedTuple):
    """Days on which a wetting may be (ordinals), both ends included."""

    earliest: int
    due: int
    latest: int
    tie: str  # 'earlier' or 'later', for two days as good
    care: str  # of the rhythm: 'watering', 'moistening' or 'refilling'


def window_after(beats: Beats, day: int, *, of_pot: bool = True) -> Window | None:
    """Return the window of the wetting after one on a day; None: none is within the rhythm."""
    following = beats.next_due(day)
    beat = beats.first_from(following) if following is not None else None
    if following is None or beat is None:
        return None
    due = max(following, beat.start)
    earliest, latest = window_of(beats, beat, due, day + 1, of_pot=of_pot)
    return Window(max(earliest, day + 1), due, latest, beat.terms.tie, beat.terms.care)


class _Cost(NamedTuple):
    """What wettings cost, less is better from the first to the last."""

    own_days: int = 0  # days that are no care days
    wettings: int = 0  # of media that stay wet
    slips: int = 0  # squares of the days off due [d²]


FREE = _Cost()
AT_A_TIME = 60  # days looked along in one go; our choice, because each takes two calls one in another


class Way:
    """The way of one plant by itself along care days that were taken.

    Where these are to be looked along, each wetting takes the day after which the fewest wettings need a day of their
    own; of days as good the one after which a medium that stays wet is wetted least often; then the one that leaves all
    nearest to their due days. Windows that end after the last day taken count no more, so that the way is the same on
    whatever day it is looked for. Without such days it is the care day of each window by itself.

    Args:
        beats: The rhythm of the pot.
        context: Weekdays, absences and moved rounds.
        taken: Care days taken; None: those of the collection.
        wanted: Preferred weekdays, Monday 0; None: those of the settings.
        of_pot: False for the moistening of an aid.
    """

    def __init__(
        self,
        beats: Beats,
        context: PlanContext,
        taken: CareDates | None = None,
        wanted: frozenset[int] | None = None,
        *,
        of_pot: bool = True,
    ) -> None:
        self._beats, self._context, self._taken, self._wanted = beats, context, taken, wanted
        self._of_pot, self._along = of_pot, {}  # type: bool, dict[CareDates, _Along]

    def day(self, window: Window, *, floor_day: int, rides: frozenset[int] = frozenset()) -> int:
        """Return the care day of a window, none before a floor.

        Args:
            window: Where the wetting may be.
            floor_day: No care day before this one.
            rides: Days that are taken before all others, as those on which the pot of an aid is wetted.
        """
        first = max(window.earliest, floor_day)
        if rides and (ridden := [day for day in range(first, window.latest + 1) if day in rides]):
            return nearest(ridden, window.due, window.tie)
        taken = self._taken
        if taken is None and self._context.facts.care_dates:
            taken = self._context.facts.taken(min(window.latest, self._context.as_of))
        if taken is not None and taken.is_ahead:
            if taken not in self._along:
                self._along[taken] = _Along(self._beats, self._context, taken.days, of_pot=self._of_pot)
            found = self._along[taken].best(window, floor_day)
            if found is not None:
                return found[1]
        return care_day(
            window.earliest,
            window.due,
            window.latest,
            window.tie,
            self._context,
            floor_day=floor_day,
            dates=taken.days if taken is not None else frozenset(),
            wanted=self._wanted,
        )


class _Along:
    """The ways along one set of care days, each day's cost from there on worked out once."""

    def __init__(self, beats: Beats, context: PlanContext, days: frozenset[int], *, of_pot: bool) -> None:
        self._beats, self._context, self._days, self._of_pot = beats, context, days, of_pot
        self._last = max(days, default=0)
        self._known: dict[int, _Cost] = {}
        for day in range(
            self._last, min(days, default=0), -AT_A_TIME
        ):  # from the end: what comes daily goes deep else
            self._rest(day)

    def best(self, window: Window, floor_day: int) -> tuple[_Cost, int] | None:
        """Return what is paid from a window on, and its best day; None: no care day is to be looked for."""
        context = self._context
        present: Sequence[int] = range(max(window.earliest, floor_day), window.latest + 1)
        if context.has_absences:
            present = [day for day in present if not context.is_away(day)]
        held: Sequence[int] = [day for day in present if day in self._days]
        own = int(not held)
        if own:
            held = present if window.latest <= self._last else ()
        wettings, sign = int(window.tie == "later"), 1 if window.tie == "earlier" else -1
        found = []
        for day in held:
            landed = landing(day, context, floor_day)
            rest, slip = self._rest(landed), day - window.due
            cost = _Cost(rest.own_days + own, rest.wettings + wettings, rest.slips + slip * slip)
            found.append((cost, sign * day, landed))
        if not found:
            return None
        cost, _, chosen = min(found)
        return cost, chosen

    def _rest(self, day: int) -> _Cost:
        """Return what all wettings after one on a day cost."""
        if day not in self._known:
            window, found = window_after(self._beats, day, of_pot=self._of_pot), None
            if window is not None and window.latest <= self._last:
                found = self.best(window, day + 1)
            self._known[day] = found[0] if found is not None else FREE
        return self._known[day]
