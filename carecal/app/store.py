"""What stands in the collection's file beside the journal: secrets and caches that can be dropped."""

from __future__ import annotations

import json
from hashlib import blake2b
from typing import TYPE_CHECKING

from carecal.collection.database import storage_errors, transaction
from carecal.collection.entry_limits import is_zone
from carecal.errors import StorageError

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Callable, Mapping

__all__ = [
    "cached",
    "cached_under",
    "drop_caches",
    "keep",
    "keep_under",
    "named_zone",
    "secret",
    "set_secret",
    "zone_of",
]

_MARK_BYTES = 8
_KEEP = (
    "insert into cache (key, stamp, value) values (?, ?, ?) "
    "on conflict (key) do update set stamp = excluded.stamp, value = excluded.value"
)
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
    """Return what was kept under a key, if it was kept under the same stamp and is whole."""
    with storage_errors(connection):
        row = connection.execute(
            "select value from cache where key = ? and stamp = ?", (key, stamp)
        ).fetchone()
    return None if row is None else _whole(row[0])


def keep(connection: sqlite3.Connection, key: str, stamp: str, value: str) -> None:
    """Keep a value under a key and stamp; where the file cannot be written it is simply not kept."""
    try:
        with transaction(connection):
            connection.execute(_KEEP, (key, stamp, _marked(value)))
    except StorageError:
        return


def cached_under(connection: sqlite3.Connection, folder: str, stamp: str) -> list[tuple[str, str]]:
    """Return name and value of all that was kept in a folder of keys, as 'near/1', under the same stamp."""
    with storage_errors(connection):
        rows = connection.execute(
            "select substr(key, ?), value from cache where key > ? and key < ? and stamp = ?",
            (len(folder) + 2, f"{folder}/", f"{folder}0", stamp),  # 0 comes after the stroke
        ).fetchall()
    return [(name, whole) for name, value in rows if (whole := _whole(value)) is not None]


def keep_under(
    connection: sqlite3.Connection,
    folder: str,
    stamp: str,
    turn: tuple[str | None, str],
    values: Mapping[str, str],
    stays: Callable[[str], bool],
) -> bool:
    """Keep values in a folder of keys, unless another program kept some since its turn was read; say whether.

    Args:
        connection: The collection's file.
        folder: The folder, as 'near/1'; its turn is kept under its own name.
        stamp: What the values are kept under; those of another stamp go.
        turn: The turn as it was read, None for none, and the one to be written.
        values: What to keep, by name.
        stays: Whether a value that was kept before, named as in `values`, still holds.
    """
    read, written = turn
    begin, end = f"{folder}/", f"{folder}0"  # 0 comes after the stroke
    try:
        with transaction(connection):
            if cached(connection, folder, stamp) != read:
                return False
            kept = connection.execute(
                "select key, stamp from cache where key > ? and key < ?", (begin, end)
            ).fetchall()
            gone = [(key,) for key, of in kept if of != stamp or not stays(key[len(begin) :])]
            connection.executemany("delete from cache where key = ?", gone)
            rows = [(begin + name, stamp, _marked(value)) for name, value in values.items()]
            connection.executemany(_KEEP, [*rows, (folder, stamp, _marked(written))])
    except StorageError:
        return False
    return True


def _marked(value: str) -> bytes:
    """Return a value as it is kept: behind a digest, because a flipped bit would change a plan in silence."""
    content = value.encode()
    return blake2b(content, digest_size=_MARK_BYTES).digest() + content


def _whole(kept: object) -> str | None:
    """Return a kept value, or None where it is not what was kept; a mark of nothing is kept as nothing."""
    if not isinstance(kept, bytes):
        return None
    mark, content = kept[:_MARK_BYTES], kept[_MARK_BYTES:]
    return (
        content.decode() if not kept or blake2b(content, digest_size=_MARK_BYTES).digest() == mark else None
    )


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
