"""How plan and calendar grow with the collection: the exponent between two sizes, each in a process of its own.

Run by hand: python -m tests.benchmarks.growth [PLANTS]
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from math import log
from pathlib import Path

from carecal.app import Collection
from carecal.app.publish.calendars import options_of, render_calendar
from tests.benchmarks.many import make_collection, moment
from tests.benchmarks.measure import Result, number_argument, show, timed

PLANTS = 30_000
SHARE = 30  # the smaller collection has this share of the plants
AIM = 1.05


def measure(plants: int = PLANTS, share: int = SHARE) -> list[Result]:
    """Return the exponent of plan and calendar `each`, first time, between a share of the plants and all of them."""
    few = max(1, plants // share)
    with tempfile.TemporaryDirectory() as folder:
        small, large = (_spent(Path(folder) / str(size), size) for size in (few, plants))
    exponent = log(large / small) / log(plants / few)
    counts = (("plants", plants), ("few", few))
    return [
        Result(
            "plan and calendar `each`, first time", f"the same of {few} plants", large, small, None, counts
        ),
        Result("growth of it, exponent", "growth in step", exponent, 1.0, AIM, counts, ""),
    ]


def _spent(folder: Path, plants: int) -> float:
    make_collection(folder, plants).close()
    command = [sys.executable, "-m", "tests.benchmarks.growth", "--one", str(folder)]
    root = Path(__file__).parents[2]
    return float(subprocess.run(command, check=True, capture_output=True, text=True, cwd=root).stdout)


def _one(folder: Path) -> None:
    """Plan and write one collection and print the processor time. [s]."""
    with Collection.open(folder) as home:
        assert home.catalog.media  # kept from here on, as on the second command of any collection
        options = options_of(home, moment(), grouping="each")
        sys.stdout.write(str(timed(lambda: render_calendar(home, options, moment()))))


def main() -> None:
    """Measure and print."""
    if sys.argv[1:2] == ["--one"]:
        _one(Path(sys.argv[2]))
    else:
        show(measure(number_argument(PLANTS)))


if __name__ == "__main__":
    main()
