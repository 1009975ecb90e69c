"""`carecal why` and `steps`: reasons, and what is safe when."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from carecal.app.documents import why as reasons
from carecal.cli.context import pass_session
from carecal.cli.everyday.shared import reading_now
from carecal.cli.types import PLANT
from carecal.wording.grounds import ground_lines
from carecal.wording.why import steps_lines, why_lines

if TYPE_CHECKING:
    from carecal.cli.context import Session

__all__ = ["steps", "why"]


@click.command()
@click.argument("plant", metavar="ID", type=PLANT)
@click.option("--all", "whole", is_flag=True, help="Also what each rule rests on, and where growers differ.")
@pass_session
def why(session: Session, plant: str, whole: bool) -> None:
    """Say why a plant is treated as it is.

    Its rhythm with reasons and numbers, the changes that the year brings, gates of feeding, what it has shown. With
    --all what each rule rests on: our own choice and why, practice, sources; and where growers differ, which side is
    taken and how to take the other.
    """
    now = reading_now(session)
    document = reasons.why(session.open(readonly=True), now.day, plant)
    lines = [*why_lines(document), *(ground_lines(document["grounds"]) if whole else ())]
    session.emit(document, "\n".join(lines))


@click.command()
@click.argument("ids", nargs=-1, metavar="[ID...]", type=PLANT)
@click.option("--open", "only_open", is_flag=True, help="Only what is safe now.")
@pass_session
def steps(session: Session, ids: tuple[str, ...], only_open: bool) -> None:
    """Say what is safe when."""
    now = reading_now(session)
    document = reasons.steps(session.open(readonly=True), now.day, ids, only_open=only_open)
    session.emit(document, "\n".join(steps_lines(document)))
