"""How the cost of a plan grows with the plants: the exponent between two sizes, 1 where each plant costs the same.

Run by hand: python -m tests.benchmarks.growth [PLANTS]
"""

from __future__ import annotations

import tempfile
from math import log
from pathlib import Path

from carecal.app import Collection
from carecal.app.garbage import uncollected
from tests.benchmarks.many import AS_OF, make_collection
from tests.benchmarks.measure import Result, number_argument, show, timed

PLANTS = 30_000
SHARE = 30  # the smaller collection has this share of the plants
AIM = 1.05


def measure(plants: int = PLANTS, share: int = SHARE) -> list[Result]:
    """Return the exponent of the plan's processor time over the number of plants; its yardstick is 1."""
    few = max(1, plants // share)
    with tempfile.TemporaryDirectory() as folder:
        small, large = (_planned(Path(folder) / str(size), size) for size in (few, plants))
    exponent = log(large / small) / log(plants / few)
    counts = (("plants", plants), ("few", few))
    return [
        Result("growth of the plan", "the same cost for each plant", exponent, 1.0, AIM, counts, "exponent"),
        Result("plan of one plant", f"the same among {few}", large / plants, small / few, None, counts),
    ]


def _planned(folder: Path, plants: int) -> float:
    """Return the processor time of one plan of a collection. [s]."""
    make_collection(folder, plants).close()
    with Collection.open(folder) as home, uncollected():
        assert home.catalog.media  # kept from here on, as on the second command of any collection
        return timed(lambda: home.plan(AS_OF, grouping="each"))


def main() -> None:
    """Measure and print."""
    show(measure(number_argument(PLANTS)))


if __name__ == "__main__":
    main()
