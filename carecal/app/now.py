"""The moment a command is carried out: the day it plans from and the instant its entries count as written."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import Protocol
from zoneinfo import ZoneInfo

__all__ = ["Dated", "Now", "Zoned", "real_now"]


@dataclass(frozen=True, slots=True)
class Now:
    """Today for all that a command does.

    Attributes:
        day: The day it plans from, in the collection's zone.
        written: The instant its entries count as written (UTC).
        clock: The real clock (UTC), kept beside it.
        is_given: Whether the day was named (`--as-of`) and the clock is not to be judged.
    """

    day: date
    written: datetime
    clock: datetime
    is_given: bool = False


class Dated(Protocol):
    """Whatever knows its own present moment, as a collection does."""

    def now(self) -> Now:
        """Return the present moment."""
        ...


@dataclass(frozen=True, slots=True)
class Zoned:
    """A time zone alone, for those who need no more of a collection than its day."""

    zone: str

    def now(self) -> Now:
        """Return the present moment in the zone."""
        return real_now(self.zone)


def real_now(zone: str, as_of: date | None = None, *, clock: datetime | None = None) -> Now:
    """Return the present moment in a zone, or a named day at the clock's time of day.

    Args:
        zone: Name of the collection's time zone.
        as_of: The day that is today for this command; None: the real one.
        clock: The real clock's instant; None: read it. This is the one place that does.
    """
    instant = (clock or datetime.now(UTC)).astimezone(UTC).replace(microsecond=0)
    local = instant.astimezone(ZoneInfo(zone))
    if as_of is None:
        return Now(local.date(), instant, instant)
    written = datetime.combine(
        as_of, time(local.hour, local.minute, local.second), ZoneInfo(zone)
    ).astimezone(UTC)
    return Now(as_of, written, instant, is_given=True)
