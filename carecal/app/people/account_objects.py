"""What an account holds: each care day and each to-do as an object, and what changed since a program last asked."""

from __future__ import annotations

import json
import re
from hashlib import sha256
from typing import TYPE_CHECKING, NamedTuple

from carecal.app.publish import calendars
from carecal.calendars.caldav_objects import objects_of
from carecal.collection.database import storage_errors, transaction

if TYPE_CHECKING:
    from collections.abc import Mapping

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.calendars.subscriptions import NamedCalendar

__all__ = ["Held", "changed_since", "held_of", "objects_in"]

ROUNDS = 2  # so many coming days of care are to do; our choice, because more is a list nobody ticks
DONE_DAYS = 2  # what was done stays as done so long; our choice, so that a tick is seen to have been taken
TOKENS = (
    40  # states of a calendar that are remembered; our choice, because a program asks several times a day
)
_SKIPPED = re.compile(rb"^CATEGORIES:(?:REFRESH|STEP)\b", re.MULTILINE)
_DUE = re.compile(rb"^DUE[^:\r\n]*:(\d{8})", re.MULTILINE)
_PLANT = re.compile(rb"^X-CARECAL-PLANT:(\S+)\r$", re.MULTILINE)


class Held(NamedTuple):
    """One object.

    Args:
        uid: Its UID, which also names it.
        content: A calendar that holds it alone.
        etag: Digest of that, in quotes.
        is_done: Whether it is a to-do that was done.
        plant: Id of its plant, or ''.
    """

    uid: str
    content: bytes
    etag: str
    is_done: bool
    plant: str


def objects_in(collection: Collection, calendar: NamedCalendar, now: Now) -> dict[str, Held]:
    """Return the objects of one calendar of an account, by UID.

    To do is what is open up to the second coming day of care, and what was done a day or two ago; steps, which are done
    with a command of their own, stand among the care days alone.

    Raises:
        CarecalError: The calendar cannot be made, and never was.
    """
    body = calendars.ensure_published(collection, calendar, now).body
    found = {
        uid: held_of(uid, content)
        for uid, content in objects_of(body).items()
        if not _SKIPPED.search(content)
    }
    if calendar.options.form != "todos":
        return found
    days = sorted(
        {_due(held) for held in found.values() if not held.is_done and _due(held) >= f"{now.day:%Y%m%d}"}
    )
    until = days[:ROUNDS][-1] if days else f"{now.day:%Y%m%d}"
    since = f"{now.day.fromordinal(now.day.toordinal() - DONE_DAYS):%Y%m%d}"
    return {
        uid: held for uid, held in found.items() if (since if held.is_done else "") <= _due(held) <= until
    }


def changed_since(
    collection: Collection, calendar: NamedCalendar, objects: Mapping[str, Held], token: str
) -> tuple[str, list[str]]:
    """Return the token of how a calendar stands, and the UIDs that came, changed or went since another token.

    Raises:
        ValueError: The token is not known any more; the program begins anew.
    """
    state = {uid: held.etag for uid, held in sorted(objects.items())}
    now = sha256(json.dumps(state, sort_keys=True).encode()).hexdigest()
    connection, prefix = collection.journal.connection, f"account-sync/{calendar.id}/"
    with storage_errors(connection):
        rows = connection.execute("select key, value from cache where key glob ?", (f"{prefix}*",)).fetchall()
    known = {key.removeprefix(prefix): json.loads(value) for key, value in rows}
    if token and token not in known:
        raise ValueError(f"token '{token[:80]}' is not known any more")
    if now not in known:
        with transaction(connection):
            _remember(connection, prefix, known, now, state)
    before = known[token]["state"] if token else {}
    return now, [uid for uid in sorted({*before, *state}) if before.get(uid) != state.get(uid)]


def _remember(
    connection: object, prefix: str, known: dict[str, dict[str, object]], now: str, state: object
) -> None:
    newest = max((int(str(row["order"])) for row in known.values()), default=0)
    oldest = sorted(known, key=lambda token: int(str(known[token]["order"])))[
        : max(0, len(known) - TOKENS + 1)
    ]
    execute = connection.execute  # type: ignore[attr-defined]  # a connection of sqlite3
    for token in oldest:
        execute("delete from cache where key = ?", (f"{prefix}{token}",))
    value = json.dumps({"order": newest + 1, "state": state}).encode()
    execute("insert into cache (key, stamp, value) values (?, ?, ?)", (f"{prefix}{now}", "", value))


def held_of(uid: str, content: bytes) -> Held:
    """Return an object of a calendar as what a program's writing is held against."""
    plant = _PLANT.search(content)
    return Held(
        uid,
        content,
        f'"{sha256(content).hexdigest()}"',
        b"\r\nSTATUS:COMPLETED\r\n" in content,
        plant[1].decode() if plant else "",
    )


def _due(held: Held) -> str:
    due = _DUE.search(held.content)
    return due[1].decode() if due else ""
