"""`carecal pause` and `resume`: cares that rest for a while, the last day included."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from carecal.app.actions import spans as actions_spans
from carecal.app.documents.spans import pause_text, pauses
from carecal.cli.context import pass_session, writing
from carecal.cli.everyday.shared import reading_now
from carecal.cli.types import AHEAD, PLACE, PLANT
from carecal.collection.dates import parse_span, parse_yearly_span

if TYPE_CHECKING:
    from datetime import date

    from carecal.cli.context import Session

__all__ = ["pause", "resume"]


@click.command()
@click.argument("care", metavar="CARE|all|list")
@click.argument("ids", nargs=-1, metavar="[ID...]", type=PLANT)
@click.option("--place", type=PLACE, metavar="P", help="Only at this place.")
@click.option("--from", "start", metavar="DAY", help="First day (else today).")
@click.option("--until", metavar="DAY", help="Last day, included (else until it is resumed).")
@click.option("--every-year", is_flag=True, help="The same days every year.")
@writing
@pass_session
def pause(
    session: Session,
    care: str,
    ids: tuple[str, ...],
    place: str | None,
    start: str | None,
    until: str | None,
    every_year: bool,
) -> None:
    """Pause a care.

    Feeding and flushing that pause leave plain wettings on the same days. Without plants it is the whole collection.

    \b
    carecal pause feeding --from "1 November" --until "28 February" --every-year
    carecal pause list
    """  # noqa: D301 - click keeps the lines behind this sign as they are
    if care == "list" and not ids:
        found = pauses(session.open(readonly=True), reading_now(session).day)
        session.emit(found, "\n".join(map(pause_text, found)) or "nothing is paused")
        return
    collection, now = session.open(), session.sound_now()
    if every_year:
        if until is None:
            raise click.UsageError("a yearly pause needs its last day; give --until")
        span = parse_yearly_span(start, until, today=now.day)
        first, last = span.start, span.until
        pairs = {"start_month_day": span.start_month_day, "until_month_day": span.until_month_day}
        entries = actions_spans.pause(
            collection, now, care, ids, place=place, start=first, until=last, every_year=True, **pairs
        )
    else:
        begin, end = parse_span(start, until, today=now.day)
        entries = actions_spans.pause(collection, now, care, ids, place=place, start=begin, until=end)
    session.write(*entries)


@click.command()
@click.argument("care", metavar="CARE|all")
@click.argument("ids", nargs=-1, metavar="[ID...]", type=PLANT)
@click.option("--place", type=PLACE, metavar="P", help="Only at this place.")
@click.option("--on", type=AHEAD, metavar="DAY", help="First day on which it goes on (else today).")
@click.option("--for-good", is_flag=True, help="End a yearly pause for good.")
@writing
@pass_session
def resume(
    session: Session, care: str, ids: tuple[str, ...], place: str | None, on: date | None, for_good: bool
) -> None:
    """End a pause.

    Of a yearly pause only this year's is ended, unless --for-good.
    """
    collection, now = session.open(), session.sound_now()
    session.write(*actions_spans.resume(collection, now, care, ids, place=place, on=on, for_good=for_good))
