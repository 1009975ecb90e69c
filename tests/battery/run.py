"""Runs the battery and prints its table, as `scripts/battery [N] [--seed S] [--only WORD]`; code 1 where a rule broke.

N is the number of kills in all; each damage is tried half as often, each way in twice as often.
"""

from __future__ import annotations

import argparse
import resource
import shutil
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from multiprocessing import get_context
from pathlib import Path
from random import Random

from tests.battery.attempts import attempt, standing
from tests.battery.clocks import clocks
from tests.battery.crowd import crowd, twice
from tests.battery.damage import damaged_copy, damaged_file
from tests.battery.house import begin
from tests.battery.kills import KILLS
from tests.battery.load import load
from tests.battery.mutations import WAYS, Way, mutated, seed_of
from tests.battery.strangers import strangers

Try = Callable[[Path, Path, Random], tuple[str, str]]
SHORT = 21  # kills; the whole takes a minute and a half on two cores
MOST_SHOWN = 5
TRIES_APART = 500
LOAD = "200 programs at three calendars, a tick every 2 s"
MOST_MB = 300
CODES = {0: "came in sound", 3: "refused", 4: "refused"}


def main(arguments: list[str]) -> int:
    """Run the battery, print its table, and return 1 where a rule broke."""
    parser = argparse.ArgumentParser(prog="scripts/battery", description=__doc__)
    parser.add_argument("kills", nargs="?", type=int, default=SHORT, help=f"kills in all, else {SHORT}")
    parser.add_argument("--seed", type=int, default=1, help="where chance begins")
    parser.add_argument("--only", default="", help="only rows with this text")
    parser.add_argument(
        "--load", type=float, default=0.0, metavar="SECONDS", help="put the server under load, too"
    )
    asked = parser.parse_args(arguments)
    rows, broken = [], 0
    print("| what | tries | what happened | broken rules | time |\n|---|---|---|---|---|", flush=True)  # noqa: T201 - the table is what it is for
    with tempfile.TemporaryDirectory(prefix="battery-") as folder:
        with strangers(_begun(Path(folder)), Path(folder) / "lively") as stranger:
            for name, count, one in _plan(asked.kills, Path(folder), stranger):
                if asked.only not in name:
                    continue
                row, wrong = _apart(name, count, one, asked.seed, Path(folder))
                rows.append(row)
                broken += wrong
                print(row, flush=True)  # noqa: T201 - the table is what it is for
        if asked.load and asked.only in LOAD:
            row, wrong = _loaded(asked.load)
            rows.append(row)
            broken += wrong
            print(row, flush=True)  # noqa: T201 - as above
        row, wrong = _memory()
        rows.append(row)
        broken += wrong
        print(row)  # noqa: T201 - as above
    print(f"{'a rule broke' if broken else 'every rule held'}, {len(rows)} rows")  # noqa: T201 - as above
    return 1 if broken else 0


def _begun(folder: Path) -> Path:
    (folder / "lively").mkdir()
    return begin(folder / "lively")


def _plan(kills: int, folder: Path, stranger: Try) -> list[tuple[str, int, Try]]:
    """Return each row's name, number of tries and what tries once."""
    (folder / "still").mkdir()
    lively, still = folder / "lively", standing(folder / "still")
    each = max(1, kills // len(KILLS))
    rows: list[tuple[str, int, Try]] = [
        (f"killed: {name}", each, _on(lively, one)) for name, one in KILLS.items()
    ]
    rows += [
        ("damaged: the file", max(1, kills // 2), _on(lively, damaged_file)),
        ("damaged: a backup", max(1, kills // 2), _on(lively, damaged_copy)),
    ]
    rows += [
        ("at once: one plant watered by two commands", max(1, kills // 8), _on(lively, twice)),
        ("at once: writers, server, copies", max(1, kills // 40), _on(lively, crowd)),
        ("clocks, zones, summer time", max(1, kills // 4), _on(lively, clocks)),
        ("requests of strangers", 4 * kills, stranger),
    ]
    share = {"absences": 4, "picture": 2}
    return rows + [
        (f"broken: {way.name}", max(1, 2 * kills // share.get(way.name, 1)), _by(way, still)) for way in WAYS
    ]


def _on(stands: Path, one: Callable[[Path, Path, Random], tuple[str, str]]) -> Try:
    return lambda _, work, chance: one(stands, work, chance)


def _by(way: Way, stands: Path) -> Try:
    seed = seed_of(way, stands / "copy.zip")

    def once(_: Path, work: Path, chance: Random) -> tuple[str, str]:
        code, broken = attempt(way, mutated(seed, chance), stands, work)
        return CODES.get(code, str(code)), broken

    return once


def _apart(name: str, count: int, one: Try, seed: int, folder: Path) -> tuple[str, int]:
    """Try in a process of its own, a few hundred at a time, and return the row of the table and how often a rule broke.

    What the runner of commands keeps of each grows with every try, and would be taken for what carecal needs.
    """
    fork = get_context("fork")
    happened: Counter[str] = Counter()
    wrong, began = 0, time.monotonic()
    for first in range(0, count, TRIES_APART):
        here, there = fork.Pipe(duplex=False)
        numbers = range(first, min(first + TRIES_APART, count))
        worker = fork.Process(target=lambda: there.send(_tried(name, numbers, one, seed, folder)))  # noqa: B023 - at once
        worker.start()
        there.close()
        told, lines = here.recv()
        worker.join()
        happened += told
        wrong += len(lines)
        for line in lines[:MOST_SHOWN]:
            print(line, file=sys.stderr, flush=True)  # noqa: T201 - what broke is told beside the table
    shown = ", ".join(f"{what} {times}" for what, times in sorted(happened.items()))
    return f"| {name} | {count} | {shown} | {wrong} | {time.monotonic() - began:.0f} s |", wrong


def _tried(name: str, numbers: range, one: Try, seed: int, folder: Path) -> tuple[Counter[str], list[str]]:
    """Try with each of some numbers and return how often what happened, and a line for each rule that broke."""
    happened: Counter[str] = Counter()
    wrong: list[str] = []
    for number in numbers:
        work = folder / "work"
        work.mkdir()
        what, broken = one(folder, work, Random(f"{name} {seed} {number}"))  # noqa: S311 - no secret
        happened[what] += 1
        if broken:
            wrong.append(f"{name}, try {number} of seed {seed}: {broken}")
        shutil.rmtree(work, ignore_errors=True)
    return happened, wrong


def _loaded(seconds: float) -> tuple[str, int]:
    found = load(seconds)
    for line in found.broken:
        print(f"{LOAD}: {line}", file=sys.stderr, flush=True)  # noqa: T201 - what broke is told beside the table
    return f"| {LOAD} | {found.answers} | {found} | {len(found.broken)} | {seconds:.0f} s |", len(
        found.broken
    )


def _memory() -> tuple[str, int]:
    """Return the row of the largest memory that damage and broken files took, and whether it was too much."""
    largest = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    return f"| memory of all tries | | at most {largest:.0f} MB | {int(largest > MOST_MB)} | |", int(
        largest > MOST_MB
    )


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
