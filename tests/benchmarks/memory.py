"""Peak memory a plant: the slope between two sizes of collection, each planned and written in a process of its own.

Run by hand: python -m tests.benchmarks.memory [PLANTS]
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
from pathlib import Path

from carecal.app import Collection
from carecal.app.publish.calendars import options_of, render_calendar
from tests.benchmarks.many import make_collection, moment
from tests.benchmarks.measure import Result, number_argument, show

PLANTS = 2_000
AIM_KB = 60.0
SHARE = 4  # the smaller collection has this share of the plants
KIB = 1024


def measure(plants: int = PLANTS) -> list[Result]:
    """Return the memory of the larger collection and the slope a plant, both by the operating system's own peak."""
    few = max(1, plants // SHARE)
    with tempfile.TemporaryDirectory() as folder:
        small, large = (_peak_mb(Path(folder) / str(size), size) for size in (few, plants))
    slope_kb = (large - small) * KIB / (plants - few)
    counts = (("plants", plants), ("few", few))
    return [
        Result(
            "peak memory, plan and calendar `each`",
            f"the same of {few} plants",
            large,
            small,
            None,
            counts,
            "MB",
        ),
        Result("peak memory a plant", "one KB", slope_kb, 1.0, AIM_KB, counts, "KB"),
    ]


def _peak_mb(folder: Path, plants: int) -> float:
    make_collection(folder, plants).close()
    command = [sys.executable, "-m", "tests.benchmarks.memory", "--one", str(folder)]
    root = Path(__file__).parents[2]
    printed = subprocess.run(command, check=True, capture_output=True, text=True, cwd=root).stdout
    return float(printed) / KIB


def _one(folder: Path) -> None:
    """Plan and write one collection and print the peak of this process. [KiB]."""
    with Collection.open(folder) as collection:
        render_calendar(collection, options_of(collection, moment(), grouping="each"), moment())
    sys.stdout.write(str(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss))


def main() -> None:
    """Measure and print."""
    if sys.argv[1:2] == ["--one"]:
        _one(Path(sys.argv[2]))
    else:
        show(measure(number_argument(PLANTS)))


if __name__ == "__main__":
    main()
