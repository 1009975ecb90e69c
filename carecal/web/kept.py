"""How calendars stood when last looked at, for those who hold their bytes already; the collection is not opened.

What was found counts while no file that it rests on is touched: the database with its log, the grower's own tables. The
server keeps no file open between requests, so that a collection can be copied or put back while it runs.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from dataclasses import dataclass, replace
from datetime import timedelta
from hashlib import sha256
from os import scandir
from typing import TYPE_CHECKING

from carecal.app.now import Zoned
from carecal.calendars.subscriptions import client_family
from carecal.collection.database import FILE_NAME

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date, datetime
    from pathlib import Path

    from carecal.app.now import Dated, Now
    from carecal.calendars.subscriptions import NamedCalendar, Published, Validators

__all__ = ["KeptCalendars", "Standing"]

SETTLED_NS = 3 * 10**9
"""A file touched within this time counts as touched: some file systems tell times to two seconds only. [ns]"""
NOTED_ANEW = timedelta(minutes=1)
"""A fetch is noted unless one by the same kind of program was noted within this time before it."""
MOST_NOTED = 1000
BUSY_ASKS, BUSY_SECONDS = 12, 10.0
"""A calendar that is asked for so often within so many seconds is busy. Source: our choice, because the phones and
computers of a house ask once an hour each, and those that are opened together are fewer."""
MOST_BYTES = 4_000_000
"""A calendar larger than this is read anew for each who has to have it whole. Source: our choice."""
OWN_FOLDERS = ("profiles", "shared")

Touched = tuple[tuple[str, int, int, int], ...]


@dataclass(frozen=True, slots=True)
class Standing:
    """How a calendar stood on a day.

    Args:
        calendar: The calendar.
        validators: What its subscribers hold.
        day: Day on which it was found current.
        is_given: Whether that day was named, not the clock's.
    """

    calendar: NamedCalendar
    validators: Validators
    day: date
    is_given: bool


class KeptCalendars:
    """Remembers how calendars stood, and which fetches were noted; safe to be asked by several threads.

    Args:
        folder: The collection's folder.
        clock: Gives the moment of a request.
    """

    def __init__(self, folder: Path, clock: Callable[[Dated], Now]) -> None:
        self._clock = clock
        self._files = folder / FILE_NAME, folder / f"{FILE_NAME}-wal"
        self._folders = [folder / name for name in OWN_FOLDERS]
        self._lock = threading.Lock()
        self._touched: Touched = ()
        self._zone = Zoned("UTC")
        self._found: dict[bytes, Standing] = {}
        self._last: dict[bytes, Standing] = {}
        self._asked: dict[int, deque[float]] = {}
        self._bytes: dict[int, Published] = {}
        self._noted: dict[tuple[int, str], datetime] = {}

    def touched(self) -> Touched:
        """Return what tells whether a file was written since: inode, time and size of each; () while one is fresh."""
        found = []
        for path in self._files:
            try:
                status = path.stat()
            except OSError:
                continue
            if status.st_size:  # an empty log is there while somebody reads
                found.append((path.name, status.st_ino, status.st_mtime_ns, status.st_size))
        for folder in self._folders:
            found.extend(_files_in(folder))
        newest = max((row[2] for row in found), default=0)
        return tuple(found) if time.time_ns() - newest > SETTLED_NS else ()

    def find(self, token: str) -> tuple[Standing, Now] | None:
        """Return how the calendar of a token stands, with the present moment; None where one has to look."""
        touched = self.touched()
        with self._lock:
            if not touched or touched != self._touched:
                return None
            found, zone = self._found.get(_digest(token)), self._zone
        if found is None:
            return None
        now = self._clock(zone)
        return (found, now) if (found.day, found.is_given) == (now.day, now.is_given) else None

    def busy(self, token: str) -> tuple[Standing, Now] | None:
        """Return how the calendar of a token stood when last looked at, if it is asked for so often that this will do.

        Whoever asks every few seconds has the newest bytes a few seconds later. Each call counts as asking.
        """
        moment = time.monotonic()
        with self._lock:
            found = self._last.get(_digest(token))
            if found is None:
                return None
            asked = self._asked.setdefault(found.calendar.id, deque(maxlen=BUSY_ASKS))
            asked.append(moment)
            is_busy, zone = len(asked) == BUSY_ASKS and moment - asked[0] < BUSY_SECONDS, self._zone
        return (found, self._clock(zone)) if is_busy else None

    def bytes_of(self, standing: Standing) -> Published | None:
        """Return the bytes of a calendar that was made for many, as it stands; None where they are not at hand."""
        with self._lock:
            found = self._bytes.get(standing.calendar.id)
        return found if found is not None and found.validators.etag == standing.validators.etag else None

    def renew(
        self, calendar: NamedCalendar, validators: Validators | None, now: Now, made: Published | None = None
    ) -> None:
        """Take up how a calendar stands that was looked at again; None: it has gone, or has no bytes yet."""
        with self._lock:
            if validators is None:
                self._bytes.pop(calendar.id, None)
            elif made is not None and made.size <= MOST_BYTES:
                self._bytes[calendar.id] = replace(made, plain=made.body)
            for key, last in list(self._last.items()):
                if last.calendar.id == calendar.id and validators is None:
                    del self._last[key]
                elif last.calendar.id == calendar.id and validators is not None:
                    self._last[key] = replace(last, validators=validators, day=now.day, is_given=now.is_given)

    def keep(self, token: str, standing: Standing, zone: str, before: Touched) -> None:
        """Keep how a calendar stands; for good only if nothing was written since `before`, when looking at it began."""
        with self._lock:
            self._last[_digest(token)], self._zone = standing, Zoned(zone)
        if not before or self.touched() != before:
            return
        with self._lock:
            if before != self._touched:
                self._touched, self._zone, self._found = before, Zoned(zone), {}
            self._found[_digest(token)] = standing

    def has_noted(self, calendar: NamedCalendar, when: datetime, user_agent: str) -> bool:
        """Return whether a fetch needs no note, since one like it was noted a moment before; else count it as noted."""
        key = calendar.id, client_family(user_agent)
        with self._lock:
            last = self._noted.get(key)
            if last is not None and timedelta(0) <= when - last < NOTED_ANEW:
                return True
            if len(self._noted) >= MOST_NOTED:
                self._noted.clear()
            self._noted[key] = when
            return False


def _files_in(folder: Path) -> list[tuple[str, int, int, int]]:
    try:
        with scandir(folder) as entries:
            rows = [(entry.path, entry.stat()) for entry in entries if entry.name.endswith(".toml")]
    except OSError:
        return []
    return sorted((path, status.st_ino, status.st_mtime_ns, status.st_size) for path, status in rows)


def _digest(token: str) -> bytes:
    """Return what a token is kept under: as in the database, never itself."""
    return sha256(token.encode("utf-8", "surrogatepass")).digest()
