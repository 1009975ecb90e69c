"""Collections of many growers, published by workers: two against one, many against few, the overhead of each.

Run by hand: python -m tests.benchmarks.trees [COLLECTIONS]
"""

from __future__ import annotations

import logging
import shutil
import tempfile
import time
from contextlib import closing
from math import log
from pathlib import Path
from typing import TYPE_CHECKING, Any

from carecal.app.door import Collection
from carecal.app.many.jobs import Job, JobResult, run_job
from carecal.app.many.workers import run_jobs
from carecal.collection.entries import Done
from tests.benchmarks.many import AS_OF, FIRST, make_collection, moment
from tests.benchmarks.measure import Result, number_argument, show, timed

if TYPE_CHECKING:
    from collections.abc import Callable

COLLECTIONS = 1000
PLANTS = 24
FEW = 10  # a tenth of the collections is the smaller tree
WARM = 2  # collections that each run does first, so that starting the processes and importing is not counted
MOST_KB = 1024.0


class Growers:
    """A tree of collections, each of so many plants, and where they are published."""

    def __init__(self, folder: Path, many: int, plants: int = PLANTS) -> None:
        self.root, self.out = folder / "growers", folder / "out"
        self.out.mkdir(parents=True)
        first = self.root / "n00000"
        make_collection(first, plants).close()
        self.names = [f"n{number:05d}" for number in range(many)]
        for name in self.names[1:]:
            shutil.copytree(first, self.root / name)
        self.job = Job("publish", str(self.out), as_of=AS_OF)

    def publish(self, names: list[str], workers: int) -> tuple[float, list[JobResult]]:
        """Return the time on the wall that workers took who stood ready, and what came of each. [s]."""
        found, begun = [], 0.0
        for result in run_jobs(str(self.root), names, self.job, workers=workers):
            found.append(result)
            if len(found) == WARM * workers:
                begun = time.perf_counter()
        return time.perf_counter() - begun, found

    def change(self, names: list[str], minute: int) -> None:
        """Write an entry into each, so that its calendar is another one."""
        for name in names:
            with closing(Collection.open(self.root / name)) as collection:
                collection.record(Done(on=AS_OF, plant=FIRST, care="watering"), now=moment(AS_OF, minute))

    def alone(self, names: list[str]) -> None:
        """Do the same in this process, without any worker."""
        for name in names:
            run_job(str(self.root), name, self.job)

    def unpublish(self) -> None:
        """Forget all that was published, so that everything is planned anew."""
        for name in self.names:
            with closing(Collection.open(self.root / name)) as collection:
                for rows in ("secret where key glob 'publish/*'", "cache", "published"):
                    collection.journal.connection.execute(f"delete from {rows}")  # noqa: S608 - words of ours
                collection.journal.connection.commit()


def _exponent(work: Callable[[int], float], few: int, many: int) -> float:
    """Return how the time grows: 1 where ten times as many take ten times as long."""
    return log(work(many) / work(few)) / log(many / few)


def measure(many: int) -> list[Result]:
    """Measure a tree and return the rows."""
    few = max(2 * WARM + 2, many // FEW)
    with tempfile.TemporaryDirectory() as name:
        growers = Growers(Path(name), many)
        some = growers.names[:few]
        two, told = growers.publish(some, 2)
        growers.unpublish()
        one, _ = growers.publish(some, 1)
        share = (few - 2 * WARM) / (few - WARM)  # of the work of one, that of two has less after the start
        growers.unpublish()
        own = timed(lambda: growers.alone(some)) / few
        growers.publish(growers.names, 2)

        def look(count: int) -> float:
            return growers.publish(growers.names[:count], 2)[0] / (count - 2 * WARM) * count

        minutes = iter(range(1, 100))

        def changed(count: int) -> float:
            growers.change(growers.names[:count], next(minutes))
            return look(count)

        looked = timed(lambda: growers.alone(some)) / few
        spread = growers.publish(some, 1)[0] / (few - WARM)
        done = (("collections", many), ("plants each", PLANTS), ("published", len(told)))
        return [
            Result("one worker's time, on the wall", "that of two workers", one * share, two, None, done),
            Result("exponent of the time, nothing changed", "growth in step",
                   _exponent(look, few, many), 1, 1.05, done, unit=""),
            Result("exponent of the time, an entry in each", "growth in step",
                   _exponent(changed, few, many), 1, 1.05, done, unit=""),
            Result("handing out and gathering in a collection", "its plan and calendar",
                   max(0.0, spread - looked), own, 0.1, done),
            Result("a look at a collection that has not changed", "its plan and calendar", looked, own, None, done),
            Result("peak memory of a worker", "", _peak_mb(growers, many), 0, None, done, unit="MB"),
        ]  # fmt: skip


def _peak_mb(growers: Growers, many: int) -> float:
    """Return the most that a process used which published all of a tree one after another. [MB]."""
    import multiprocessing  # noqa: PLC0415 - for this alone

    growers.unpublish()
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        used: Any = pool.apply(_used, (growers.root, growers.names[: min(many, 200)], growers.job))
    return float(used)


def _used(root: Path, names: list[str], job: Job) -> float:
    import resource  # noqa: PLC0415 - in the process that is measured

    for name in names:
        run_job(str(root), name, job)
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / MOST_KB


def main() -> None:
    """Print the rows."""
    logging.disable(logging.CRITICAL)
    show(measure(number_argument(COLLECTIONS)))


if __name__ == "__main__":
    main()
