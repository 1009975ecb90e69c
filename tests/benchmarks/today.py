"""`carecal today` on the example against a Python that only imports click and sqlite3: whole processes, in turns.

Run by hand: python -m tests.benchmarks.today [TURNS]
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from datetime import date, timedelta
from pathlib import Path

from carecal.app import Collection
from carecal.app.demo.example import write_demo
from carecal.app.now import real_now
from carecal.collection.entries import Observed
from tests.benchmarks.measure import Result, alternate, number_argument, show

TURNS = 15
PLANT = "tide"
FORTNIGHT = 14  # [d]
BARE = [sys.executable, "-c", "import click, sqlite3"]


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
        self.lines = len(self._carecal("today").splitlines())

    def done(self) -> None:
        """Say in a process of its own that a plant was watered, and print what that changes."""
        self._carecal("done", "watering", PLANT, "--yes")

    def next_day(self) -> None:
        """Let a night go by: the next commands are of the day after."""
        self._day += timedelta(days=1)
        self._moment = real_now("Europe/Berlin", self._day)

    def fortnight(self) -> None:
        """Print the round of each day of a fortnight on which nothing is entered."""
        for _ in range(FORTNIGHT):
            self.next_day()
            self.today()

    def bare_fortnight(self) -> None:
        """Start the bare Python as often."""
        for _ in range(FORTNIGHT):
            self.bare()

    def forget(self) -> None:
        """Throw away all that is kept of rounds, as a new version of the program does."""
        with Collection.open(self._folder) as collection:
            collection.journal.connection.execute("delete from cache where key <> 'catalog'")

    def write(self) -> None:
        """Write an entry, so that the next round is another one."""
        with Collection.open(self._folder) as collection:
            collection.record(Observed(on=self._day, plant=PLANT, note="looked at"), now=self._moment)

    def _carecal(self, *arguments: str) -> str:
        command = [sys.executable, "-m", "carecal", "--as-of", self._day.isoformat(), *arguments]
        return subprocess.run(command, check=True, capture_output=True, text=True, env=self._env).stdout


def measure(turns: int = TURNS) -> list[Result]:
    """Return rounds and an entry against the bare process: what was kept, what follows an entry, a night, a loss."""
    with tempfile.TemporaryDirectory() as folder:
        example = _Today(Path(folder) / "home")
        alternate(
            2, example.done, example.today, example.bare, example.write
        )  # compiles all, checks the tables
        example.today()
        kept, bare = alternate(turns, example.today, example.bare)
        _, fresh, bare_fresh = alternate(turns, example.write, example.today, example.bare)
        done, bare_done = alternate(turns, example.done, example.bare)
        _, anew, bare_anew = alternate(max(1, turns // 3), example.forget, example.today, example.bare)
        _, night, bare_night = alternate(  # each strip of days is used up once: the median day finds its rows
            turns, example.next_day, example.today, example.bare
        )
        fortnight, bare_days = alternate(1, example.fortnight, example.bare_fortnight)
        counts = (("lines", example.lines), ("turns", turns))
    against = "import click, sqlite3"
    return [
        Result("`today`, nothing changed", against, kept, bare, 3.0, counts),
        Result("`today`, first after an entry", against, fresh, bare_fresh, 3.0, counts),
        Result("`today`, first of a new day", against, night, bare_night, 6.0, counts),
        Result("the same, mean of a fortnight without an entry", against, fortnight, bare_days, 6.0, counts),
        Result("`done` with its consequences", against, done, bare_done, 4.0, counts),
        Result("`today`, nothing kept at all", against, anew, bare_anew, None, counts),
    ]


def main() -> None:
    """Measure and print."""
    show(measure(number_argument(TURNS)))


if __name__ == "__main__":
    main()
