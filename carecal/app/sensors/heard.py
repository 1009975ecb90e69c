"""What sensors say: lines are kept until their day is over, then its readings are one entry of the journal."""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from carecal.app.sensors.addresses import sensors_of, stamp
from carecal.app.setup.places import stands_already
from carecal.app.store import zone_of
from carecal.collection.database import transaction
from carecal.collection.entries import Readings
from carecal.collection.sensor_lines import KEPT_DAYS, SensorLine, days_of, read_lines
from carecal.errors import CarecalError, DataFault

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Sequence

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.app.sensors.addresses import Sensor

__all__ = ["SENSOR", "gather", "gather_all", "hear"]

SENSOR = "sensor"  # who signs its days
AGAIN = timedelta(hours=1)  # our choice, because late lines of a day that is written down come in bundles
LONGEST_NOTE = 300  # signs
_KEEP = """
    insert into sensor_line (sensor, at, day, temp_c, rh_pct, medium_c, ppfd) values (?, ?, ?, ?, ?, ?, ?)
    on conflict (sensor, at) do update set
        temp_c = coalesce(excluded.temp_c, temp_c), rh_pct = coalesce(excluded.rh_pct, rh_pct),
        medium_c = coalesce(excluded.medium_c, medium_c), ppfd = coalesce(excluded.ppfd, ppfd), entered = 0
    where coalesce(excluded.temp_c, temp_c) is not temp_c or coalesce(excluded.rh_pct, rh_pct) is not rh_pct
        or coalesce(excluded.medium_c, medium_c) is not medium_c or coalesce(excluded.ppfd, ppfd) is not ppfd"""
_OVER = "select distinct day from sensor_line where sensor = ? and entered = 0 and day < ?"
_OF_DAYS = """
    select at, day, temp_c, rh_pct, medium_c, ppfd from sensor_line
    where sensor = ? and day in (select value from json_each(?)) order by at"""
_ENTERED = """
    update sensor_line set entered = 1
    where sensor = ? and at = ? and day = ? and temp_c is ? and rh_pct is ? and medium_c is ? and ppfd is ?"""


def hear(collection: Collection, now: Now, sensor: Sensor, text: str) -> tuple[int, int]:
    """Keep the lines that a sensor sent; return how many there were, and how many were new.

    Args:
        collection: The collection.
        now: The moment.
        sensor: Who sends.
        text: What was sent: JSON, CSV or a form.

    Raises:
        DataFault: With all faults; no line was kept, and the place's page says why.
        StorageError: The file cannot be written.
    """
    connection = collection.journal.connection
    try:
        lines = read_lines(text, clock=now.written, zone=ZoneInfo(zone_of(connection)))
    except DataFault as fault:
        with transaction(connection):
            connection.execute(
                "update sensor set note = ? where id = ?", (str(fault)[:LONGEST_NOTE], sensor.id)
            )
        raise
    with transaction(connection):
        before = connection.total_changes
        connection.executemany(_KEEP, [_row(sensor, line) for line in lines])
        new = connection.total_changes - before
        connection.execute(
            "update sensor set heard = ?, note = '' where id = ?", (stamp(now.written), sensor.id)
        )
    return len(lines), new


def _row(sensor: Sensor, line: SensorLine) -> tuple[int | str | float | None, ...]:
    return (
        sensor.id,
        stamp(line.at),
        line.day.isoformat(),
        line.temp_c,
        line.rh_pct,
        line.medium_c,
        line.ppfd,
    )


def gather(collection: Collection, now: Now, sensor: Sensor) -> tuple[date, ...]:
    """Write down the days of a sensor that are over, as one entry; return them.

    Lines that come late to a day already written down join those of the day, which is then written down anew; all that
    come within an hour together. A week later they are forgotten.

    Raises:
        CarecalError: The entry cannot be written; the lines are kept.
    """
    lines = _claim(collection.journal.connection, now, sensor)
    place = collection.timeline(now.day, plants=set()).facts.places.get(sensor.place) if lines else None
    if place is None:
        return ()
    found = days_of(lines, ZoneInfo(zone_of(collection.journal.connection)))
    entry = Readings(on=now.day, place=sensor.place, days=found)
    if not stands_already(collection, now, entry):
        collection.record(entry, now=now, by=SENSOR)
    oldest = (now.day - timedelta(days=KEPT_DAYS)).isoformat()
    with transaction(collection.journal.connection) as connection:
        connection.executemany(_ENTERED, [_row(sensor, line) for line in lines])
        connection.execute(
            "delete from sensor_line where sensor = ? and entered = 1 and day < ?", (sensor.id, oldest)
        )
    return tuple(row.day for row in found)


def _claim(connection: sqlite3.Connection, now: Now, sensor: Sensor) -> list[SensorLine]:
    """Return the lines of the days that are over and not written down yet, to one who asks within the hour alone."""
    with transaction(connection):
        row = connection.execute("select gathered from sensor where id = ?", (sensor.id,)).fetchone()
        if row[0] is not None and now.written - datetime.fromisoformat(row[0]) < AGAIN:
            return []
        days = [day for (day,) in connection.execute(_OVER, (sensor.id, now.day.isoformat()))]
        if not days:
            return []
        connection.execute("update sensor set gathered = ? where id = ?", (stamp(now.written), sensor.id))
        rows = connection.execute(_OF_DAYS, (sensor.id, json.dumps(days))).fetchall()
    return [
        SensorLine(datetime.fromisoformat(at), date.fromisoformat(day), *values) for at, day, *values in rows
    ]


def gather_all(collection: Collection, now: Now) -> list[tuple[str, Sequence[date], str]]:
    """Write down the days of every sensor that are over; return place, days and fault of each that had some."""
    told: list[tuple[str, Sequence[date], str]] = []
    for sensor in sensors_of(collection, also_revoked=True):
        try:
            days = gather(collection, now, sensor)
        except CarecalError as error:
            told.append((sensor.place, (), str(error)))
        else:
            if days:
                told.append((sensor.place, days, ""))
    return told
