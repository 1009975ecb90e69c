"""A run over many collections: what is done already is left out, what comes of each is written down at once."""

from __future__ import annotations

import json
from collections import Counter
from contextlib import nullcontext
from dataclasses import asdict
from io import SEEK_END, TextIOWrapper
from typing import TYPE_CHECKING, Any, TextIO

from carecal.app.many.jobs import JobResult
from carecal.collection.database import storage_errors

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from contextlib import AbstractContextManager
    from datetime import date
    from pathlib import Path

    from carecal.app.many.jobs import Job

__all__ = ["Summary", "done_before", "run_all"]


class Summary:
    """What came of a run.

    Args:
        kind: The command.
        before: How many were left out, because an earlier run has done them.
    """

    def __init__(self, kind: str, before: int) -> None:
        self.kind = kind
        self.before = before
        self.counts: Counter[str] = Counter()
        self.failures: list[JobResult] = []
        self.is_stopped = False

    def take(self, result: JobResult) -> None:
        """Count what came of one collection."""
        self.counts[result.outcome] += 1
        if result.outcome in {"failed", "faults"}:
            self.failures.append(result)

    @property
    def data(self) -> dict[str, Any]:
        """The same for programs."""
        kinds = ("done", "unchanged", "faults", "failed")
        return {
            "command": self.kind,
            "stopped": self.is_stopped,
            "done_before": self.before,
            **{kind: self.counts[kind] for kind in kinds},
        }

    def __str__(self) -> str:
        """Return it in one line."""
        words = {
            "done": _DONE[self.kind],
            "unchanged": "unchanged",
            "faults": "with faults",
            "failed": "failed",
        }
        parts = [f"{self.counts[kind]} {word}" for kind, word in words.items() if self.counts[kind]]
        parts += [f"{self.before} done before"] if self.before else []
        total = self.counts.total() + self.before
        many = f"{total} collection{'s' if total != 1 else ''}"
        stopped = "; stopped, the rest is still to be done" if self.is_stopped else ""
        return f"{many}: {', '.join(parts) or 'nothing to do'}{stopped}"


_DONE = {
    "publish": "published",
    "refresh": "fresh",
    "verify": "sound",
    "status": "looked at",
    "backup": "copied",
}


def run_all(
    names: list[str],
    job: Job,
    spread: Callable[[list[str]], Iterator[JobResult]],
    log: Path | None,
    day: date,
    say: Callable[[JobResult, int], None],
) -> Summary:
    """Do a job with all collections and return what came of it; it can be stopped by the keyboard and taken up again.

    Args:
        names: The collections.
        job: What is to be done with each.
        spread: Does it, and yields what came of each.
        log: File to which each result is added as a line of JSON; what it holds as done on the same day is left out.
        day: Today, for the log.
        say: Called with each result and how many there were.

    Raises:
        Refused: The work cannot be spread.
        StorageError: The log cannot be read or written.
    """
    known = done_before(log, job, day) if log is not None else set[str]()
    rest = [name for name in names if name not in known]
    summary = Summary(job.kind, len(names) - len(rest))
    try:
        with _appending(log) as file:
            for count, result in enumerate(spread(rest), 1) if rest else ():
                summary.take(result)
                if file is not None:
                    file.write(json.dumps(_line(result, job, day), ensure_ascii=False, default=str) + "\n")
                say(result, count)
    except KeyboardInterrupt:
        summary.is_stopped = True
    return summary


def done_before(log: Path, job: Job, day: date) -> set[str]:
    """Return the collections for which a log says that the same job went well on the same day.

    Raises:
        StorageError: It cannot be read.
    """
    if not log.is_file():
        return set()
    with storage_errors(log), log.open(encoding="utf-8", errors="replace") as file:
        rows = [row for line in file if (row := _row(line)) is not None]
    return {
        row["collection"]
        for row in rows
        if row.get("job") == _of_job(job, day) and row.get("outcome") in {"done", "unchanged"}
    }


def _row(line: str) -> dict[str, Any] | None:
    """Return a line of a log; None for one that was cut off when the machine stopped."""
    try:
        row = json.loads(line)
    except ValueError:
        return None
    return row if isinstance(row, dict) and isinstance(row.get("collection"), str) else None


def _line(result: JobResult, job: Job, day: date) -> dict[str, Any]:
    return {"job": _of_job(job, day), **asdict(result)}


def _of_job(job: Job, day: date) -> dict[str, str]:
    return {"kind": job.kind, "target": job.target, "day": day.isoformat()}


def _appending(log: Path | None) -> AbstractContextManager[TextIO | None]:
    if log is None:
        return nullcontext()
    with storage_errors(log):
        file = log.open("a+b")
        file.seek(max(0, file.seek(0, SEEK_END) - 1))
        is_cut = file.read(1) not in {b"", b"\n"}  # the machine stopped in the middle of a line
        if is_cut:
            file.write(b"\n")
        return TextIOWrapper(file, encoding="utf-8", write_through=True)
