"""Which of many copies stay: the newest of each of the last days, weeks, months and years that have one."""

from __future__ import annotations

import re
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, NamedTuple
from zoneinfo import ZoneInfo

from carecal.collection.backup import backup, contents_of_copy
from carecal.collection.database import FILE_NAME, connect, storage_errors
from carecal.errors import Refused, StorageError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

    from carecal.collection.archive import Contents

__all__ = ["Keep", "Rotated", "backup_and_rotate", "keep_of", "kept_of"]

MOST = 1000  # of one kind; our choice, because nobody looks through more copies
_PART = re.compile(r"(\d+)\s*([dwmy])", re.ASCII)
_STAMP = "%Y%m%dT%H%M%SZ"


class Keep(NamedTuple):
    """How many days, weeks, months and years keep their newest copy."""

    days: int = 0
    weeks: int = 0
    months: int = 0
    years: int = 0


@dataclass(frozen=True, slots=True)
class Rotated:
    """What a rotation did.

    Args:
        file: The copy that was made.
        made: What is in it.
        kept: How many copies there are now, it included.
        removed: Names of those that went.
        doubt: Why none went although some were too many; '' where nothing was in doubt.
    """

    file: Path
    made: Contents
    kept: int
    removed: tuple[str, ...]
    doubt: str = ""


def keep_of(text: str) -> Keep:
    """Return how many copies are kept from words such as '7d,4w,12m' (days, weeks, months, also years: 3y).

    Raises:
        Refused: It says none, the same twice, or is not of that form.
    """
    found: dict[str, int] = {}
    for part in text.replace(" ", "").casefold().split(","):
        match = _PART.fullmatch(part)
        if match is None or match[2] in found or not 1 <= int(match[1]) <= MOST:
            raise Refused(
                f"'{text}' does not say which copies to keep; allowed is as 7d,4w,12m: days, weeks, months (years: 3y)"
            )
        found[match[2]] = int(match[1])
    return Keep(*(found.get(sign, 0) for sign in "dwmy"))


def kept_of(moments: Iterable[datetime], keep: Keep) -> set[datetime]:
    """Return which copies stay: the newest of each of the last days, weeks, months and years that have one.

    A week begins on Monday. What has no copy takes no place, so that a machine that stood still for months loses none.
    The newest of all stays whatever is said.

    Args:
        moments: When each was made, in the collection's zone.
        keep: How many of each.
    """
    newest_first = sorted(moments, reverse=True)
    found = set(newest_first[:1])
    periods: tuple[tuple[int, Callable[[date], object]], ...] = (
        (keep.days, lambda day: day),
        (keep.weeks, lambda day: day.isocalendar()[:2]),
        (keep.months, lambda day: (day.year, day.month)),
        (keep.years, lambda day: day.year),
    )
    for count, period in periods:
        seen: dict[object, datetime] = {}
        for moment in newest_first:
            seen.setdefault(period(moment.date()), moment)
        found.update(list(seen.values())[:count])
    return found


def backup_and_rotate(collection: Path, folder: Path, keep: Keep, now: datetime, zone: str) -> Rotated:
    """Write a full copy into a folder, named by its collection and moment, and take away those that are too many.

    Only files named `carecal-COLLECTION-MOMENT.zip` of this collection are ever taken away, after the new copy was
    read back; and none at all while the new copy holds less than the newest one before it.

    Args:
        collection: The collection's folder.
        folder: Where copies stand; it is made.
        keep: Which stay.
        now: The present instant.
        zone: The collection's time zone: its days are counted.

    Raises:
        Refused: A copy of this second stands there.
        StorageError: There is no collection, the copy cannot be written or an old one not be taken away; then the
            new one stands.
    """
    with storage_errors(folder):
        folder.mkdir(parents=True, exist_ok=True)
    name = f"carecal-{_namespace(collection)[:8]}"
    target = folder / f"{name}-{now.astimezone(UTC).strftime(_STAMP)}.zip"
    made = backup(collection, target)  # read back before it stands there: from now on there is a good copy
    copies = _copies(folder, name, ZoneInfo(zone))
    past = {
        at: path for at, path in copies.items() if at <= now
    }  # a clock that ran ahead left others: they stay
    stay = kept_of(past, keep)
    gone = [path for at, path in sorted(past.items()) if at not in stay]
    before = max((at for at, path in copies.items() if path != target), default=None)
    doubt = _doubt(made, copies[before]) if before is not None and gone else ""
    if doubt:
        return Rotated(target, made, len(copies), (), doubt)
    with storage_errors(folder):
        for path in gone:
            path.unlink(missing_ok=True)
    return Rotated(target, made, len(copies) - len(gone), tuple(path.name for path in gone))


def _doubt(made: Contents, before: Path) -> str:
    """Return why the old copies stay: the newest of them holds more than the one that was just made."""
    try:
        old = contents_of_copy(before)
    except StorageError:
        return ""  # no copy that can be read back; the new one can
    if old.entries > made.entries or old.pictures > made.pictures:
        return f"{before.name} holds {old}, the new copy {made}; none was taken away"
    return ""


def _copies(folder: Path, name: str, zone: ZoneInfo) -> dict[datetime, Path]:
    """Return the copies of a collection in a folder by the moment in their names."""
    form = re.compile(rf"{re.escape(name)}-(\d{{8}}T\d{{6}}Z)\.zip")
    found = {}
    with storage_errors(folder):
        for path in folder.iterdir():
            match = form.fullmatch(path.name)
            at = _moment(match[1]) if match is not None else None
            if at is not None and path.is_file() and not path.is_symlink():
                found[at.astimezone(zone)] = path
    return found


def _moment(text: str) -> datetime | None:
    try:
        return datetime.strptime(text, _STAMP).replace(tzinfo=UTC)
    except ValueError:
        return None


def _namespace(collection: Path) -> str:
    with closing(connect(collection / FILE_NAME, readonly=True)) as connection, storage_errors(connection):
        row = connection.execute("select value from secret where key = 'namespace'").fetchone()
    return "" if row is None else str(row[0])
