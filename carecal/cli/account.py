"""Accounts of calendar programs on the command line: shown once when they are added, shut out when revoked."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from carecal.app.people import accounts
from carecal.cli.roads import account_lines, road_of
from carecal.errors import Refused

if TYPE_CHECKING:
    from carecal.cli.context import Session

__all__ = ["add_account", "revoke_account"]


def add_account(session: Session, name: str, base: str, shown: dict[str, Any]) -> None:
    """Add an account and print its address, name and password once."""
    collection, now = session.open(), session.sound_now()
    narrowed = [
        word for word in ("plant", "place", "care", "days", "grouping") if shown.get(word) is not None
    ]
    if narrowed or shown.get("form") == "todos":
        raise Refused("an account shows the whole house; only the hour and the alarm can be chosen")
    password = accounts.add_account(
        collection, now, name, at=shown.get("at"), alarm_minutes=shown.get("alarm_minutes")
    )
    told = {"address": f"{base}/dav/" if base else None, "user": name, "password": password}
    road = road_of(base, then="; the account stays as it is, with /dav/ after that address")
    session.emit(told, "\n".join(account_lines(told, road, quiet=session.quiet)))


def revoke_account(session: Session, name: str) -> bool:
    """Revoke an account, named itself or by one of its calendars, and say so; False where there is none."""
    collection, now = session.open(), session.now()
    found = accounts.account_with(collection, name)
    if found is None:
        return False
    name = found.name
    accounts.revoke_account(collection, now, name)
    if session.json:
        session.emit({"name": name, "revoked": True}, "")
    else:
        session.say(f"the account {name} is revoked; programs that log in with it are refused")
    return True
