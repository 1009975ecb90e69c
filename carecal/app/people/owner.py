"""The owner's way in: one-time addresses, the password, sessions. It speaks no HTTP, and no secret is kept as it is."""

from __future__ import annotations

import secrets
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from hmac import compare_digest
from typing import TYPE_CHECKING

from carecal.app.store import secret, set_secret
from carecal.collection.database import storage_errors, transaction
from carecal.errors import Refused

if TYPE_CHECKING:
    import sqlite3

    from argon2 import PasswordHasher

    from carecal.app.door import Collection
    from carecal.app.now import Now

__all__ = [
    "FRESH_MINUTES",
    "begin_session",
    "end_session",
    "has_password",
    "hasher",
    "is_one_time",
    "one_time_path",
    "password_fits",
    "session_lives",
    "set_password",
    "signing_key",
]

FRESH_MINUTES = 15  # interface §6
SESSION_DAYS = 180  # our choice, because a phone in the kitchen is signed in once a season, not once a week
TOKEN_BYTES = 32
LEAST_CHARACTERS, MOST_CHARACTERS = (
    10,
    200,
)  # of a password; our choice, because ten signs outlast guesses that are delayed
PASSWORD, KEY, PURPOSE = "password", "signing-key", "password"


def has_password(collection: Collection) -> bool:
    """Return whether the owner's password is set."""
    return secret(collection.journal.connection, PASSWORD) is not None


def signing_key(collection: Collection) -> str:
    """Return the key that signs cookies and form tokens of this collection, made when it is first asked for."""
    found = secret(collection.journal.connection, KEY)
    if found is None:
        set_secret(collection.journal.connection, KEY, secrets.token_hex(TOKEN_BYTES))
        found = secret(collection.journal.connection, KEY)
    return found or ""


def one_time_path(collection: Collection, now: Now) -> str:
    """Return a path that sets the owner's password once, within 15 minutes; an earlier one not used is void."""
    token = secrets.token_urlsafe(TOKEN_BYTES)
    expires = now.clock + timedelta(minutes=FRESH_MINUTES)
    with transaction(collection.journal.connection) as connection:
        connection.execute("delete from one_time where purpose = ? and used is null", (PURPOSE,))
        connection.execute(
            "insert into one_time (hash, purpose, expires) values (?, ?, ?)",
            (_digest(token), PURPOSE, _stamp(expires)),
        )
    return f"/set-password/{token}"


def is_one_time(collection: Collection, now: Now, token: str) -> bool:
    """Return whether a token sets the password now: it exists, was not used and is not too old."""
    with storage_errors(collection.journal.connection):
        return _is_valid(collection.journal.connection, now, token)


def set_password(collection: Collection, now: Now, token: str, password: str, crypt: PasswordHasher) -> None:
    """Set the owner's password by a one-time token, which is used up, and end every session.

    Raises:
        Refused: The token is not valid any more, or the password is too short or too long.
    """
    if not LEAST_CHARACTERS <= len(password) <= MOST_CHARACTERS:
        raise Refused(
            f"the password has {len(password)} characters; allowed are {LEAST_CHARACTERS} to {MOST_CHARACTERS}"
        )
    made = crypt.hash(password)
    with transaction(collection.journal.connection) as connection:
        if not _is_valid(connection, now, token):
            raise Refused(
                "this address has been used or is too old",
                command="serve --new-password",
                how="another one comes from carecal",
            )
        connection.execute("update one_time set used = ? where hash = ?", (_stamp(now.clock), _digest(token)))
        connection.execute("delete from session")
        connection.execute(
            "insert into secret (key, value) values (?, ?) on conflict (key) do update set value = excluded.value",
            (PASSWORD, made),
        )


def password_fits(collection: Collection, password: str, crypt: PasswordHasher) -> bool:
    """Return whether a password is the owner's; it takes as long whether one is set or not."""
    from argon2.exceptions import Argon2Error, InvalidHashError  # noqa: PLC0415 - only the page needs argon2, not `today`

    kept = secret(collection.journal.connection, PASSWORD)
    try:
        crypt.verify(kept or crypt.hash("nobody's password"), password[: MOST_CHARACTERS + 1])
    except (Argon2Error, InvalidHashError):
        return False
    return kept is not None


def hasher() -> PasswordHasher:
    """Return the hasher of passwords with its library's own costs."""
    from argon2 import PasswordHasher  # noqa: PLC0415 - only the page needs argon2, not `today`

    return PasswordHasher()


def begin_session(collection: Collection, now: Now) -> str:
    """Begin a session and return its random id; sessions that are too old are swept away."""
    session = secrets.token_urlsafe(TOKEN_BYTES)
    with transaction(collection.journal.connection) as connection:
        connection.execute("delete from session where created < ?", (_oldest(now),))
        connection.execute(
            "insert into session (id_hash, created, seen) values (?, ?, ?)",
            (_digest(session), _stamp(now.clock), _stamp(now.clock)),
        )
    return session


def session_lives(collection: Collection, now: Now, session: str) -> bool:
    """Return whether a session was begun, not ended, and is not too old."""
    with storage_errors(collection.journal.connection):
        row = collection.journal.connection.execute(
            "select created from session where id_hash = ?", (_digest(session),)
        ).fetchone()
    return row is not None and str(row[0]) >= _oldest(now)


def end_session(collection: Collection, session: str) -> None:
    """End a session."""
    with transaction(collection.journal.connection) as connection:
        connection.execute("delete from session where id_hash = ?", (_digest(session),))


def _is_valid(connection: sqlite3.Connection, now: Now, token: str) -> bool:
    """Return whether a one-time token holds; each known digest is compared in constant time, and all of them."""
    wanted, found = _digest(token), False
    rows = connection.execute("select hash, expires, used from one_time where purpose = ?", (PURPOSE,))
    for digest, expires, used in rows:
        if compare_digest(wanted, digest):
            found = used is None and _stamp(now.clock) <= expires
    return found


def _oldest(now: Now) -> str:
    return _stamp(now.clock - timedelta(days=SESSION_DAYS))


def _stamp(instant: datetime) -> str:
    return instant.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _digest(token: str) -> str:
    """Return the digest under which a random secret is kept; it needs no salt."""
    return sha256(token.encode("utf-8", "surrogatepass")).hexdigest()
