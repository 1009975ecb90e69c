"""One tick in a collection of many plants against one in a collection of 24, in turns.

Run by hand: python -m tests.benchmarks.ticks [PLANTS]
"""

from __future__ import annotations

import tempfile
from functools import partial
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

from carecal.app import Collection
from carecal.app.publish.calendars import options_of, render_calendar
from tests.benchmarks.many import make_collection, moment, tick
from tests.benchmarks.measure import Result, alternate, number_argument, show

if TYPE_CHECKING:
    from collections.abc import Iterator

PLANTS = 10_000
FEW = 24
TURNS = 7
AIM = 3.0


def measure(plants: int = PLANTS, few: int = FEW, turns: int = TURNS) -> list[Result]:
    """Return a tick from open folder to consequences, and on to the plant's new calendar, at both sizes."""
    with tempfile.TemporaryDirectory() as folder:
        many_home, few_home = Path(folder) / "many", Path(folder) / "few"
        for home, number in ((many_home, plants), (few_home, few)):
            make_collection(home, number).close()
        minutes = count()
        for home in (many_home, few_home):  # the first command of a collection checks and keeps the catalog
            _tick(home, minutes)
            _tick_and_calendar(home, minutes)
        ticks = alternate(turns, partial(_tick, many_home, minutes), partial(_tick, few_home, minutes))
        shown = alternate(
            turns,
            partial(_tick_and_calendar, many_home, minutes),
            partial(_tick_and_calendar, few_home, minutes),
        )
        with Collection.open(many_home) as many:
            counts = (("plants", len(many.journal.ids())), ("entries", many.journal.head()), ("turns", turns))
    return [
        Result("a tick", f"a tick in {few} plants", ticks[0], ticks[1], AIM, counts),
        Result(
            "a tick and the plant's calendar", f"the same in {few} plants", shown[0], shown[1], AIM, counts
        ),
    ]


def _tick(folder: Path, minutes: Iterator[int]) -> None:
    with Collection.open(folder) as collection:
        tick(collection, next(minutes))


def _tick_and_calendar(folder: Path, minutes: Iterator[int]) -> None:
    with Collection.open(folder) as collection:
        minute = next(minutes)
        tick(collection, minute)
        render_calendar(collection, options_of(collection, moment(), plant="p00001"), moment(minute=minute))


def main() -> None:
    """Measure and print."""
    show(measure(number_argument(PLANTS)))


if __name__ == "__main__":
    main()
