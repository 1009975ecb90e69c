"""`carecal treat` and `tried`: what was done against a pest or rot, what is tried on a plant that loses ground."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from carecal.app.actions.sick import treat as treated
from carecal.app.actions.sick import tried as tried_on
from carecal.cli.context import pass_session, writing
from carecal.cli.everyday.shared import on_option
from carecal.cli.types import PLANT

if TYPE_CHECKING:
    from datetime import date

    from carecal.cli.context import Session

__all__ = ["treat", "tried"]

DID = ("cut", "wiped", "washed", "soaked", "moved-apart", "by-label")


@click.command(short_help="Say what was done against a pest or rot.")
@click.argument("plants", metavar="ID...", type=PLANT, nargs=-1, required=True)
@click.option("--did", type=click.Choice(DID), required=True, help="What was done.")
@click.option("--against", metavar="PEST|rot", help="What it was done against.")
@click.option("--note", metavar="TEXT", help="Anything else.")
@on_option()
@writing
@pass_session
def treat(
    session: Session,
    plants: tuple[str, ...],
    did: str,
    against: str | None,
    note: str | None,
    on: date | None,
) -> None:
    """Write down what was done against a pest or rot: no product, no dose."""
    session.write(
        *treated(session.open(), session.sound_now(), plants, did, against=against, note=note, on=on)
    )


@click.command(short_help="Say what is tried on a plant that loses ground.")
@click.argument("plant", metavar="ID", type=PLANT)
@click.argument("what", metavar="WHAT", required=False)
@click.option("--go-on", is_flag=True, help="It goes on as it is.")
@click.option("--note", metavar="TEXT", help="Anything else.")
@on_option()
@writing
@pass_session
def tried(
    session: Session, plant: str, what: str | None, go_on: bool, note: str | None, on: date | None
) -> None:
    """Write down what is tried on a plant that loses ground, one thing at a time.

    WHAT is look-at-the-base, warmer, other-wrap, more-light, spike-off or fresh-moss.
    """
    if (what is None) != go_on:
        raise click.UsageError("say what is tried, or --go-on")
    session.write(
        *tried_on(session.open(), session.sound_now(), plant, what, note=note, on=on, sure=session.yes)
    )
