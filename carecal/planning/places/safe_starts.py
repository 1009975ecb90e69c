"""Safe starts at a place, as days of the calendar (models W1-W3); it knows no step and no plant."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple
from weakref import WeakKeyDictionary

from carecal.horticulture.windows import run_starts
from carecal.planning.places.climates import PlaceAir, spans_where
from carecal.planning.places.known_days import KnownDay, known_days, told_by
from carecal.planning.spans import Span

if TYPE_CHECKING:
    from collections.abc import Callable

    from carecal.planning.plan_context import PlanContext

__all__ = [
    "Limits",
    "Starts",
    "cold_runs",
    "medium_on",
    "mild_starts",
    "night_air",
    "warm_starts",
]

EPSILON = 1e-9


class Limits(NamedTuple):
    """What a step asks of the days that follow it; None asks for nothing."""

    mean_c: float | None = None  # of the medium [°C]
    night_c: float | None = None  # of the medium [°C]
    weeks: float = 0.0

    def raised(self, by_c: float) -> Limits:
        """Return the same limits moved by some degrees. [°C]."""
        return Limits(
            None if self.mean_c is None else self.mean_c + by_c,
            None if self.night_c is None else self.night_c + by_c,
            self.weeks,
        )

    @property
    def days(self) -> int:
        """Days that have to hold, the first of them the start. [d]."""
        return max(1, round(7 * self.weeks))


class Starts(NamedTuple):
    """The days on which something may start, as spans in order, among the days that are known."""

    spans: tuple[Span, ...]
    first: int
    last: int

    @property
    def is_always(self) -> bool:
        """Whether every known day is a safe start."""
        return self.spans == ((self.first, self.last),)

    @property
    def is_never(self) -> bool:
        """Whether no known day is a safe start."""
        return not self.spans

    def run_of(self, day: int) -> Span | None:
        """Return the span that holds a day, or None."""
        return next((span for span in self.spans if span[0] <= day <= span[1]), None)

    def next_run(self, day: int) -> Span | None:
        """Return the first span that begins after a day, or None."""
        return next((span for span in self.spans if span[0] > day), None)

    def former_run(self, day: int) -> Span | None:
        """Return the last span that ended before a day, or None."""
        return next((span for span in reversed(self.spans) if span[1] < day), None)


def warm_starts(context: PlanContext, place: str, container: str, limits: Limits, day: int) -> Starts | None:
    """Return the days from which the medium stays warm long enough, by the place as it is known on a day.

    Readings may narrow the days they speak for, never widen them.

    Args:
        context: Climate and catalog.
        place: Where the pot stands afterwards.
        container: What it goes into.
        limits: Mean and night of the medium, and for how many weeks.
        day: The day whose knowledge counts (ordinal).

    Returns:
        None where the place has no climate or the container no row.

    Source: models W1, W2, A6.
    """
    air = context.air(place, day)
    if air is None or container not in context.catalog.containers:
        return None
    key = (
        "warm",
        container,
        limits.mean_c,
        limits.night_c,
        limits.days,
        told_by(context, place, day),
    )
    return _kept(
        air, key, lambda: _runs(_warm_days(context, air, place, container, limits, day), limits.days)
    )


def mild_starts(
    context: PlanContext, place: str, night_at_least_c: float, weeks: float, day: int
) -> Starts | None:
    """Return the days from which every night of the air is mild for some weeks (models W3).

    Args:
        context: Climate and catalog.
        place: The place outdoors.
        night_at_least_c: Lowest night. [°C]
        weeks: How long. [weeks]
        day: The day whose knowledge counts (ordinal).

    Source: models W3; VAOS.
    """
    air = context.air(place, day)
    if air is None:
        return None

    def found() -> Starts:
        flags = [night >= night_at_least_c - EPSILON for night in air.values("night_c")]
        for on, read in _read_nights(context, air, place, day).items():
            flags[on - air.origin] &= read.night_c >= night_at_least_c - EPSILON
        return _shaped(air, run_starts(flags, max(1, round(7 * weeks))))

    return _kept(air, ("mild", night_at_least_c, weeks, told_by(context, place, day)), found)


def cold_runs(
    context: PlanContext, place: str, below_c: float, day: int, container: str | None = None
) -> tuple[Span, ...]:
    """Return the runs of days whose night falls under a limit: of the medium of a container, else of the air.

    Args:
        context: Climate and catalog.
        place: The place.
        below_c: The limit. [°C]
        day: The day whose knowledge counts (ordinal).
        container: What the plant stands in; None: the night of the air counts.
    """
    air = context.air(place, day)
    if air is None or (container is not None and container not in context.catalog.containers):
        return ()

    def found() -> Starts:
        nights = air.values("night_c") if container is None else air.medium(container)[1]
        flags = [night < below_c - EPSILON for night in nights]
        for on, read in _read_nights(context, air, place, day).items():
            cold = read.night_c if container is None else read.medium_night(context, air, container)
            flags[on - air.origin] |= cold < below_c - EPSILON
        return _shaped(air, flags)

    return _kept(air, ("cold", container, below_c, told_by(context, place, day)), found).spans


def medium_on(
    context: PlanContext, place: str, container: str, day: int, known: int
) -> tuple[float, float] | None:
    """Return mean and night of the medium on a day: normals, moved by readings where they still speak. [°C].

    Args:
        context: Climate and catalog.
        place: The place.
        container: What the medium is in.
        day: The day (ordinal).
        known: The day whose knowledge counts (ordinal).
    """
    air = context.air(place, known)
    if air is None or container not in context.catalog.containers or not air.origin <= day <= air.last:
        return None
    read = known_days(context, air, place, known).get(day)
    if read is not None:
        return read.medium(context, air, container)
    means, nights = air.medium(container)
    return means[day - air.origin], nights[day - air.origin]


def night_air(context: PlanContext, place: str, day: int, known: int) -> float | None:
    """Return the night temperature of the air on a day: normals, moved by readings where they still speak. [°C].

    Args:
        context: Climate and catalog.
        place: The place.
        day: The day (ordinal).
        known: The day whose knowledge counts (ordinal).
    """
    air = context.air(place, known)
    if air is None or not air.origin <= day <= air.last:
        return None
    read = known_days(context, air, place, known).get(day)
    return read.night_c if read is not None else air.at("night_c", day)


def _read_nights(context: PlanContext, air: PlaceAir, place: str, day: int) -> dict[int, KnownDay]:
    """Return the read days that are colder than the normals: only they may narrow a window."""
    return {
        on: read
        for on, read in known_days(context, air, place, day).items()
        if read.night_c < air.at("night_c", on)
    }


def _warm_days(
    context: PlanContext, air: PlaceAir, place: str, container: str, limits: Limits, day: int
) -> tuple[PlaceAir, list[bool]]:
    means, nights = air.medium(container)
    flags = [_holds(mean, night, limits) for mean, night in zip(means, nights, strict=True)]
    for on, read in _read_nights(context, air, place, day).items():
        flags[on - air.origin] &= _holds(*read.medium(context, air, container), limits)
    return air, flags


def _holds(mean_c: float, night_c: float, limits: Limits) -> bool:
    return (limits.mean_c is None or mean_c >= limits.mean_c - EPSILON) and (
        limits.night_c is None or night_c >= limits.night_c - EPSILON
    )


def _runs(warm: tuple[PlaceAir, list[bool]], days: int) -> Starts:
    air, flags = warm
    return _shaped(air, run_starts(flags, days))


def _shaped(air: PlaceAir, starts: list[bool]) -> Starts:
    return Starts(tuple(spans_where(starts, air.origin)), air.origin, air.origin + len(starts) - 1)


_KEPT: WeakKeyDictionary[PlaceAir, dict[tuple[object, ...], Starts]] = WeakKeyDictionary()


def _kept(air: PlaceAir, key: tuple[object, ...], make: Callable[[], Starts]) -> Starts:
    kept = _KEPT.setdefault(air, {})
    if key not in kept:
        kept[key] = make()
    return kept[key]
