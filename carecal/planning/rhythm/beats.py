"""From demand to whole days: the beats of one plant, each in force from one moment to the next (models I1-I5)."""

from __future__ import annotations

from bisect import bisect_right
from calendar import monthrange
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from carecal.horticulture.drydown import due_among, held_interval
from carecal.horticulture.rounding import significant

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from carecal.planning.pace.estimates import PaceEstimate
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.rhythm.situations import Situation
    from carecal.planning.rhythm.terms import Terms

__all__ = ["Beat", "Beats", "beats_of", "is_changed", "reading_days"]

READING_DAYS = 15  # models I3: the mean demand of the coming 15 days
TREMBLE_DAYS = 1.0  # models I4: a change of a day ...
TREMBLE_SHARE = 0.15  # ... and of 15 % at least
TAUGHT_DAYS, TAUGHT_SHARE = (
    2 / 3,
    0.10,
)  # our choice: of what an answer has taught, two thirds of a day and 10 %
KNOWN_DAYS = (
    0.55  # our choice: each half-month a plant whose own days are known goes to the nearest whole one
)


class Beat(NamedTuple):
    """One rhythm in force from `start` up to and including `until`."""

    start: int
    until: int
    days: int
    raw_days: float  # [d]
    demand: float  # relative to the reference condition
    factor: float  # what the plant has taught
    held: str  # '', 'floor' or 'ceiling'
    cause: str  # start, terms, gap, half-month or taught
    situation: Situation
    terms: Terms


class Beats:
    """The beats of a plant in order, with the counting of elapsed shares between them."""

    def __init__(self, beats: Sequence[Beat]) -> None:
        self.all = list(beats)
        self._starts = [beat.start for beat in self.all]
        self._paces = [
            (beat.start, float(beat.days)) for beat in self.all
        ]  # in a gap the former pace goes on
        self._runs = _runs(self.all)
        self._dues: dict[int, int | None] = {}

    def at(self, day: int) -> Beat | None:
        """Return the beat in force on a day, or None in a gap."""
        at = bisect_right(self._starts, day) - 1
        return self.all[at] if at >= 0 and day <= self.all[at].until else None

    def first_from(self, day: int) -> Beat | None:
        """Return the beat in force on a day or the first one after it."""
        at = bisect_right(self._starts, day) - 1
        if at >= 0 and day <= self.all[at].until:
            return self.all[at]
        return self.all[at + 1] if at + 1 < len(self.all) else None

    def run_start(self, beat: Beat) -> int:
        """Return the first day after the last gap before a beat."""
        return self._runs[bisect_right(self._starts, beat.start) - 1][0]

    def run_end(self, day: int) -> int:
        """Return the last day before the next gap, from a day on which a beat is in force."""
        return self._runs[bisect_right(self._starts, day) - 1][1]

    def next_due(self, last: int) -> int | None:
        """Return the day on which the next wetting falls due after one on day `last` (models I5).

        The elapsed share is kept where the days change midway; once it is full the date stays. A date that falls
        into a gap moves to the first free day after it. None: not within the days planned.
        """
        if last not in self._dues:
            self._dues[last] = self._next_due(last)
        return self._dues[last]

    def _next_due(self, last: int) -> int | None:
        if not self.all:
            return None
        due = due_among(last, self._paces, max(bisect_right(self._starts, last) - 1, 0), self.all[-1].until)
        if due is None:
            return None
        beat = self.first_from(due)
        return max(due, beat.start) if beat is not None else None


def _runs(beats: Sequence[Beat]) -> list[tuple[int, int]]:
    """Return, for each beat, the first and the last day of the run without a gap that it belongs to."""
    starts: list[int] = []
    for at, beat in enumerate(beats):
        goes_on = at > 0 and beats[at - 1].until == beat.start - 1
        starts.append(starts[-1] if goes_on else beat.start)
    ends: list[int] = []
    for at in range(len(beats) - 1, -1, -1):
        goes_on = at + 1 < len(beats) and beats[at + 1].start == beats[at].until + 1
        ends.append(ends[-1] if goes_on else beats[at].until)
    return list(zip(starts, reversed(ends), strict=True))


def is_changed(held_days: float, days: int, *, is_taught: bool = False, is_known: bool = False) -> bool:
    """Return whether a reading differs enough from the days in force (models I4).

    More than a day and 15 %. What an answer has taught: more than two thirds of a day and 10 %, because a day of three
    is much, and whoever answered expects to see it. A half-month of a plant that was measured: hardly more than
    half a day, because its own seasons would be lost in the waiting for a whole day.
    """
    least, share = TREMBLE_DAYS, TREMBLE_SHARE
    if is_taught:
        least, share = TAUGHT_DAYS, TAUGHT_SHARE
    elif is_known:
        least, share = KNOWN_DAYS, 0.0
    return abs(held_days - days) > max(least, share * days)


def _factor(
    estimate: PaceEstimate, place: str, day: int, read: tuple[int, int], context: PlanContext
) -> float:
    """Return what the plant has taught of the days a reading sees, in their light (models K5). [-]."""
    if day < estimate.day:
        return 1.0
    return estimate.factor_at(context.light_swing(place, *read)) if estimate.pace.winter else estimate.factor


def reading_days(day: int) -> tuple[int, int]:
    """Return first and last day of the demand that a reading on a day takes the mean of (models I3)."""
    when = date.fromordinal(day)
    if when.day == 1:
        return day, day + 14
    if when.day == 16:
        return day, day + monthrange(when.year, when.month)[1] - 16
    return day, day + READING_DAYS - 1


def beats_of(
    stretches: Sequence[Situation],
    context: PlanContext,
    taught: Sequence[PaceEstimate],
    terms: Callable[[Situation], Terms | None] = lambda stretch: stretch.terms,
) -> Beats:
    """Return the beats over a plant's stretches.

    Args:
        stretches: The plant's situations, in order and without holes.
        context: Climate, catalog and days of the plan.
        taught: What the plant has taught, by day; none: the table's own days.
        terms: The terms to use of a situation: those of the pot, or of an aid.
    """
    found: list[Beat] = []
    former: Terms | None = None
    potting = 0
    told = [estimate.day for estimate in taught]
    for stretch in stretches:
        mine = terms(stretch) if not stretch.gap else None
        if found and found[-1].until < stretch.start - 1:
            former = None  # days are missing before it, as those of a pause: a gap too
        if mine is None:
            former = None
            continue
        forced = former != mine or potting != stretch.state.potting
        cause = ("gap" if found else "start") if former is None else "terms"
        if found and not forced:
            found[-1] = _until(
                found[-1], stretch.until
            )  # it goes on until a moment within the stretch ends it
        for day in _moments(stretch, forced, told):
            known = taught[max(bisect_right(told, day) - 1, 0)] if told else None
            read = reading_days(day)
            factor = _factor(known, mine.place, day, read, context) if known is not None else 1.0
            demand = context.mean_demand(mine, *read)
            raw = significant(mine.product / demand * factor)
            days, by = held_interval(raw, mine.min_days, mine.max_days)
            bounded, is_told = min(max(raw, mine.min_days), mine.max_days), day in told
            is_known = known is not None and known.is_measured
            if forced or is_changed(bounded, found[-1].days, is_taught=is_told, is_known=is_known):
                why = cause if forced else "taught" if is_told else "half-month"
                _close(found, day - 1)
                found.append(
                    Beat(day, stretch.until, days, raw, demand, factor, by or "", why, stretch, mine)
                )
            forced = False
        former, potting = mine, stretch.state.potting
    return Beats(found)


def _moments(stretch: Situation, forced: bool, taught: list[int]) -> list[int]:
    """Return the days of a stretch on which its interval is read."""
    days = {day for day in taught if stretch.start <= day <= stretch.until}
    if forced:
        days.add(stretch.start)
    when = date.fromordinal(stretch.start)
    year, month = when.year, when.month
    while True:
        for of_month in (1, 16):
            day = date(year, month, of_month).toordinal()
            if stretch.start <= day <= stretch.until:
                days.add(day)
        year, month = (year + 1, 1) if month == 12 else (year, month + 1)
        if date(year, month, 1).toordinal() > stretch.until:
            return sorted(days)


def _close(found: list[Beat], until: int) -> None:
    if found and found[-1].until > until:
        found[-1] = _until(found[-1], until)


def _until(beat: Beat, until: int) -> Beat:
    return Beat(
        beat.start,
        until,
        beat.days,
        beat.raw_days,
        beat.demand,
        beat.factor,
        beat.held,
        beat.cause,
        beat.situation,
        beat.terms,
    )
