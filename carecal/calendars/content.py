"""What one component says, as plain values, and the digest of it; it knows neither plan nor icalendar."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from datetime import date, datetime, time
from hashlib import sha256
from operator import attrgetter
from typing import Literal

from carecal.wording.clean import clean, clean_line

__all__ = ["SHAPE", "Content", "Part"]

SHAPE = 2
"""Number of the shape that `build` gives contents; raising it rewrites every component once."""


@dataclass(frozen=True, slots=True)
class Content:
    """The content of one component, everything but UID, SEQUENCE and stamps; texts are cleaned here, once.

    Args:
        kind: VEVENT or VTODO.
        summary: One line.
        start: Day of the event; of a to-do the first day it may be done, or None.
        description: Lines for people.
        due: Day of a to-do.
        every_days: Interval of the rule; None for a single component. [days]
        until: Last day of the rule.
        skip: Days of the rule that are left out, sorted.
        at: Local time; None for whole days.
        minutes: Length of a timed event. [min]
        categories: In capitals.
        plant: Id of the plant it is of.
        window: Earliest and latest day, as ISO dates parted by a slash.
        url: Page of the plant or the round.
        alarm_minutes: Lead of the alarm. [min]
        priority: 1 fragile to 9, for to-dos.
        completed: Instant at which a to-do was done.
    """

    kind: Literal["VEVENT", "VTODO"]
    summary: str
    start: date | None
    description: str = ""
    due: date | None = None
    every_days: int | None = None
    until: date | None = None
    skip: tuple[date, ...] = ()
    at: time | None = None
    minutes: int = 0
    categories: tuple[str, ...] = ()
    plant: str = ""
    window: str = ""
    url: str = ""
    alarm_minutes: int | None = None
    priority: int = 0
    completed: datetime | None = None

    def __post_init__(self) -> None:
        """Clean the texts; a whole day has no length."""
        object.__setattr__(self, "summary", clean_line(self.summary))
        object.__setattr__(self, "description", clean(self.description).strip())
        object.__setattr__(self, "plant", clean_line(self.plant))
        if self.at is None:
            object.__setattr__(self, "minutes", 0)

    @property
    def day(self) -> date:
        """The day it is sorted by."""
        found = self.due if self.kind == "VTODO" else self.start
        if found is None:
            raise ValueError(f"a {self.kind} without a day")
        return found

    def digest(self, zone: str) -> str:
        """Return the digest of all that a reader can see but SEQUENCE and stamps.

        Args:
            zone: Name of the zone that timed values are written in.
        """
        values = [SHAPE, zone if self.at or self.completed else "", *_fields_of(self)]
        return sha256(_as_json(values).encode()).hexdigest()


_as_json = json.JSONEncoder(default=str).encode  # days and times as ISO text
_fields_of = attrgetter(*Content.__slots__)


@dataclass(frozen=True, slots=True)
class Part:
    """One component of a calendar: the stable key its UID is made from, its content and what it rests on.

    Args:
        key: Stable key, as 'round/2026-11-25'.
        content: What it says.
        basis: Written instant of the newest entry it rests on; ISO, UTC, or empty.
        digest: Digest of the content, where it was worked out already.
    """

    key: str
    content: Content
    basis: str = field(default="", compare=False)
    digest: str = field(default="", compare=False)
