"""`sitter`: an address for whoever looks after the plants, and the sheet to print."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from carecal.app.people import sitters
from carecal.app.people.sitter_sheet import sheet_lines, sitter_sheet
from carecal.catalog.names import near
from carecal.cli.context import pass_session
from carecal.cli.files import write_whole
from carecal.cli.lazy import SuggestingGroup
from carecal.cli.roads import LOCAL, base_of, road_of
from carecal.collection.dates import parse_span
from carecal.errors import UnknownName

if TYPE_CHECKING:
    from carecal.app.people.sitters import Sitter
    from carecal.cli.context import Session

__all__ = ["sitter"]


@click.group(cls=SuggestingGroup, short_help="Hand over to somebody for some days.")
def sitter() -> None:
    """Hand over to somebody for some days: an address of their own, and a sheet to print."""


@sitter.command("add")
@click.argument("name")
@click.option("--from", "start", metavar="DAY", help="First day (else today).")
@click.option(
    "--until", metavar="DAY", required=True, help="Last day, included; then the address ends by itself."
)
@pass_session
def add(session: Session, name: str, start: str | None, until: str) -> None:
    """Give a sitter an address.

    It shows those days alone and may be ticked on. It is a secret and is shown this once.
    """
    collection, now = session.open(), session.sound_now()
    first, last = parse_span(start, until, today=now.day)
    path = sitters.add_sitter(collection, now, name, first, last or first)
    base = base_of(session, collection)
    lines = [f"{base or LOCAL}{path}"]
    if not session.quiet:
        lines.append("keep this address: it is a secret and is not shown again")
        lines.append(road_of(base, then="; the sheet's address then begins with that"))
    told = {"name": name, "path": path, "address": base + path if base else None}
    session.emit(told, "\n".join(lines))


@sitter.command("list")
@pass_session
def list_(session: Session) -> None:
    """List the sitters whose address answers."""
    found = sitters.sitters_of(session.open(readonly=True), session.now())
    rows = [{"name": s.name, "from": s.start.isoformat(), "until": s.until.isoformat()} for s in found]
    text = "\n".join(f"{row['name']}: {row['from']} to {row['until']}, both included" for row in rows)
    session.emit(rows, text or "no sitter has an address")


@sitter.command("end")
@click.argument("name")
@pass_session
def end(session: Session, name: str) -> None:
    """End a sitter's address before its last day."""
    found = sitters.end_sitter(session.open(), session.now(), name)
    if session.json:
        session.emit({"name": found.name, "ended": True}, "")
    else:
        session.say(f"the address of {found.name} has ended")


@sitter.command("sheet", short_help="Print a sitter's sheet.")
@click.argument("name")
@click.option(
    "-o", "--output", type=click.Path(path_type=Path, dir_okay=False), help="File; else standard output."
)
@pass_session
def sheet(session: Session, name: str, output: Path | None) -> None:
    """Print a sitter's sheet: what not to do, the days, what to mix, where things stand."""
    collection, now = session.open(readonly=True), session.sound_now()
    made = sitter_sheet(collection, now, _named(sitters.sitters_of(collection, now), name))
    text = "\n".join(sheet_lines(made, session.units))
    if output is not None:
        write_whole(output, f"{text}\n".encode())
        session.say(f"{output}: the sheet of {made['name']}")
        return
    session.emit({key: value for key, value in made.items() if key != "answers"}, text)


def _named(found: list[Sitter], name: str) -> Sitter:
    for each in found:
        if each.name.casefold() == name.strip().casefold():
            return each
    raise UnknownName("sitter", name, near(name, [each.name for each in found]))
