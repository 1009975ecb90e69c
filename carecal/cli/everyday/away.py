"""`carecal away`: when nobody is there, and what will keep."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import click

from carecal.app.actions import spans as actions_spans
from carecal.app.documents.spans import absence_text, absences, before_leaving, will_not_keep
from carecal.app.people.away_read import read_absences
from carecal.cli.context import pass_session, writing
from carecal.cli.everyday.shared import on_option, reading_now
from carecal.collection.dates import parse_span
from carecal.errors import ConfirmationNeeded, Refused

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

    from carecal.cli.context import Session

__all__ = ["away"]


READ = "carecal.away.read"
MOST_LINES = 8  # with the entry's number and what moves they are ten


def _span_options(function: Callable[..., Any]) -> Callable[..., Any]:
    until = click.option("--until", metavar="DAY", help="Last day away, included.")
    return click.option("--from", "start", metavar="DAY", help="First day away (else today).")(
        until(function)
    )


def _capped(lines: list[str], most: int, what: str) -> list[str]:
    """Return at most so many lines, the last one saying how many more there are."""
    return lines if len(lines) <= most else [*lines[: most - 1], f"and {len(lines) - most + 1} more {what}"]


@click.group(invoke_without_command=True)
@_span_options
@writing
@click.pass_context
def away(context: click.Context, start: str | None, until: str | None) -> None:
    """Say when nobody is there.

    With --try alone it tells what will keep during absences known already, or in the days of --from and --until.
    """
    if context.invoked_subcommand is not None:
        if start is not None or until is not None:
            raise click.UsageError(f"write --from and --until after {context.invoked_subcommand}")
        return
    _tell_what_keeps(start, until)


@away.command()
@_span_options
@writing
@pass_session
def add(session: Session, start: str | None, until: str | None) -> None:
    """Add an absence; nothing is assumed or overdue while it lasts."""
    if until is None:
        raise click.UsageError("an absence needs its last day; give --until")
    collection, now = session.open(), session.sound_now()
    first, last = parse_span(start, until, today=now.day, may_be_past=True)
    entries = actions_spans.away_add(collection, now, first, last or first)
    lines = will_not_keep(collection, now, entries, last or first)
    if not session.json:
        lines = _capped(lines, MOST_LINES, "plants; away --try names all")
    lines = [*before_leaving(collection, now, entries, first), *lines]
    session.write(*entries, remarks=tuple(lines))


@away.command(name="list")
@pass_session
def list_(session: Session) -> None:
    """List the absences that run or lie ahead."""
    found = absences(session.open(readonly=True), reading_now(session).day)
    session.emit(found, "\n".join(map(absence_text, found)) or "no absence runs or lies ahead")


@away.command()
@click.argument("source", metavar="FILE|URL")
@click.option("--matching", metavar="TEXT", default="", help="Only events whose title holds this text.")
@click.option("--private", is_flag=True, help="The address lies in your own network, and is meant.")
@writing
@pass_session
@click.pass_context
def read(context: click.Context, session: Session, source: str, matching: str, private: bool) -> None:
    """Read absences from your own calendar, a file or an https address.

    Events of whole days, and those of 24 hours and more, from today on; narrow them down with --matching. They are
    shown first; reading again adds only what is new.
    """
    collection, now = session.open(), session.sound_now()
    found = context.meta.get(READ)
    if found is None:  # what was shown is what is written: after the question it is not read anew
        found = context.meta[READ] = read_absences(
            collection, now, source, matching=matching, private=private
        )
    if not found.new:
        told = ["nothing new", *found.remarks()]
        session.emit({"written": False, "entries": [], "remarks": told}, "\n".join(told))
        return
    spans = [str(span) for span in found.new]
    if not session.dry and not session.yes:
        if session.is_terminal:
            click.echo("\n".join([*spans, *found.remarks()]), err=True)
        days = f"{found.new[0].start} to {max(span.until for span in found.new)}"
        count = f"{len(spans)} absences" if len(spans) > 1 else "1 absence"
        raise ConfirmationNeeded(f"add {count} of {found.source}, {days}?")
    entries = found.entries(now)
    keeps = will_not_keep(collection, now, entries, max(span.until for span in found.new))
    if not session.json:
        spans, keeps = _capped(spans, 4, "absences"), _capped(keeps, 3, "plants; away --try names all")
    session.write(*entries, remarks=(*spans, *found.remarks(), *keeps))


@away.command()
@click.argument("entry", required=False, type=int)
@on_option("Day of return (else today).")
@writing
@pass_session
def end(session: Session, entry: int | None, on: date | None) -> None:
    """End the absence that runs, or take the next one back."""
    session.write(*actions_spans.away_end(session.open(), session.sound_now(), on=on, entry=entry))


@pass_session
def _tell_what_keeps(session: Session, start: str | None, until: str | None) -> None:
    if not session.dry:
        raise click.UsageError("say away add, list, end or read; away --try tells what will keep")
    collection, now = session.open(readonly=True), session.sound_now()
    if until is None:
        found = absences(collection, now.day)
        if not found:
            raise Refused("no absence runs or lies ahead; give --from and --until")
        lines = will_not_keep(collection, now, (), max(date.fromisoformat(a["until"]) for a in found))
    else:
        first, last = parse_span(start, until, today=now.day, may_be_past=True)
        entries = actions_spans.away_add(collection, now, first, last or first)
        lines = will_not_keep(collection, now, entries, last or first)
    session.emit({"will_not_keep": lines}, "\n".join(lines) or "everything keeps")
