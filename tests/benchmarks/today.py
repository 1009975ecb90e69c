"""`carecal today` on the example against a Python that only imports click and sqlite3: whole processes, in turns.

Run by hand: python -m tests.benchmarks.today [TURNS]
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from datetime import date
from pathlib import Path

from carecal.app import Collection
from carecal.app.demo.example import write_demo
from carecal.app.now import real_now
from carecal.collection.entries import Observed
from tests.benchmarks.measure import Result, alternate, number_argument, show

TURNS = 15
PLANT = "tide"
BARE = [sys.executable, "-c", "import click, sqlite3"]
AIM = 3.0


class _Today:
    """The example in a folder, and the processes that are timed on it."""

    def __init__(self, folder: Path, day: date | None = None) -> None:
        self._env = {
            **os.environ,
            "CARECAL_HOME": str(folder),
            "PYTHONPYCACHEPREFIX": str(folder.parent / "compiled"),
        }
        self._env.pop("PYTHONDONTWRITEBYTECODE", None)  # both run compiled, as an installed program does
        with write_demo(folder, real_now("Europe/Berlin", day)) as collection:
            self._moment = collection.now() if day is None else real_now("Europe/Berlin", day)
        self._folder, self._day = folder, self._moment.day
        self.lines = 0

    def bare(self) -> None:
        """Start a Python that only imports what every command needs."""
        subprocess.run(BARE, check=True, env=self._env)

    def today(self) -> None:
        """Print the round in a process of its own."""
        command = [sys.executable, "-m", "carecal", "--as-of", self._day.isoformat(), "today"]
        printed = subprocess.run(command, check=True, capture_output=True, text=True, env=self._env).stdout
        self.lines = len(printed.splitlines())

    def write(self) -> None:
        """Write an entry, so that the next round is worked out anew."""
        with Collection.open(self._folder) as collection:
            collection.record(Observed(on=self._day, plant=PLANT, note="looked at"), now=self._moment)


def measure(turns: int = TURNS) -> list[Result]:
    """Return the round as it is kept and the first one after an entry, each against the bare process."""
    with tempfile.TemporaryDirectory() as folder:
        example = _Today(Path(folder) / "home")
        alternate(2, example.today, example.bare, example.write)  # compiles all, checks and keeps the tables
        example.today()
        kept, bare = alternate(turns, example.today, example.bare)
        _, fresh, bare_again = alternate(turns, example.write, example.today, example.bare)
        counts = (("lines", example.lines), ("turns", turns))
    return [
        Result("`today`, nothing changed", "import click, sqlite3", kept, bare, AIM, counts),
        Result("`today`, first after an entry", "import click, sqlite3", fresh, bare_again, AIM, counts),
    ]


def main() -> None:
    """Measure and print."""
    show(measure(number_argument(TURNS)))


if __name__ == "__main__":
    main()
