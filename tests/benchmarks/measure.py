"""Processor time within one run: medians of alternations and their ratio, printed as rows; it judges nothing."""

from __future__ import annotations

import resource
import sys
from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

__all__ = ["Result", "alternate", "number_argument", "show", "timed"]


@dataclass(frozen=True, slots=True)
class Result:
    """What one benchmark found: a measured thing against a yardstick of the same run.

    Attributes:
        name: What was measured.
        yardstick: What it is held against.
        measured: Median of the thing. [s] of processor time, or what `unit` says
        against: Median of the yardstick, same unit; 0 where there is none.
        aim: Ratio aimed at; None: reported only.
        counts: What was done, to see that it was the whole work.
        unit: Unit of both medians.
    """

    name: str
    yardstick: str
    measured: float
    against: float
    aim: float | None = None
    counts: tuple[tuple[str, int], ...] = ()
    unit: str = "s"

    @property
    def ratio(self) -> float | None:
        """Return the measured over the yardstick; None without a yardstick."""
        return self.measured / self.against if self.against else None


def timed(work: Callable[[], object]) -> float:
    """Return the processor time that a piece of work took, here and in the processes it started. [s].

    Unlike the clock on the wall it hardly depends on what else the machine is doing.
    """
    begun = _spent()
    work()
    return _spent() - begun


def _spent() -> float:
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(each.ru_utime + each.ru_stime for each in used)


def alternate(times: int, *works: Callable[[], object]) -> list[float]:
    """Return the median of each piece of work, done in turns so that a busy machine slows all alike. [s]."""
    rounds = [[timed(work) for work in works] for _ in range(times)]
    return [median(column) for column in zip(*rounds, strict=True)]


def number_argument(default: int, arguments: Sequence[str] | None = None) -> int:
    """Return the one argument of a script, a number of plants or times, or its default."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    return int(given[0]) if given else default


def show(results: Sequence[Result]) -> None:
    """Print results as rows of a Markdown table."""
    lines = [
        "| measured | against | median | yardstick | ratio | aim | counts |",
        "|---|---|---|---|---|---|---|",
    ]
    for row in results:
        ratio = f"{row.ratio:.2f}" if row.ratio is not None else ""
        against = f"{row.against:.4g} {row.unit}" if row.against else ""
        aim = f"≤ {row.aim:g}" if row.aim is not None else ""
        counts = ", ".join(f"{name} {count}" for name, count in row.counts)
        lines.append(
            f"| {row.name} | {row.yardstick} | {row.measured:.4g} {row.unit} | {against} | {ratio} | {aim} | {counts} |"
        )
    sys.stdout.write("\n".join(lines) + "\n")
