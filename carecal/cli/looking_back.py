"""`log` and `changes`: what was written, and what it changed."""

from __future__ import annotations

from datetime import date, timedelta

import click

from carecal.app.documents.looking_back import assumed_in, changes_of, line_of, log_of
from carecal.cli.context import Session, pass_session
from carecal.cli.types import DAY, PLANT
from carecal.errors import Refused

__all__ = ["changes", "log"]

DAYS_BACK = 7


@click.command(short_help="Show the journal.")
@click.argument("plant", metavar="[ID]", required=False, type=PLANT)
@click.option("--since", type=DAY, help="Only what happened on this day or later.")
@pass_session
def log(session: Session, plant: str | None, since: date | None) -> None:
    """Show the journal, of one plant or of all."""
    found = log_of(session.open(readonly=True), session.now(), plant=plant, since=since)
    lines = [line_of(entry) for entry in found]
    if plant is not None and since is None and not session.json:
        lines += [f"       {line}" for line in assumed_in(session.open(readonly=True), session.now(), plant)]
    session.emit(found, "\n".join(lines) or "nothing was written")


@click.command(short_help="Show what changed, and when.")
@click.option("--since", type=DAY, help="Day to compare with; else a week ago.")
@pass_session
def changes(session: Session, since: date | None) -> None:
    """Show what was written since a day, and how the plan differs from the one of that day."""
    now = session.sound_now()
    day = since or now.day - timedelta(days=DAYS_BACK)
    if day > now.day:
        raise Refused(f"--since {day} lies ahead; allowed is {now.day} or earlier")
    found = changes_of(session.open(readonly=True), now, day)
    lines = [f"since {day}: {len(found['entries'])} entries"]
    lines += [line_of(entry) for entry in found["entries"]]
    lines += found["changes"] or ["the plan has not changed"]
    session.emit(found, "\n".join(lines))
