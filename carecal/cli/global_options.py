"""The options that every command takes, before its name or after it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from carecal.cli.context import kept

__all__ = ["GLOBALS", "take_globals"]


def _global(name: str, *spelling: str, **options: Any) -> Callable[[], click.Option]:
    return lambda: click.Option(
        [*spelling, name], callback=kept(name), expose_value=False, is_eager=True, **options
    )


# Made anew for each command: they may stand before the command's name or after it.
GLOBALS: tuple[Callable[[], click.Option], ...] = (
    _global("home", "--home", metavar="FOLDER", help="The collection's folder (else CARECAL_HOME)."),
    _global("as_of", "--as-of", metavar="DAY", help="Take this day for today."),
    _global("units_named", "--units", type=click.Choice(["metric", "imperial"]), help="Units to show."),
    _global(
        "public_url",
        "--public-url",
        metavar="URL",
        help="Address under which others reach carecal serve; else the setting public-address.",
    ),
    _global("json", "--json", is_flag=True, help="Print one JSON document."),
    _global("quiet", "--quiet", is_flag=True, help="Print only what was asked for."),
)


def take_globals(command: click.Command) -> None:
    """Let a command and all below it take the options for all commands after its name too; twice is once."""
    taken = {spelling for param in command.params for spelling in param.opts}
    for make in GLOBALS:
        option = make()
        if not taken & set(option.opts):
            option.hidden = True
            command.params.append(option)
    if isinstance(command, click.Group):
        for below in command.commands.values():
            take_globals(below)
