"""Calendars made anew for subscribers: one at a time, each once for all who wait, away from whoever answers."""

from __future__ import annotations

import json
import logging
import subprocess
import sys
import threading
from concurrent.futures import Future
from contextlib import suppress
from queue import SimpleQueue
from typing import TYPE_CHECKING, Any

from carecal.app.door import Collection
from carecal.app.publish import calendars, named_calendars
from carecal.app.publish.kept_plans import KeptPlans
from carecal.errors import CarecalError, StorageError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from carecal.app.now import Now
    from carecal.calendars.subscriptions import NamedCalendar, Published, Validators

    Make = Callable[[int, Now], None]

__all__ = ["Apart", "Making", "make_here"]

log = logging.getLogger("carecal.web")
MAKER = (sys.executable, "-m", "carecal.web.maker")


class Making:
    """Makes calendars that are not current, one after another, in a thread of its own.

    Whoever asks while a calendar waits for its turn shares that turn; whoever asks after it has begun gets the next
    one, because an entry may have come in between.

    Args:
        folder: The collection's folder.
        make: Makes one calendar by its number, for a moment.
        tell: Called with each calendar that was looked at, how it stands (None where it has gone, or has no bytes), the
            moment, and its bytes where they were made.
    """

    def __init__(
        self,
        folder: Path,
        make: Make,
        tell: Callable[[NamedCalendar, Validators | None, Now, Published | None], None],
    ) -> None:
        self._folder, self._make, self._tell = folder, make, tell
        self._lock = threading.Lock()
        self._turns: SimpleQueue[tuple[NamedCalendar, Now]] = SimpleQueue()
        self._waiting: dict[int, Future[None]] = {}
        self._thread: threading.Thread | None = None

    def begin(self, calendar: NamedCalendar, now: Now) -> Future[None]:
        """Give a calendar its turn and return what is done when it is current, or cannot be made; it raises nothing."""
        with self._lock:
            found = self._waiting.get(calendar.id)
            if found is None:
                found = self._waiting[calendar.id] = Future()
                self._turns.put((calendar, now))
            if self._thread is None:  # ends with the server, whatever it is doing
                self._thread = threading.Thread(target=self._work, name="calendars", daemon=True)
                self._thread.start()
        return found

    def _work(self) -> None:
        while True:
            calendar, now = self._turns.get()
            with self._lock:
                turn = self._waiting.pop(calendar.id)
            try:
                self._bring_up(calendar, now)
            except Exception:
                log.exception("a calendar could not be made")
            turn.set_result(None)

    def _bring_up(self, calendar: NamedCalendar, now: Now) -> None:
        """Make a calendar if it is not current, and tell how it stands."""
        try:
            with Collection.open(self._folder) as collection:
                known = named_calendars.calendars_of(collection)
                is_there = any((each.id, each.created) == (calendar.id, calendar.created) for each in known)
                validators = calendars.current(collection, calendar, now) if is_there else None
            made = None
            if is_there and validators is None:
                self._make(calendar.id, now)
                with Collection.open(self._folder) as collection:
                    made = calendars.kept_bytes(collection, calendar)
                validators = made.validators if made is not None else None
            self._tell(calendar, validators, now, made)
        except CarecalError as error:
            log.error("calendar %s could not be made: %s", calendar.name, error)  # noqa: TRY400 - one line tells all


def make_here(folder: Path) -> Make:
    """Return what makes a calendar in the thread that asks; it keeps what plants gave to the plan before."""
    kept = KeptPlans()

    def make(number: int, now: Now) -> None:
        with Collection.open(folder) as collection:
            known = next(
                (each for each in named_calendars.calendars_of(collection) if each.id == number), None
            )
            if known is None:
                return  # it was revoked meanwhile
            note = calendars.ensure_published(collection, known, now, kept=kept).note
        if note:
            log.error("calendar %s stands as it was: %s", known.name, note)

    return make


class Apart:
    """Makes calendars in a program beside the server, so that no plan takes time or memory from its answers.

    The program is begun when it is first needed, and ends with its input, thus with the server, however that ends. It
    is asked by one thread at a time.

    Args:
        folder: The collection's folder.
        program: What is run, with the folder after it.
    """

    def __init__(self, folder: Path, program: tuple[str, ...] = MAKER) -> None:
        self._words = [*program, str(folder)]
        self._running: subprocess.Popen[str] | None = None

    def __call__(self, number: int, now: Now) -> None:
        """Have a calendar made.

        Raises:
            StorageError: The program ended, or could not be begun.
        """
        asked = {
            "calendar": number,
            "day": now.day.isoformat(),
            "written": now.written.isoformat(),
            "clock": now.clock.isoformat(),
            "is_given": now.is_given,
        }
        try:
            told = self._ask_maker(asked)
        except (OSError, ValueError) as error:
            self.end()
            raise StorageError("the program that makes calendars has ended; it is begun anew") from error
        if told.get("error"):
            log.error("%s", told["error"])

    def _ask_maker(self, asked: dict[str, Any]) -> dict[str, Any]:
        if self._running is None:
            self._running = subprocess.Popen(  # noqa: S603 - this very program
                self._words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, encoding="utf-8"
            )
        running = self._running
        if running.stdin is None or running.stdout is None:
            raise OSError("no pipe")
        running.stdin.write(json.dumps(asked) + "\n")
        running.stdin.flush()
        found: dict[str, Any] = json.loads(running.stdout.readline())
        return found

    def end(self) -> None:
        """End the program; the next calendar begins it anew."""
        running, self._running = self._running, None
        if running is not None:
            running.kill()
            with suppress(OSError):
                running.communicate()
