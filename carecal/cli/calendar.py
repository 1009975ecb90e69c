"""`calendar`: the calendar as a file, or as an address to subscribe to."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import click

from carecal.app.people.accounts import account_with, check_no_account
from carecal.app.publish import calendars, named_calendars, publications
from carecal.app.store import zone_of
from carecal.cli.account import add_account, revoke_account
from carecal.cli.context import Session, confirming, pass_session
from carecal.cli.files import write_whole
from carecal.cli.lazy import SuggestingGroup
from carecal.cli.publish import publish
from carecal.cli.roads import (
    LOCAL,
    NO_BASE,
    base_of,
    code_of,
    how_often,
    road_of,
    what_may_not_show,
)
from carecal.cli.show import columns
from carecal.cli.types import PLACE, PLANT, TIME
from carecal.errors import ConfirmationNeeded, Refused

if TYPE_CHECKING:
    from collections.abc import Callable

    from carecal.app.door import Collection
    from carecal.calendars.options import CalendarOptions
    from carecal.calendars.subscriptions import NamedCalendar

__all__ = ["calendar"]


@click.group(cls=SuggestingGroup, short_help="Write the calendar, or give it an address.")
def calendar() -> None:
    """Write the calendar, or give it an address to subscribe to."""


def _described(function: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options that say what a calendar shows and how."""
    grouping = click.option(
        "--grouping",
        type=click.Choice(["rounds", "each"]),
        help="One event a care day, or one for each plant and care (else: each for one plant).",
    )
    form = click.option(
        "--as",
        "form",
        type=click.Choice(["events", "todos"]),
        default="events",
        help="Events, or to-dos: the next of each, and what was done.",
    )
    days_help = "Days ahead, to the end of that month; else a year."
    options: tuple[Callable[..., Any], ...] = (
        click.option("--alarm", "alarm_minutes", type=int, help="Alarm this long before. [min]"),
        click.option("--at", type=TIME, help="Time of day of the care, as 18:30; else whole days."),
        click.option("--days", type=int, help=days_help),
        form,
        click.option("--care", help="Only this care."),
        click.option("--place", type=PLACE, help="Only this place."),
        click.option("--plant", type=PLANT, help="Only this plant."),
        grouping,
    )
    for option in options:
        function = option(function)
    return function


@calendar.command("write")
@click.option(
    "-o", "--output", type=click.Path(path_type=Path, dir_okay=False), help="File; else standard output."
)
@_described
@pass_session
def write(session: Session, output: Path | None, **shown: Any) -> None:
    """Write the calendar as a file.

    The same calendar written again keeps the names of its events, so that a program that reads it again changes them
    instead of doubling them.
    """
    collection, now = session.open(forgets=output is None), session.sound_now()
    options = calendars.options_of(collection, now, **shown)
    total = 1 if options.plant is not None else len(collection.journal.ids())
    found = calendars.render_calendar(collection, options, now, progress=session.progress("planning", total))
    if output is None:
        click.echo(found.body, nl=False)
        return
    write_whole(output, found.body)
    told = {"file": str(output), "events": found.parts, "changed": found.changed, "bytes": len(found.body)}
    if session.json:
        session.emit(told, "")
    else:
        things = "to-dos" if options.form == "todos" else "events"
        session.say(f"{output}: {found.parts} {things}, {found.changed} of them new, changed or gone")


@calendar.command("add")
@click.argument("name")
@_described
@click.option("--qr", "with_code", is_flag=True, help="Show the address as a code to scan, too.")
@click.option("--account", "is_account", is_flag=True, help="An account instead, where tasks can be ticked.")
@pass_session
def add(session: Session, name: str, with_code: bool, is_account: bool, **shown: Any) -> None:
    """Give a calendar an address to subscribe to.

    The address is a secret and is shown this once: whoever holds it may read the calendar. One for each reader, so
    that each can be revoked by itself.
    """
    collection, now = session.open(), session.sound_now()
    base = base_of(session, collection)
    if is_account:
        add_account(session, name, base, shown)
        return
    check_no_account(collection, name)
    if with_code and not base:
        raise Refused(NO_BASE)
    options = calendars.options_of(collection, now, **shown, name=name)
    path = named_calendars.add_calendar(collection, now, name, options)
    _tell(session, name, path, base, options, with_code=with_code)


def _tell(
    session: Session, name: str, path: str, base: str, options: CalendarOptions, *, with_code: bool
) -> None:
    """Print the address once, and how to subscribe to it."""
    road = road_of(base, then=f", then carecal calendar qr {shlex.quote(name)}")
    told = {
        "name": name,
        "path": path,
        "address": base + path if base else None,
        "road": road,
        "may_not_show": what_may_not_show(options),
    }
    lines = [f"{base or LOCAL}{path}"]
    if not session.quiet:
        lines += _how(base, path, road)
        lines += what_may_not_show(options)
    if with_code:
        lines.append(code_of(base + path))
    session.emit(told, "\n".join(lines))


def _how(base: str, path: str, road: str) -> list[str]:
    """Return how to subscribe to an address, and how far it reaches."""
    keep = "keep this address: it is a secret and is not shown again"
    if not base:
        return [keep, road]
    return [
        keep,
        "subscribe on a phone or computer: add a calendar by this address, or open",
        f"  webcal://{base.split('://', 1)[1]}{path}",
        road,
        how_often(),
    ]


@calendar.command("list", short_help="List the calendars that have an address.")
@pass_session
def list_(session: Session) -> None:
    """List the calendars that have an address, who fetched them last, and what went wrong."""
    collection = session.open(readonly=True)
    rows = [_row(known, collection) for known in named_calendars.calendars_of(collection)]
    text = columns(
        [
            (
                r["name"],
                r["shows"] + (f", account {r['account']}" if r["account"] else ""),
                r["created"],
                r["fetched"] or "never",
                r["fetched_by"],
                r["note"],
                ", ".join(r["published"]),
            )
            for r in rows
        ],
        ("name", "shows", "since", "fetched", "by", "note", "published at"),
    )
    session.emit(
        rows, text if rows else "no calendar has an address yet; give one with carecal calendar add NAME"
    )


def _row(known: NamedCalendar, collection: Collection) -> dict[str, Any]:
    zone = ZoneInfo(zone_of(collection.journal.connection))
    account = account_with(collection, known.name)
    fetched = f"{known.fetched.astimezone(zone):%Y-%m-%d %H:%M}" if known.fetched else None
    return {
        "name": known.name,
        "shows": _shows(known.options, collection),
        "account": account.name if account is not None else None,
        "created": f"{known.created.astimezone(zone):%Y-%m-%d}",
        "fetched": fetched,
        "fetched_by": known.fetched_by or None,
        "note": named_calendars.note_of(collection, known) or None,
        "published": publications.places_of(collection, known.id),
    }


def _shows(options: CalendarOptions, collection: Collection) -> str:
    parts: list[str] = [options.grouping, options.form]
    if options.plant is not None:
        parts.append(f"plant {collection.journal.id_of(options.plant)}")
    parts += [
        f"{what} {value}" for what, value in (("place", options.place), ("care", options.care)) if value
    ]
    if options.at is not None:
        parts.append(f"at {options.at:%H:%M}")
    return ", ".join(parts)


@calendar.command("revoke", short_help="Take a calendar's address away.")
@click.argument("name")
@pass_session
def revoke(session: Session, name: str) -> None:
    """Take a calendar's address away; whoever asks for it is told that it is gone."""
    collection, now = session.open(), session.now()
    if revoke_account(session, name):
        return
    found = named_calendars.revoke_calendar(collection, now, name)
    if session.json:
        session.emit({"name": found.name, "revoked": True}, "")
    else:
        session.say(f"{found.name} is revoked; programs that subscribed to it are told that it is gone")


@calendar.command("qr")
@click.argument("name")
@click.option("--address", help="The address that carecal calendar add showed.")
@confirming
@pass_session
def code(session: Session, name: str, address: str | None) -> None:
    """Show a calendar's address as a code to scan.

    Addresses are not kept. Name it by --address; without it the calendar gets a new one and the old one is revoked.
    """
    collection, now = session.open(), session.now()
    known = named_calendars.calendar_named(collection, name)
    check_no_account(collection, known.name)
    if address is not None:
        found = named_calendars.find_calendar(collection, named_calendars.token_of(address))
        if found is None or found.id != known.id:
            raise Refused(
                f"'{address}' is not the address of {known.name}; allowed is the one that add showed"
            )
        session.emit({"name": known.name, "address": address}, code_of(address))
        return
    base = base_of(session, collection)
    if not base:
        raise Refused(NO_BASE)
    if not session.yes:
        raise ConfirmationNeeded(f"give {known.name} a new address, and take the old one away?")
    named_calendars.revoke_calendar(collection, now, known.name)
    path = named_calendars.add_calendar(collection, now, known.name, known.options)
    _tell(session, known.name, path, base, known.options, with_code=True)


calendar.add_command(publish)
