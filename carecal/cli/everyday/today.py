"""`carecal today`: the round of the day."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from carecal.app.documents.today import today as round_of
from carecal.app.sensors.addresses import silent_since
from carecal.cli.context import pass_session
from carecal.cli.everyday.shared import reading_now
from carecal.wording.today import today_lines

if TYPE_CHECKING:
    from carecal.app.sensors.addresses import silent_since
from carecal.cli.context import Session

__all__ = ["today"]


@click.command()
@click.option(
    "--days", type=int, default=1, metavar="N", show_default=True, help="Days to show, today included."
)
@pass_session
def today(session: Session, days: int) -> None:
    """Show the round: the can, the list in order.

    One verb a plant: 'look' until its rhythm has been confirmed once, then water, feed, flush, refill, moisten or look
    over. What was not answered is carried over, one line a plant.
    """
    now = reading_now(session)
    collection = session.open(readonly=True)
    document = {**round_of(collection, now.day, days), "silent": silent_since(collection, now.day)}
    units = session.units_named or document["units"]  # kept with it: a round that is kept folds nothing
    session.emit(document, "\n".join(today_lines(document, units)))
