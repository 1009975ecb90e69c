"""A tap on the page to what its answer tells, among many plants against one among 24: all but the page's own drawing.

Run by hand: python -m tests.benchmarks.taps [PLANTS]
"""

from __future__ import annotations

import tempfile
from functools import partial
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

from carecal.app import Collection
from carecal.app.documents.day import day_round
from carecal.app.documents.looking import tonight_document
from carecal.app.documents.today import today
from tests.benchmarks.many import AS_OF, make_collection, moment, tick
from tests.benchmarks.measure import Result, alternate, number_argument, show

if TYPE_CHECKING:
    from collections.abc import Iterator

PLANTS = 500
FEW = 24
TURNS = 9
AIM = 2.0


def measure(plants: int = PLANTS, few: int = FEW, turns: int = TURNS) -> list[Result]:
    """Return a tap with the morning's round, the present one and the cold night, at both sizes."""
    with tempfile.TemporaryDirectory() as folder:
        homes = [Path(folder) / str(size) for size in (plants, few)]
        for home, size in zip(homes, (plants, few), strict=True):
            make_collection(home, size).close()
        minutes = count(1)
        for home in homes:  # the first round of a collection plans it whole
            tap(home, minutes)
            tap(home, minutes)
        many_cost, few_cost = alternate(
            turns, partial(tap, homes[0], minutes), partial(tap, homes[1], minutes)
        )
        told = tap(homes[0], minutes)
    counts = (("plants", told), ("turns", turns))
    return [Result("a tap and its answer", f"the same in {few} plants", many_cost, few_cost, AIM, counts)]


def tap(home: Path, minutes: Iterator[int]) -> int:
    """Tick one wetting and work out what the answer shows; return the plants that its round is of."""
    minute = next(minutes)
    with Collection.open(home) as collection:
        tick(collection, minute)
        document, _ = day_round(collection, moment(minute=minute))
        today(collection, AS_OF)
        tonight_document(collection, AS_OF)
    return int(document["plants"])


def main() -> None:
    """Measure and print."""
    show(measure(number_argument(PLANTS)))


if __name__ == "__main__":
    main()
