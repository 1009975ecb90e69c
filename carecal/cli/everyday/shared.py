"""What the everyday commands share: the moment to read by, and options that several have."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from carecal.app.command_context import believed, clock_doubt
from carecal.cli.types import DAY

if TYPE_CHECKING:
    from collections.abc import Callable

    from carecal.app.now import Now
    from carecal.cli.context import Session

__all__ = ["on_option", "reading_now"]


def reading_now(session: Session) -> Now:
    """Return the moment to read by; a clock that cannot be believed is told on one line and ages nothing."""
    collection, now = session.open(readonly=True), session.now()
    doubt = clock_doubt(collection, now)
    if doubt:
        click.echo(
            f"carecal: {doubt}; shown is the day of that entry; is the clock right? carecal settings clock confirmed",
            err=True,
        )
    return believed(collection, now)


def on_option(
    text: str = "Day on which it happened (else today).",
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Return the option `--on`."""
    return click.option("--on", type=DAY, metavar="DAY", help=text)
