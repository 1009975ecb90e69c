"""Plans put together from what plants give, day by day: a plant that gives something else moves its own days alone."""

from __future__ import annotations

from bisect import insort
from collections import defaultdict
from datetime import date
from itertools import chain
from operator import attrgetter, itemgetter
from typing import TYPE_CHECKING, TypeVar

from carecal.plan.model import Fact, Moment, PlantView, Round, Task
from carecal.planning.piece import UNANSWERED, Piece
from carecal.planning.rounds.gathering import round_of, stop_of
from carecal.planning.rounds.one_can import Cans
from carecal.planning.stops import Stop, in_order
from carecal.planning.tasks import as_the_can, asked_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from carecal.plan.model import Grouping
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.rounds.one_can import Asked

__all__ = ["Assembly"]

_in_day = attrgetter("plant", "care", "id")
_by_entry = attrgetter("entry", "plant")
_plant_of = itemgetter(1)
R = TypeVar("R", Task, Fact)
_NOTHING = Piece()
MANY = 10
"""Rows are put in one by one where they are fewer than one in so many. Source: our choice, because it is quicker."""


class Assembly:
    """What each plant gives, and the days that are made of it.

    Taking another piece of a plant costs what stands on the days on which it differs, not what stands in the year. What
    is made is the same whatever was taken before.

    Args:
        grouping: The grouping that the pieces are of; only rounds share a can.
        as_of: Day of the plan.
    """

    def __init__(self, grouping: Grouping, as_of: date) -> None:
        self.grouping, self._as_of = grouping, as_of
        self._pieces: dict[int, Piece] = {}
        self._days: dict[date, _Day] = {}
        self._facts: dict[date, list[Fact]] = {}
        self._warned: dict[int, set[str]] = {}
        self._cans = Cans()

    def take(self, pieces: Mapping[int, Piece | None]) -> None:
        """Take what some plants give in place of what they gave before.

        Args:
            pieces: What each gives, by number, made for the day and the grouping of this assembly; None: nothing.
        """
        tasks: defaultdict[date, dict[int, list[Task]]] = defaultdict(dict)
        facts: defaultdict[date, dict[int, list[Fact]]] = defaultdict(dict)
        for number, piece in sorted(pieces.items()):
            old, new = self._pieces.pop(number, _NOTHING), piece or _NOTHING
            is_same = old is not _NOTHING and _shown(old) == _shown(new)
            for on, of_day in _changes(old.tasks, new.tasks, is_same=is_same):
                tasks[on][number] = of_day
            for on, told in _changes(old.facts, new.facts, is_same=is_same):
                facts[on][number] = told
            if piece is not None:
                self._pieces[number] = piece
            self._warned[number] = new.warned()
            if self.grouping == "rounds":
                self._cans.take(number, _asked(new))
        for on, by_plant in tasks.items():
            self._days.setdefault(on, _Day()).take(by_plant, self._as_of)
        for on, told_of in facts.items():
            left = (fact for fact in self._facts.get(on, ()) if fact.plant not in told_of)
            self._facts[on] = sorted([*left, *chain.from_iterable(told_of.values())], key=_by_entry)

    def pieces(self) -> list[Piece]:
        """Return what the plants give, by number."""
        return [piece for _, piece in sorted(self._pieces.items())]

    def tasks(self) -> tuple[Task, ...]:
        """Return all tasks, by day, plant, care and id."""
        return tuple(chain.from_iterable(self._days[on].tasks for on in sorted(self._days)))

    def facts(self) -> tuple[Fact, ...]:
        """Return what really happened, by day and entry."""
        return tuple(chain.from_iterable(self._facts[on] for on in sorted(self._facts)))

    def warned(self) -> frozenset[str]:
        """Return the cautions of cares that were done lately."""
        return frozenset().union(*self._warned.values())

    def rounds(self, views: Mapping[int, PlantView], context: PlanContext) -> tuple[Round, ...]:
        """Return one round a care day; the very one of before where nothing of it differs.

        Args:
            views: The plants, by number.
            context: Catalog and supplies of the plan.
        """
        for iso, plants in self._cans.settle():
            moved = self._days.get(date.fromisoformat(iso))
            if moved is not None:
                moved.stale |= plants
        for on, day in self._days.items():
            if day.stale:
                day.gather(on, views, context, self._cans.of_day(on.isoformat()))
        return tuple(day.round for _, day in sorted(self._days.items()) if day.round is not None)

    def moments(self) -> Iterator[Moment]:
        """Yield one moment a place and day, with its plants and what changes there."""
        grouped: defaultdict[tuple[int, str], list[tuple[int, str]]] = defaultdict(list)
        for piece in self.pieces():
            for place, day, plant, text in piece.moments:
                grouped[day, place].append((plant, text))
        for (day, place), of_day in sorted(grouped.items()):
            on, plants = date.fromordinal(day), tuple(sorted(plant for plant, _ in of_day))
            text = max((text for _, text in of_day), key=len)
            yield Moment(f"{place}/{on.isoformat()}", place, on, plants, text)


class _Day:
    """One day: all of its tasks, and the round of those that are not answered."""

    __slots__ = ("_ordered", "_others", "_own", "_plants", "round", "stale", "tasks")

    def __init__(self) -> None:
        self.tasks: list[Task] = []
        self.stale: set[int] = set()
        self.round: Round | None = None
        self._own: dict[int, list[Task]] = {}
        self._plants: dict[int, tuple[Task, ...]] = {}
        self._others: dict[int, tuple[Task, ...]] = {}
        self._ordered: list[tuple[Stop, int]] = []

    def take(self, tasks: Mapping[int, list[Task]], as_of: date) -> None:
        """Take the tasks of some plants in place of those they had."""
        left = [task for task in self.tasks if task.plant not in tasks]
        for plant, own in tasks.items():
            self._own[plant] = [task for task in own if task.on >= as_of and task.status in UNANSWERED]
        self.stale |= tasks.keys()
        self.tasks = sorted([*left, *chain.from_iterable(tasks.values())], key=_in_day)

    def gather(
        self,
        on: date,
        views: Mapping[int, PlantView],
        context: PlanContext,
        poured: Mapping[str, float | None],
    ) -> None:
        """Bring the round up to its plants.

        Args:
            on: The day.
            views: The plants, by number.
            context: Catalog and supplies of the plan.
            poured: Wettings that are not as their plant's own plan asks, by id. [mg/L of N; None: plain water]
        """
        left = [row for row in self._ordered if row[1] not in self.stale]
        new: list[tuple[Stop, int]] = []
        for plant in self.stale:
            self._plants.pop(plant, None)
            self._others.pop(plant, None)
            if self._own.get(plant):
                tasks, other, stops = _stops(self._own[plant], views[plant], context, poured)
                self._plants[plant] = tasks
                new.extend((stop, plant) for stop in stops)
                if other:
                    self._others[plant] = other
        self.stale = set()
        self._ordered = _sorted_in(left, new)
        if not self._ordered:
            self.round = None
            return
        self.round = round_of(
            on,
            [stop for stop, _ in self._ordered],
            context,
            tuple(chain.from_iterable(tasks for _, tasks in sorted(self._others.items()))),
            tuple(map(self._plants.__getitem__, dict.fromkeys(map(_plant_of, self._ordered)))),
        )


def _shown(piece: Piece) -> tuple[object, ...]:
    """Return what days show of a plant beside its tasks and facts; not when it was last done or entered."""
    views = [
        view._replace(
            basis="",
            last_done=None,
            last_care="",
            factor=1.0,
            factor_low=1.0,
            factor_high=1.0,
            factor_entries=0,
        )
        for view in piece.views
    ]
    return views, {step.step: step.title for step in piece.steps}


def _changes(old: Iterable[R], new: Iterable[R], *, is_same: bool) -> Iterator[tuple[date, list[R]]]:
    """Yield the days on which what a plant has differs, with what it has now.

    Args:
        old: What it had.
        new: What it has.
        is_same: Whether the plant itself is shown as before, so that a day of the same rows is the same.
    """
    before, after = _by_day(old), _by_day(new)
    for on in before.keys() | after.keys():
        if not is_same or before.get(on) != after.get(on):
            yield on, after.get(on, [])


def _by_day(rows: Iterable[R]) -> dict[date, list[R]]:
    found: dict[date, list[R]] = {}
    for row in rows:
        found.setdefault(row.on, []).append(row)
    return found


def _sorted_in(rows: list[tuple[Stop, int]], new: list[tuple[Stop, int]]) -> list[tuple[Stop, int]]:
    """Return rows in the order to go round, of which some are so already."""
    if len(new) * MANY > len(rows):
        return sorted([*rows, *new], key=_walked)
    for row in new:
        insort(rows, row, key=_walked)
    return rows


def _stops(
    own: Iterable[Task], view: PlantView, context: PlanContext, poured: Mapping[str, float | None]
) -> tuple[tuple[Task, ...], tuple[Task, ...], list[Stop]]:
    """Return what a plant is to get in the order to go round, what of it is not as its own plan asks, and its stops."""
    made = {task.id: as_the_can(task, poured[task.id]) if task.id in poured else task for task in own}
    stops = in_order(stop_of(task, view, context, made) for task in made.values())
    other = tuple(task for name, task in made.items() if name in poured)
    return tuple(made[stop.task] for stop in stops), other, stops


def _walked(row: tuple[Stop, int]) -> list[object]:
    return row[0].key


def _asked(piece: Piece) -> Iterator[Asked]:
    """Yield what a plant asks of the can of each round, answered today or not."""
    for task in piece.tasks:
        asked = asked_of(task) if task.status in UNANSWERED else None
        if asked is not None:
            yield asked
    yield from piece.given
