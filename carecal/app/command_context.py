"""What every writing command is checked against: who is there on which day, and whether the clock can be believed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime
from functools import cached_property
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from carecal.app.store import zone_of
from carecal.catalog.names import near
from carecal.errors import ClockError, Refused, UnknownName

if TYPE_CHECKING:
    from collections.abc import Iterable

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.catalog.tables import Catalog
    from carecal.collection.plants import PlantHistory
    from carecal.collection.timeline import Timeline

__all__ = ["CommandContext", "believed", "check_clock", "clock_doubt", "named", "one_of"]

FEW = (
    12  # so many names are all told where none resembles the one given (our choice, because they fit a line)
)
CLOCK_DAYS = 400  # design §3 rule 23


class CommandContext:
    """The plants that a command names, as they count on its day.

    Args:
        collection: The collection.
        now: The moment of the command.
        ids: Ids of the plants named, each taken once; None: all plants.

    Raises:
        UnknownName: An id names no plant, or none on that day.
    """

    def __init__(self, collection: Collection, now: Now, ids: Iterable[str] | None) -> None:
        self.collection, self.now = collection, now
        self.ids = None if ids is None else tuple(dict.fromkeys(ids))
        self._numbers = None if self.ids is None else {name: collection.number_of(name) for name in self.ids}

    @property
    def catalog(self) -> Catalog:
        """Profiles and tables."""
        return self.collection.catalog

    @cached_property
    def timeline(self) -> Timeline:
        """The fold of the journal for the plants named."""
        plants = None if self._numbers is None else set(self._numbers.values())
        return self.collection.timeline(self.now.day, plants=plants)

    @cached_property
    def lines(self) -> list[PlantHistory]:
        """The lines of the plants named, in the order in which they were named; of all living ones when none was."""
        if self._numbers is None:
            return self.timeline.living()
        found = []
        for name, number in self._numbers.items():
            if number not in self.timeline.plants:
                raise Refused(f"'{name}' was not in the collection on {self.now.day}; it was added later")
            found.append(self.timeline.plants[number])
        return found

    def fact_day(self, on: date | None) -> date:
        """Return the day of a fact, today when none was named.

        Raises:
            Refused: It lies ahead.
        """
        day = on or self.now.day
        if day > self.now.day:
            raise Refused(f"{day} lies ahead; what happened is dated up to today, {self.now.day}")
        return day

    def alive(self, on: date | None, *, historic: bool = False) -> tuple[date, list[PlantHistory]]:
        """Return the day of a fact and the plants, each of which was there then.

        Args:
            on: The day; None: today.
            historic: Whether it may lie between the day a plant came and the day it was entered.

        Raises:
            Refused: The day lies ahead, before a plant was entered (or came) or after it left.
        """
        day = self.fact_day(on)
        for line in self.lines:
            self.check_life(line, day, historic=historic)
        return day, self.lines

    def check_life(self, line: PlantHistory, day: date, *, historic: bool = False) -> None:
        """Refuse a day before a plant was entered, or from the one on which it left."""
        entered = date.fromordinal(line.entered)
        if day < entered:
            self._check_before(line, day, entered, historic=historic)
        if line.retired is not None and day.toordinal() > line.retired:
            left = date.fromordinal(line.retired)
            raise Refused(
                f"{day} lies after {line.id} left, {left} ({line.retired_because}); allowed are {entered} to {left}"
            )
        if line.retired == day.toordinal():
            raise Refused(
                f"{line.id} left on {day} ({line.retired_because}); what came before that is said before it"
            )

    def _check_before(self, line: PlantHistory, day: date, entered: date, *, historic: bool) -> None:
        """Refuse a day before a plant was entered, but for what is told of the time since it came."""
        told = line.states[0].came
        came = date.fromordinal(told) if told is not None else None
        amend = f"amend {line.states[0].entry} came={day}"
        if came is None:
            raise Refused(
                f"{day} lies before {line.id} was entered, {entered}, and it is not known when it came",
                command=amend,
                how="if it was there by then, say so with carecal",
            )
        if day < came:
            raise Refused(
                f"{day} lies before {line.id} came, {came} (entered {entered});"
                f" allowed are {min(came, entered)} to {self.now.day}",
                command=amend,
                how="if it came earlier, say so with carecal",
            )
        if not historic:
            raise Refused(
                f"{day} lies before {line.id} was entered, {entered}; of the days since it came, {came}, only"
                " what was done, felt, weighed, seen or treated is taken"
            )

    def place(self, name: str) -> str:
        """Return the id of a place that exists.

        Raises:
            UnknownName: None has it; names the near ones.
        """
        return named("place", name, self.timeline.facts.places)


def named(what: str, name: str, known: Iterable[str] | Mapping[str, object]) -> str:
    """Return a name that is known.

    Raises:
        UnknownName: It is not; with names that resemble it.
    """
    names = list(known)
    if name not in names:
        alike = _by_trade(name, known) or near(name, names)
        raise UnknownName(what, name, alike or (tuple(names) if len(names) <= FEW else ()))
    return name


def _by_trade(name: str, known: Iterable[str] | Mapping[str, object]) -> tuple[str, ...]:
    """Return the rows of a table that the trade calls by a word, as moss for sphagnum."""
    from carecal.catalog.growing import Container, Medium  # noqa: PLC0415 - needed for an unknown name alone

    rows = known.items() if isinstance(known, Mapping) else ()
    word = name.casefold().replace("-", " ")
    return tuple(
        key
        for key, row in rows
        if (isinstance(row, Medium) and word in map(_plain, row.also))
        or (isinstance(row, Container) and word in map(_plain, row.also))
    )


def _plain(word: str) -> str:
    return word.casefold().replace("-", " ")


def one_of(what: str, name: str, allowed: Iterable[str]) -> str:
    """Return a word of a short list.

    Raises:
        Refused: It is none of them; names all.
    """
    words = list(allowed)
    if name not in words:
        raise Refused(f"{what} '{name}' is not known; allowed are {', '.join(words)}")
    return name


def _newest_day(collection: Collection) -> date:
    """The day on which the newest entry counts as written, in the collection's zone."""
    written = collection.journal.record(collection.journal.head()).written
    return datetime.fromisoformat(written).astimezone(ZoneInfo(zone_of(collection.journal.connection))).date()


def clock_doubt(collection: Collection, now: Now) -> str:
    """Return why the real clock cannot be believed, on one line; empty while it can (design §3 rule 23).

    A day named by `--as-of` is exempt. Confirming the clock (`settings clock confirmed`) is an entry, written at the
    clock's own time, so that the doubt ends with it.
    """
    if now.is_given:
        return ""
    if not collection.journal.head():
        return ""
    written = _newest_day(collection)
    days = (now.day - written).days
    if days < 0:
        return f"the clock says {now.day}, but the newest entry was written on {written}"
    if days > CLOCK_DAYS:
        return f"the clock says {now.day}, {days} days after the newest entry, {written} (usual: up to {CLOCK_DAYS})"
    return ""


def believed(collection: Collection, now: Now) -> Now:
    """Return the moment to read by: now, or the newest entry's day while the clock cannot be believed.

    So nothing is assumed and nothing ages by a wrong clock.
    """
    if not clock_doubt(collection, now):
        return now
    return replace(now, day=_newest_day(collection))


def check_clock(collection: Collection, now: Now) -> None:
    """Refuse to assume, age or publish anything by a clock that cannot be believed (design §3 rule 23).

    Raises:
        ClockError: The real clock lies before the newest entry's written day, or more than 400 days after it.
    """
    doubt = clock_doubt(collection, now)
    if doubt:
        raise ClockError(
            f"{doubt}; set the clock right, or confirm it",
            command="settings clock confirmed",
            how="with carecal",
        )
