"""Safe windows and gates over the days of a periodic year; days are indexes, 0 on 1 January."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Literal, NamedTuple

from carecal.errors import Refused

__all__ = [
    "ALL_YEAR",
    "NEVER",
    "GateChange",
    "Run",
    "SafeWindow",
    "ahead_means",
    "gate_changes",
    "gate_states",
    "outdoor_seasons",
    "safe_window",
]

ALL_YEAR: Literal["all year"] = "all year"
NEVER: Literal["never"] = "never"
AHEAD_DAYS = 14  # our choice, because that is as far as a cold spell reaches (models W3, W4)
EPSILON = 1e-9


class Run(NamedTuple):
    """A run of days of the year, both ends included; it crosses New Year where `last` is below `first`."""

    first: int
    last: int


class GateChange(NamedTuple):
    """A day on which a gate opens or shuts."""

    day: int  # index, 0 on 1 January
    is_open: bool


@dataclass(frozen=True, slots=True)
class SafeWindow:
    """The days of a year on which something may start.

    Attributes:
        status: 'all year', 'never' or 'runs'.
        runs: The runs of safe starts; none unless the status is 'runs'.
        year_days: Length of the year. [d]
    """

    status: Literal["all year", "never", "runs"]
    runs: tuple[Run, ...]
    year_days: int

    def run_of(self, index: int) -> Run | None:
        """Return the run a day lies in, or None outside of all runs.

        Args:
            index: Day of the year, 0 on 1 January.
        """
        for run in self.runs:
            if (index - run.first) % self.year_days <= (run.last - run.first) % self.year_days:
                return run
        return None

    def is_safe(self, index: int) -> bool:
        """Return whether a day is a safe start.

        Args:
            index: Day of the year, 0 on 1 January.
        """
        return self.status == ALL_YEAR or self.run_of(index) is not None

    def margin_days(self, index: int) -> int | None:
        """Return the days left to the last safe start; None all year and outside of all runs [d].

        Args:
            index: Day of the year, 0 on 1 January.

        Source: our choice, because a start is weighed against the end of its own run (models W2).
        """
        run = self.run_of(index)
        return None if run is None else (run.last - index) % self.year_days

    def next_opening(self, index: int) -> int | None:
        """Return the days until the next run opens, 0 on a day that opens one; None without runs [d].

        Args:
            index: Day of the year, 0 on 1 January.
        """
        return min(((run.first - index) % self.year_days for run in self.runs), default=None)


def safe_window(
    mean_c: Sequence[float],
    night_c: Sequence[float],
    *,
    mean_at_least: float | None = None,
    night_at_least: float | None = None,
    weeks: float = 0,
) -> SafeWindow:
    """Return when a step may start that needs warmth for some weeks after it.

    Args:
        mean_c: Daily mean of the medium by the normals of the place. [°C]
        night_c: Night temperature of the medium, the same days. [°C]
        mean_at_least: Lowest mean allowed, if any. [°C]
        night_at_least: Lowest night allowed, if any. [°C]
        weeks: Length of the warmth needed; the day itself counts at least. [weeks]

    Raises:
        Refused: the two lists differ in length or are empty.

    Source: our choice, because every day of the weeks has to hold (models W1, W2).
    """
    if not mean_c or len(mean_c) != len(night_c):
        raise Refused(f"{len(mean_c)} means and {len(night_c)} nights; a year of each is needed")
    warm = [
        (mean_at_least is None or mean >= mean_at_least - EPSILON)
        and (night_at_least is None or night >= night_at_least - EPSILON)
        for mean, night in zip(mean_c, night_c, strict=True)
    ]
    return _window(_starts(warm, max(1, round(7 * weeks))))


def outdoor_seasons(night_c: Sequence[float], out_night_c: float, in_night_c: float) -> SafeWindow:
    """Return the runs of days to spend outdoors: from reliably mild nights to the last one that is mild enough.

    Out on a day from which 14 nights running hold the higher limit; in again on the last day before a night
    falls under the lower one.

    Args:
        night_c: Night temperature of the air by the normals of the place outdoors. [°C]
        out_night_c: Lowest night to move out, of the profile. [°C]
        in_night_c: Lowest night to stay out, not above out_night_c. [°C]

    Raises:
        Refused: in_night_c is above out_night_c, or there are no nights.

    Source: VAOS, common practice (no source) for the limits; our choice, because two weeks are reliable (models W3).
    """
    if not in_night_c <= out_night_c:
        raise Refused(
            f"limit to move in, {in_night_c:g} °C, must not be above the one to move out, {out_night_c:g}"
        )
    starts = safe_window(night_c, night_c, night_at_least=out_night_c, weeks=AHEAD_DAYS / 7)
    size = len(night_c)
    is_out = [False] * size
    for run in starts.runs:
        day = run.first
        while not is_out[day] and night_c[day] >= in_night_c - EPSILON:
            is_out[day] = True
            day = (day + 1) % size
    if starts.status == ALL_YEAR:
        is_out = [True] * size
    return _window(is_out)


def ahead_means(values: Sequence[float], days: int = AHEAD_DAYS) -> list[float]:
    """Return for each day the mean of it and the days that follow, across New Year.

    Args:
        values: A year of daily values, in any unit.
        days: Days of the mean, 1 or more and at most the year. [d]

    Raises:
        Refused: days is below 1 or above the number of values.

    Source: our choice, because a gate follows the coming two weeks (models W4).
    """
    if not 1 <= days <= len(values):
        raise Refused(f"mean over {days} days; allowed are 1 to {len(values)}")
    sums = list(accumulate([*values, *values[: days - 1]], initial=0.0))
    return [(sums[index + days] - sums[index]) / days for index in range(len(values))]


def gate_states(
    values: Sequence[float],
    opens_at: float,
    shuts_beyond: float,
    *,
    year_before: Sequence[float] = (),
    is_upper: bool = False,
) -> list[bool]:
    """Return for each day whether a gate with hysteresis is open.

    Args:
        values: Daily values, as the means of the coming 14 days. [°C]
        opens_at: The gate opens at and above it. [°C]
        shuts_beyond: The gate shuts below it. [°C]
        year_before: Daily values up to the day before the first; the last decisive one tells how the gate
            stands where the walk begins inside the band; without one it is open. [°C]
        is_upper: The gate guards against heat: it opens at and below, and shuts above.

    Source: our choice, because hysteresis keeps a gate from trembling (models W4).
    """
    sign = -1 if is_upper else 1
    opens, shuts = sign * opens_at, sign * shuts_beyond
    is_open = next(
        (
            decided
            for value in reversed(year_before)
            if (decided := _decided(sign * value, opens, shuts)) is not None
        ),
        True,
    )
    states: list[bool] = []
    for value in values:
        decided = _decided(sign * value, opens, shuts)
        is_open = is_open if decided is None else decided
        states.append(is_open)
    return states


def gate_changes(states: Iterable[bool]) -> list[GateChange]:
    """Return the days on which a gate opens or shuts; the first day tells how it stands at the start.

    Args:
        states: Whether the gate is open, day by day.
    """
    changes: list[GateChange] = []
    for index, is_open in enumerate(states):
        if not changes or changes[-1].is_open != is_open:
            changes.append(GateChange(index, is_open))
    return changes


def _decided(value: float, opens: float, shuts: float) -> bool | None:
    if value >= opens - EPSILON:
        return True
    return False if value < shuts - EPSILON else None


def _starts(warm: Sequence[bool], span: int) -> list[bool]:
    """Return the days from which `span` days running are warm, in a periodic year."""
    size, running = len(warm), 0
    if all(warm):
        return [True] * size
    starts = [False] * size
    for index in range(2 * size - 1, -1, -1):
        running = running + 1 if warm[index % size] else 0
        starts[index % size] = running >= span
    return starts


def _window(safe: Sequence[bool]) -> SafeWindow:
    size = len(safe)
    if all(safe):
        return SafeWindow(ALL_YEAR, (), size)
    firsts = [index for index in range(size) if safe[index] and not safe[index - 1]]
    lasts = [index for index in range(size) if safe[index] and not safe[(index + 1) % size]]
    if not firsts:
        return SafeWindow(NEVER, (), size)
    ends = ((min((last - first) % size for last in lasts) + first) % size for first in firsts)
    return SafeWindow("runs", tuple(map(Run, firsts, ends)), size)
