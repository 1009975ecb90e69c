"""The command `carecal`: its options for all commands; what a command does is found through the table."""

from __future__ import annotations

import os

import click

from carecal import __version__
from carecal.cli.context import Session
from carecal.cli.global_options import GLOBALS
from carecal.cli.lazy import CarecalGroup
from carecal.cli.table import COMMANDS

__all__ = ["cli", "run"]


@click.group(
    cls=CarecalGroup,
    table=COMMANDS,
    params=[option() for option in GLOBALS],
    context_settings={"help_option_names": ["-h", "--help"]},
)
@click.version_option(__version__, "--version", prog_name="carecal", message="%(prog)s %(version)s")
@click.pass_context
def cli(ctx: click.Context, /, **_: object) -> None:
    """Keep the journal of an orchid collection, and publish its care as calendars.

    Every day: `carecal today`, then `carecal done --round`. `carecal COMMAND --help` tells more.
    """
    ctx.ensure_object(Session)


def run(argv: list[str] | None = None) -> int:
    """Run the command line and return its exit code.

    0 done; 1 verify found faults; 2 wrong usage; 3 refused, nothing written; 4 storage; 130 stopped by hand.

    Args:
        argv: The arguments; None: the program's own.
    """
    os.environ.setdefault(
        "PYDANTIC_DISABLE_PLUGINS", "1"
    )  # looking for them reads all packages that are installed
    return int(cli.main(argv, standalone_mode=False))
