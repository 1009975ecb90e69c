"""`carecal aid`, `reservoir`, `quarantine`, `gate`, `bloom` and `spike`: states of a plant set by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from carecal.app.actions import out_of_season
from carecal.app.actions import states as actions_states
from carecal.cli.context import pass_session, writing
from carecal.cli.everyday.shared import on_option
from carecal.cli.types import AHEAD, PLANT

if TYPE_CHECKING:
    from datetime import date

    from carecal.cli.context import Session

__all__ = ["aid", "bloom", "gate", "quarantine", "reservoir", "spike"]


@click.command()
@click.argument("plant", metavar="ID", type=PLANT)
@click.argument("name", metavar="AID")
@click.option("--off", is_flag=True, help="It is taken off.")
@on_option()
@writing
@pass_session
def aid(session: Session, plant: str, name: str, off: bool, on: date | None) -> None:
    """Give an aid, or take it off.

    AID is cloth, moss-collar, wrap, stake or shade.
    """
    collection, now = session.open(), session.sound_now()
    entries = actions_states.aid(collection, now, plant, name, off=off, on=on, sure=session.yes)
    if off and name == "wrap" and not (session.yes or session.dry):
        out_of_season.ask_unwrapping(collection, now, plant, on)
    session.write(*entries)


@click.command()
@click.argument("plant", metavar="ID", type=PLANT)
@click.argument("to", metavar="empty|filled", type=click.Choice(["empty", "filled"]))
@on_option()
@writing
@pass_session
def reservoir(session: Session, plant: str, to: str, on: date | None) -> None:
    """Say that a reservoir was emptied or filled.

    While it is empty on purpose it says so wherever the plant is shown.
    """
    collection, now = session.open(), session.sound_now()
    entries = actions_states.reservoir(collection, now, plant, to, on=on)
    if to == "filled" and not (session.yes or session.dry):
        out_of_season.ask_filling(collection, now, plant, on)
    session.write(*entries)


@click.command()
@click.argument("plant", metavar="ID", type=PLANT)
@click.option("--until", type=AHEAD, metavar="DAY", help="Day on which you are asked whether it may end.")
@click.option("--end", is_flag=True, help="It is over.")
@on_option()
@writing
@pass_session
def quarantine(session: Session, plant: str, until: date | None, end: bool, on: date | None) -> None:
    """Set a plant apart, or end it."""
    collection, now = session.open(), session.sound_now()
    session.write(*actions_states.quarantine(collection, now, plant, until=until, end=end, on=on))


@click.command()
@click.argument("plant", metavar="ID", type=PLANT)
@click.argument("name", metavar="GATE")
@click.argument("to", metavar="open|auto", type=click.Choice(["open", "auto"]))
@on_option()
@writing
@pass_session
def gate(session: Session, plant: str, name: str, to: str, on: date | None) -> None:
    """Hold a feeding gate open, or leave it to itself.

    `carecal why ID` shows the gates.
    """
    session.write(*actions_states.gate(session.open(), session.sound_now(), plant, name, to, on=on))


@click.command()
@click.argument("plant", metavar="ID", type=PLANT)
@click.argument("to", metavar="allow|not-yet", type=click.Choice(["allow", "not-yet"]))
@on_option()
@writing
@pass_session
def bloom(session: Session, plant: str, to: str, on: date | None) -> None:
    """Say whether a spike may go on to flower."""
    session.write(*actions_states.bloom(session.open(), session.sound_now(), plant, to, on=on))


@click.command()
@click.argument("plant", metavar="ID", type=PLANT)
@click.argument("to", metavar="keep|cut|let-run", type=click.Choice(["keep", "cut", "let-run"]))
@on_option()
@writing
@pass_session
def spike(session: Session, plant: str, to: str, on: date | None) -> None:
    """Say what is done with a spike."""
    session.write(
        *actions_states.spike(session.open(), session.sound_now(), plant, to, on=on, sure=session.yes)
    )
