"""What stands in the collection's file beside the journal: secrets and caches that can be dropped."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from carecal.collection.database import storage_errors, transaction
from carecal.collection.entry_limits import is_zone
from carecal.errors import StorageError

if TYPE_CHECKING:
    import sqlite3

__all__ = ["cached", "drop_caches", "keep", "named_zone", "plants_of", "secret", "set_secret", "zone_of"]

# The newest amendment of the zone that was not itself taken back; the terms are those of the index entry_that_names.
_AMENDED_ZONE = """
    select json_extract(data, '$.changes.timezone') from entry as a
    where kind in ('added', 'renamed', 'undone', 'amended') and kind = 'amended'
        and json_extract(data, '$.entry') = ? and json_extract(data, '$.changes.timezone') is not null
        and not exists (
            select 1 from entry as u where u.kind in ('added', 'renamed', 'undone', 'amended') and u.kind = 'undone'
                and json_extract(u.data, '$.command') = a.command
        )
    order by n desc limit 1"""


def secret(connection: sqlite3.Connection, key: str) -> str | None:
    """Return a secret of the collection, or None."""
    with storage_errors(connection):
        row = connection.execute("select value from secret where key = ?", (key,)).fetchone()
    return None if row is None else str(row[0])


def set_secret(connection: sqlite3.Connection, key: str, value: str) -> None:
    """Keep a secret of the collection."""
    with transaction(connection):
        connection.execute(
            "insert into secret (key, value) values (?, ?) on conflict (key) do update set value = excluded.value",
            (key, value),
        )


def cached(connection: sqlite3.Connection, key: str, stamp: str) -> str | None:
    """Return what was kept under a key, if it was kept under the same stamp."""
    with storage_errors(connection):
        row = connection.execute(
            "select value from cache where key = ? and stamp = ?", (key, stamp)
        ).fetchone()
    if row is None:
        return None
    return row[0].decode() if isinstance(row[0], bytes) else str(row[0])


def keep(connection: sqlite3.Connection, key: str, stamp: str, value: str) -> None:
    """Keep a value under a key and stamp; where the file cannot be written it is simply not kept."""
    try:
        with transaction(connection):
            connection.execute(
                "insert into cache (key, stamp, value) values (?, ?, ?) "
                "on conflict (key) do update set stamp = excluded.stamp, value = excluded.value",
                (key, stamp, value.encode()),
            )
    except StorageError:
        return


def drop_caches(connection: sqlite3.Connection) -> None:
    """Throw all caches away; everything in them is worked out anew."""
    with transaction(connection):
        connection.execute("delete from cache")


def zone_of(connection: sqlite3.Connection) -> str:
    """Return the time zone that the collection's days are reckoned in; UTC where it names none that exists."""
    named = named_zone(connection)
    return named if is_zone(named) else "UTC"


def named_zone(connection: sqlite3.Connection) -> str:
    """Return the time zone that the collection names, whether it exists or not."""
    with storage_errors(connection):
        row = connection.execute(
            "select n, data from entry where kind = 'collection' order by n limit 1"
        ).fetchone()
        if row is None:
            return "UTC"
        changed = connection.execute(_AMENDED_ZONE, (row[0],)).fetchone()
    data = json.loads(row[1])
    zone = changed[0] if changed is not None else data.get("timezone") if isinstance(data, dict) else None
    return zone if isinstance(zone, str) else "UTC"


def plants_of(
    connection: sqlite3.Connection, *, command: int | None = None, entry: int | None = None
) -> set[int] | None:
    """Return the plants whose entries a command wrote, or whose entry it is; None: it concerns all."""
    where, value = ("command", command) if command is not None else ("n", entry)
    with storage_errors(connection):
        rows = connection.execute(f"select plant, kind from entry where {where} = ?", (value,)).fetchall()  # noqa: S608 - two fixed column names
    return None if not rows or any(plant is None for plant, _ in rows) else {int(plant) for plant, _ in rows}
