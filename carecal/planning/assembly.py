"""Plans put together from what plants give, day by day: a plant that gives something else moves its own days alone."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from itertools import chain
from operator import attrgetter
from typing import TYPE_CHECKING

from carecal.plan.model import Fact, Moment, PlantView, Round, Task
from carecal.planning.piece import UNANSWERED
from carecal.planning.rounds.gathering import round_of, stop_of
from carecal.planning.rounds.one_can import Cans
from carecal.planning.stops import Stop, in_order
from carecal.planning.tasks import as_the_can, asked_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from carecal.plan.model import Grouping
    from carecal.planning.piece import Piece
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.rounds.one_can import Asked

__all__ = ["Assembly"]

_in_day = attrgetter("plant", "care", "id")
_by_entry = attrgetter("entry", "plant")


class Assembly:
    """What each plant gives, and the days that are made of it.

    Taking another piece of a plant costs what stands on its days, not what stands in the year. What is made is the same
    whatever was taken before.

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
        tasks: defaultdict[date, list[Task]] = defaultdict(list)
        facts: defaultdict[date, list[Fact]] = defaultdict(list)
        gone: defaultdict[date, set[int]] = defaultdict(set)
        forgotten: defaultdict[date, set[int]] = defaultdict(set)
        for number, piece in sorted(pieces.items()):
            old = self._pieces.pop(number, None)
            for task in old.tasks if old is not None else ():
                gone[task.on].add(number)
            for fact in old.facts if old is not None else ():
                forgotten[fact.on].add(number)
            if piece is not None:
                self._pieces[number] = piece
                for task in piece.tasks:
                    tasks[task.on].append(task)
                for fact in piece.facts:
                    facts[fact.on].append(fact)
            self._warned[number] = piece.warned() if piece is not None else set()
            if self.grouping == "rounds":
                self._cans.take(number, _asked(piece) if piece is not None else ())
        for on in gone.keys() | tasks.keys():
            self._days.setdefault(on, _Day()).take(gone.get(on, set()), tasks.get(on, ()), self._as_of)
        for on in forgotten.keys() | facts.keys():
            left = [f for f in self._facts.get(on, ()) if f.plant not in forgotten.get(on, ())]
            self._facts[on] = sorted([*left, *facts.get(on, ())], key=_by_entry)

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

    __slots__ = ("_ordered", "_other", "_own", "_stops", "round", "stale", "tasks")

    def __init__(self) -> None:
        self.tasks: list[Task] = []
        self.stale: set[int] = set()
        self.round: Round | None = None
        self._own: dict[int, list[Task]] = {}
        self._other: dict[int, list[Task]] = {}
        self._stops: dict[int, list[Stop]] = {}
        self._ordered: list[Stop] = []

    def take(self, gone: set[int], tasks: Iterable[Task], as_of: date) -> None:
        """Take tasks of some plants in place of those of the plants that are gone."""
        left = [task for task in self.tasks if task.plant not in gone] if gone else self.tasks
        for plant in gone:
            self._own.pop(plant, None)
        self.stale |= gone
        for task in tasks:
            if task.on >= as_of and task.status in UNANSWERED:
                self._own.setdefault(task.plant, []).append(task)
                self.stale.add(task.plant)
        self.tasks = sorted([*left, *tasks], key=_in_day)

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
        gone: set[int] = set()
        for plant in self.stale:
            gone.update(map(id, self._stops.pop(plant, ())))
            self._other.pop(plant, None)
            own = self._own.get(plant)
            if own:
                made = {
                    task.id: as_the_can(task, poured[task.id]) if task.id in poured else task for task in own
                }
                other = [made[task.id] for task in own if task.id in poured]
                if other:
                    self._other[plant] = other
                self._stops[plant] = [stop_of(task, views[plant], context, made) for task in made.values()]
        left = [stop for stop in self._ordered if id(stop) not in gone] if gone else self._ordered
        new = chain.from_iterable(self._stops.get(plant, ()) for plant in self.stale)
        self._ordered = in_order([*left, *new])
        self.stale = set()
        others = tuple(chain.from_iterable(tasks for _, tasks in sorted(self._other.items())))
        self.round = round_of(on, self._ordered, context, others) if self._ordered else None


def _asked(piece: Piece) -> Iterator[Asked]:
    """Yield what a plant asks of the can of each round, answered today or not."""
    for task in piece.tasks:
        asked = asked_of(task) if task.status in UNANSWERED else None
        if asked is not None:
            yield asked
    yield from piece.given
