"""Accounts for calendar programs: added with a password of their own, listed, revoked. It speaks no protocol.

An account sees two calendars, the care days and what is to do. Its password is random and kept only as a digest.
"""

from __future__ import annotations

import json
import re
import secrets
from dataclasses import dataclass
from hashlib import sha256
from hmac import compare_digest
from typing import TYPE_CHECKING

from carecal.app.publish import named_calendars
from carecal.app.store import secret, set_secret
from carecal.calendars.options import CalendarOptions
from carecal.catalog.names import near
from carecal.collection.database import storage_errors, transaction
from carecal.errors import Refused, UnknownName

if TYPE_CHECKING:
    from datetime import time

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.calendars.subscriptions import NamedCalendar

__all__ = [
    "Account",
    "account_for",
    "account_with",
    "accounts_of",
    "add_account",
    "check_no_account",
    "has_accounts",
    "revoke_account",
]

PASSWORD_BYTES = 15  # 120 bits, 20 characters; our choice, because it is typed into a phone once
_PREFIX = "account/"
_NAME = re.compile(r"[a-z][a-z0-9-]{0,39}")


@dataclass(frozen=True, slots=True)
class Account:
    """One account.

    Args:
        name: Who logs in; also who says what is ticked there.
        care: The calendar of care days.
        todo: The calendar of what is to do.
    """

    name: str
    care: NamedCalendar
    todo: NamedCalendar


def add_account(
    collection: Collection, now: Now, name: str, *, at: time | None = None, alarm_minutes: int | None = None
) -> str:
    """Add an account and return its password, which is shown this once.

    Args:
        collection: The collection.
        now: The moment of the command.
        name: Small letters, digits and hyphens.
        at: Local time of care; None writes whole days.
        alarm_minutes: Lead of the alarms of what is to do; None: at that hour itself. [min]

    Raises:
        Refused: The name does not do, or an account or calendar of that name lives.
    """
    if not _NAME.fullmatch(name):
        raise Refused(
            f"'{name}' cannot name an account; allowed are small letters, digits and hyphens, as kitchen-phone"
        )
    if any(account.name == name for account in accounts_of(collection)):
        raise Refused(f"an account '{name}' exists; allowed: another name, or revoke it first")
    if any(known.name.casefold() == name for known in named_calendars.calendars_of(collection)):
        raise Refused(f"a calendar '{name}' exists; allowed: another name, or revoke it first")
    password = secrets.token_urlsafe(PASSWORD_BYTES)
    alarm = alarm_minutes if alarm_minutes is not None else 0
    shown = {
        f"{name} care": CalendarOptions(grouping="rounds", at=at, name="Care"),
        f"{name} to do": CalendarOptions(
            grouping="each", form="todos", at=at, alarm_minutes=alarm, name="To do"
        ),
    }
    numbers = []
    for title, options in shown.items():
        named_calendars.add_calendar(collection, now, title, options)
        numbers.append(named_calendars.calendar_named(collection, title).id)
    kept = {"password": _digest(password), "care": numbers[0], "todo": numbers[1]}
    set_secret(collection.journal.connection, f"{_PREFIX}{name}", json.dumps(kept, sort_keys=True))
    return password


def accounts_of(collection: Collection) -> list[Account]:
    """Return the accounts that live, by name."""
    calendars = {known.id: known for known in named_calendars.calendars_of(collection)}
    found = []
    for name, kept in _kept(collection).items():
        care, todo = calendars.get(kept["care"]), calendars.get(kept["todo"])
        if care is not None and todo is not None:
            found.append(Account(name, care, todo))
    return found


def account_with(collection: Collection, name: str) -> Account | None:
    """Return the account of a name, or the one that holds the calendar of a name; None where neither is."""
    return next(
        (
            account
            for account in accounts_of(collection)
            if name.casefold() in {account.name, account.care.name.casefold(), account.todo.name.casefold()}
        ),
        None,
    )


def check_no_account(collection: Collection, name: str) -> None:
    """Refuse to give a calendar that is an account's an address.

    Raises:
        Refused: It is.
    """
    found = account_with(collection, name)
    if found is not None:
        raise Refused(
            f"{name} belongs to the account {found.name}, which has an address of its own; revoke that instead"
        )


def has_accounts(collection: Collection) -> bool:
    """Return whether there is any account."""
    return bool(_kept(collection))


def account_for(collection: Collection, name: str, password: str) -> Account | None:
    """Return the account of a name and its password; None where they do not fit, told in a time that tells nothing."""
    kept = secret(collection.journal.connection, f"{_PREFIX}{name}") if _NAME.fullmatch(name) else None
    wanted = json.loads(kept)["password"] if kept else _digest("")
    if not compare_digest(wanted, _digest(password)) or not kept:
        return None
    return next((account for account in accounts_of(collection) if account.name == name), None)


def revoke_account(collection: Collection, now: Now, name: str) -> None:
    """Take an account away with its calendars.

    Raises:
        UnknownName: There is none of that name.
    """
    known = {account.name: account for account in accounts_of(collection)}
    if name not in known:
        raise UnknownName("account", name, near(name, list(known)))
    with transaction(collection.journal.connection) as connection:
        connection.execute("delete from secret where key = ?", (f"{_PREFIX}{name}",))
    for calendar in (known[name].care, known[name].todo):
        named_calendars.revoke_calendar(collection, now, calendar.name)


def _kept(collection: Collection) -> dict[str, dict[str, int]]:
    connection = collection.journal.connection
    with storage_errors(connection):
        rows = connection.execute(
            "select key, value from secret where key glob ? order by key", (f"{_PREFIX}*",)
        )
        return {key.removeprefix(_PREFIX): json.loads(value) for key, value in rows.fetchall()}


def _digest(password: str) -> str:
    """Return what is kept of a password: one of 120 random bits needs no slow hash."""
    return sha256(f"carecal account {password}".encode()).hexdigest()
