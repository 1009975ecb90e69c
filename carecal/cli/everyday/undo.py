"""`carecal undo` and `amend`: corrections, written as entries of their own."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from carecal.app.actions import corrections as actions_undo
from carecal.cli.context import pass_session, writing

if TYPE_CHECKING:
    from carecal.cli.context import Session

__all__ = ["amend", "undo"]


@click.command()
@click.argument("entry", required=False, type=int)
@click.option("--with-later", is_flag=True, help="Take back later commands that need it, too.")
@writing
@pass_session
def undo(session: Session, entry: int | None, with_later: bool) -> None:
    """Take back the last command, or one entry's.

    Nothing is erased: the journal keeps what was taken back and when.
    """
    session.write(*actions_undo.undo(session.open(), session.sound_now(), entry, with_later=with_later))


@click.command()
@click.argument("entry", type=int)
@click.argument("changes", nargs=-1, required=True, metavar="FIELD=VALUE...")
@writing
@pass_session
def amend(session: Session, entry: int, changes: tuple[str, ...]) -> None:
    """Put an earlier entry right.

    FIELD is named as the option that wrote it; an empty VALUE takes it out.

    \b
    carecal amend 17 felt=right on=2026-11-20
    """  # noqa: D301 - click keeps the lines behind this sign as they are
    said = {}
    for change in changes:
        field, sign, value = change.partition("=")
        if not sign or not field:
            raise click.UsageError(f"'{change}' is not FIELD=VALUE")
        said[field.removeprefix("--")] = value
    session.write(*actions_undo.amend(session.open(), session.sound_now(), entry, said))
