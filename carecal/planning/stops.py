"""What a round sees of its tasks, and how they are gathered into days and cans; it knows no plant and no table."""

from __future__ import annotations

from itertools import groupby
from operator import attrgetter
from typing import TYPE_CHECKING, NamedTuple

from carecal.horticulture.rounding import significant

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

__all__ = ["Feed", "Stop", "apart_l", "by_day", "caution_ranks", "feeds", "in_order", "plain_l"]


class Stop(NamedTuple):
    """One task as its round sees it; made of plain values, so that it can be kept as JSON.

    Attributes:
        on: The care day, as ISO text.
        key: Where it stands in the round.
        task: Id of the task.
        litres: What the can gives it. [L]
        minutes: How long it takes. [min]
        is_apart: Whether its plant shares no can.
        ppm_n: Strength of its feed; None: no feed. [mg/L of N]
        cautions: Places of its cautions in the table, in order.
        joined_to: Id of the task of the same plant on which it rides; '' where it stands by itself.
    """

    on: str
    key: list[object]
    task: str
    litres: float
    minutes: int
    is_apart: bool
    ppm_n: float | None
    cautions: list[int]
    joined_to: str = ""

    def poured(self, ppm_n: float) -> Stop:
        """Return the stop fed at another strength, at the place in the round that this gives it."""
        return self._replace(ppm_n=ppm_n, key=[*self.key[:2], ppm_n, *self.key[3:]])

    def beside(self, other: Stop) -> Stop:
        """Return the stop moved to another one of its plant, on which it rides."""
        return self._replace(key=[self.key[0], *other.key[1:3], *self.key[3:]])


_cautions_of, _litres_of = attrgetter("cautions"), attrgetter("litres")


class Feed(NamedTuple):
    """The tasks of a round that get the same feed, and how much of it. [L]."""

    is_apart: bool
    ppm_n: float
    litres: float
    tasks: tuple[str, ...]


def by_day(stops: Iterable[Stop]) -> Iterator[tuple[str, list[Stop]]]:
    """Yield each care day with its stops in the order to go round."""
    ordered = sorted(stops, key=lambda stop: (stop.on, stop.key))
    for on, of_day in groupby(ordered, key=lambda stop: stop.on):
        yield on, list(of_day)


def in_order(stops: Iterable[Stop]) -> list[Stop]:
    """Return the stops of one day in the order to go round."""
    return sorted(stops, key=lambda stop: stop.key)


def plain_l(stops: Iterable[Stop]) -> float:
    """Return the plain water of a round. [L]."""
    return _litres(stop for stop in stops if stop.ppm_n is None)


def apart_l(stops: Iterable[Stop]) -> float:
    """Return the part of the plain water that is for plants that share no can. [L]."""
    return _litres(stop for stop in stops if stop.ppm_n is None and stop.is_apart)


def feeds(stops: Iterable[Stop]) -> list[Feed]:
    """Return the feeds of a round from weak to strong, those that stand apart last."""
    fed = sorted((stop.is_apart, stop.ppm_n, stop.task, stop) for stop in stops if stop.ppm_n is not None)
    found = []
    for (is_apart, ppm), group in groupby(fed, key=lambda row: row[:2]):
        mixed = [row[3] for row in group]
        found.append(Feed(is_apart, ppm, _litres(mixed), tuple(stop.task for stop in mixed)))
    return found


def caution_ranks(stops: Iterable[Stop]) -> list[int]:
    """Return the places in the table of all cautions of a round, each once, in order."""
    return sorted(set().union(*map(_cautions_of, stops)))


def _litres(stops: Iterable[Stop]) -> float:
    return significant(sum(map(_litres_of, stops)), 3)
