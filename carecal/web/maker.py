"""The program that makes calendars beside the server: a line asks for one, a line answers; it ends with its input."""

from __future__ import annotations

import json
import logging
import os
import signal
import sys
from contextlib import suppress
from datetime import date, datetime
from pathlib import Path

from carecal.app.now import Now
from carecal.errors import CarecalError
from carecal.web.making import make_here

__all__ = ["main"]

GENTLY = 5  # how far behind the server's answers it stands; our choice, a quarter of what there is


def main(folder: Path) -> None:
    """Make one calendar for each line that comes in, and answer each with a line."""
    with suppress(ValueError):  # not the main thread
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C ends the server, and that ends this
    if hasattr(os, "nice"):
        os.nice(GENTLY)
    make = make_here(folder)
    for line in sys.stdin:
        asked = json.loads(line)
        now = Now(
            date.fromisoformat(asked["day"]),
            datetime.fromisoformat(asked["written"]),
            datetime.fromisoformat(asked["clock"]),
            is_given=asked["is_given"],
        )
        told: dict[str, str] = {}
        try:
            make(asked["calendar"], now)
        except CarecalError as error:
            told = {"error": str(error)}
        print(json.dumps(told), flush=True)  # noqa: T201 - its answer


if __name__ == "__main__":
    logging.basicConfig(format="%(message)s", level=logging.WARNING)
    main(Path(sys.argv[1]))
