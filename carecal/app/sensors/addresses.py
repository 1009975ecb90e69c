"""Sensors of places: each place's own secret address, when it was last heard, and whether it has fallen silent."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from hmac import compare_digest
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from carecal.app.store import zone_of
from carecal.catalog.names import near
from carecal.collection.database import storage_errors, transaction
from carecal.errors import Refused, UnknownName

if TYPE_CHECKING:
    import sqlite3

    from carecal.app.door import Collection
    from carecal.app.now import Now

__all__ = ["Sensor", "add_sensor", "find_sensor", "revoke_sensor", "sensors_of", "silent_since", "stamp"]

TOKEN_BYTES = 24  # 192 bits, as the addresses of calendars
SILENT_DAYS = 2  # the whole of yesterday has passed without a line, and nothing came today [d]
_SENSORS = "select id, place, created, revoked, heard, note from sensor order by place, id"
_ALL = "select id, place, created, revoked, heard, note, token_hash from sensor order by id"


@dataclass(frozen=True, slots=True)
class Sensor:
    """A place's sensor.

    Args:
        id: Its number.
        place: Where it measures.
        created: When it got its address.
        revoked: When the address ended; None while it answers.
        heard: When a line of it came last.
        note: Why what it sent last was not taken; '' when it was.
    """

    id: int
    place: str
    created: datetime
    revoked: datetime | None
    heard: datetime | None
    note: str


def add_sensor(collection: Collection, now: Now, place: str) -> str:
    """Give a place's sensor an address and return its secret path, which is shown this once and kept as a digest.

    Raises:
        UnknownName: The place is not known; names the near ones.
        Refused: It has a sensor.
        StorageError: The file cannot be written.
    """
    places = collection.timeline(now.day, plants=set()).facts.places
    if place not in places:
        raise UnknownName("place", place, near(place, places))
    if any(known.place == place for known in sensors_of(collection)):
        raise Refused(f"{place} has a sensor already; revoke its address first, then give it another")
    token = secrets.token_urlsafe(TOKEN_BYTES)
    with transaction(collection.journal.connection) as connection:
        connection.execute(
            "insert into sensor (place, token_hash, created) values (?, ?, ?)",
            (place, _digest(token), stamp(now.written)),
        )
    return f"/sensor/{token}"


def sensors_of(collection: Collection, *, also_revoked: bool = False) -> list[Sensor]:
    """Return the sensors whose address answers, or all that ever did, by place."""
    connection = collection.journal.connection
    with storage_errors(connection):
        found = [_sensor(row) for row in connection.execute(_SENSORS)]
    return [sensor for sensor in found if also_revoked or sensor.revoked is None]


def find_sensor(connection: sqlite3.Connection, token: str) -> Sensor | None:
    """Return the sensor of a token, revoked or not; None for a token that never was.

    Each known digest is compared in constant time, and all of them always.
    """
    wanted, found = _digest(token), None
    with storage_errors(connection):
        rows = connection.execute(_ALL).fetchall()
    for row in rows:
        if compare_digest(wanted, row[-1]):
            found = _sensor(row[:-1])
    return found


def revoke_sensor(collection: Collection, now: Now, place: str) -> Sensor:
    """End the address of a place's sensor; what it said stays.

    Raises:
        UnknownName: The place has none; names the near ones.
        StorageError: The file cannot be written.
    """
    known = {sensor.place: sensor for sensor in sensors_of(collection)}
    if place not in known:
        raise UnknownName("sensor of a place", place, near(place, known))
    with transaction(collection.journal.connection) as connection:
        connection.execute(
            "update sensor set revoked = ? where id = ?", (stamp(now.written), known[place].id)
        )
    return known[place]


def silent_since(collection: Collection, day: date) -> list[dict[str, Any]]:
    """Return the places whose sensor has been silent for a day, with the day it was last heard, if it ever was.

    Silent is one of which the whole day before brought no line, nor that day so far; one that never spoke counts from
    the day it got its address.

    Args:
        collection: The collection.
        day: The day.
    """
    zone, found = ZoneInfo(zone_of(collection.journal.connection)), []
    for sensor in sensors_of(collection):
        last = (sensor.heard or sensor.created).astimezone(zone).date()
        if day - last >= timedelta(days=SILENT_DAYS):
            row = {"place": sensor.place, "since": last.isoformat(), "was_heard": sensor.heard is not None}
            found.append(row)
    return found


def stamp(instant: datetime) -> str:
    """Return an instant as the file keeps it."""
    return instant.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _sensor(row: tuple[int, str, str, str | None, str | None, str]) -> Sensor:
    revoked, heard = (datetime.fromisoformat(text) if text else None for text in row[3:5])
    return Sensor(row[0], row[1], datetime.fromisoformat(row[2]), revoked, heard, row[5])


def _digest(token: str) -> str:
    return sha256(f"carecal sensor {token}".encode("utf-8", "surrogatepass")).hexdigest()
