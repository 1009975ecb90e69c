"""The program with an end inside: it is killed at the n-th thing that it does to files or to its database.

`python -m tests.battery.killer N MICROSECONDS WORDS…` runs `carecal WORDS…` and ends it before the thing, or so long
after it has begun. `python -m tests.battery.killer 0 FILE WORDS…` leaves it alone and writes to FILE how many such
things there were.
"""

from __future__ import annotations

import os
import signal
import sqlite3
import sys
from pathlib import Path
from typing import Any

from carecal.cli.main import run

__all__: list[str] = []

TOUCHES = frozenset(
    {"os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.truncate", "shutil.rmtree", "shutil.copyfile"}
)
WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT


def main(words: list[str]) -> int:
    """Run the program and return its exit code, unless its end comes before."""
    last, count = int(words[0]), 0

    def step(*_: object) -> None:
        nonlocal count
        count += 1
        if count == last and not int(words[1]):
            os.kill(os.getpid(), signal.SIGKILL)
        elif count == last:
            signal.setitimer(signal.ITIMER_REAL, int(words[1]) / 1e6)  # its signal ends the program as surely

    def hook(event: str, args: tuple[object, ...]) -> None:
        if event in TOUCHES or (event == "open" and isinstance(args[2], int) and args[2] & WRITING):
            step()

    real = sqlite3.connect

    def connect(*args: Any, **options: Any) -> sqlite3.Connection:
        connection: sqlite3.Connection = real(*args, **options)
        connection.set_trace_callback(step)  # each statement is a step
        return connection

    sys.addaudithook(hook)
    sqlite3.connect = connect  # type: ignore[assignment]
    code = run(words[2:])
    if not last:
        Path(words[1]).write_text(str(count), encoding="ascii")
    return code


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
