"""`bench`: the list for the potting bench."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from carecal.app.documents import bench as documents
from carecal.cli.context import pass_session

if TYPE_CHECKING:
    from carecal.cli.context import Session

__all__ = ["bench"]


@click.command(short_help="List what is to be potted.")
@pass_session
def bench(session: Session) -> None:
    """List what is to be potted, converted or parted, the safe ones first, with the media and pots to have ready."""
    collection, now = session.open(readonly=True), session.sound_now()
    document = documents.bench(collection, now.day)
    session.emit(document, "\n".join(documents.bench_lines(document)))
