"""A group of commands that are loaded from a table when they are called, and the one place that makes exit codes."""

from __future__ import annotations

import os
import sys
from importlib import import_module
from typing import TYPE_CHECKING, Any, Literal, NoReturn, overload

import click

from carecal.cli.context import Session
from carecal.cli.global_options import take_globals
from carecal.errors import DataFault, Refused, StorageError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from carecal.cli.table import Row

__all__ = ["CarecalGroup", "SuggestingGroup"]

CARES = frozenset(
    {
        "water",
        "watering",
        "feed",
        "feeding",
        "flush",
        "flushing",
        "refill",
        "refilling",
        "moisten",
        "moistening",
        "look",
        "inspection",
        "damp",
    }
)
"""Cares that somebody types as if they were commands."""
DONE, FAULTS, USAGE, REFUSED, STORAGE, STOPPED = 0, 1, 2, 3, 4, 130


class SuggestingGroup(click.Group):
    """A group that names the near commands when one is misspelt."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Return the command that the arguments name.

        Raises:
            UsageError: There is none of that name; names those that resemble it.
        """
        name = args[0] if args else ""
        if name and not name.startswith("-") and self.get_command(ctx, name) is None:
            import difflib  # noqa: PLC0415 - needed for a mistyped command alone

            care = args[0].casefold()
            if ctx.parent is None and care in CARES:
                meant = f"done {' '.join(args)}" if care != "damp" else f"leave water {' '.join(args[1:])}"
                ctx.fail(f"'{args[0]}' is a care; say: carecal {meant}")
            root = ctx.find_root().command
            if ctx.parent is not None and isinstance(root, click.Group) and name in root.list_commands(ctx):
                ctx.fail(f"'{name}' stands for itself; say: carecal {' '.join(args)}")
            near = difflib.get_close_matches(name, self.list_commands(ctx), n=3, cutoff=0.5)
            hint = f"; did you mean {' or '.join(near)}?" if near else f"; see {ctx.command_path} --help"
            ctx.fail(f"no command '{name}'{hint}")
        return super().resolve_command(ctx, args)


class CarecalGroup(SuggestingGroup):
    """The whole command line: commands by name from a table, errors as one line and an exit code."""

    def __init__(self, *args: Any, table: Mapping[str, Row], **options: Any) -> None:
        super().__init__(*args, **options)
        self.table = table

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names in the order of the table."""
        del ctx
        return list(self.table)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return a command, loaded when it is first asked for; None: there is none of that name."""
        del ctx
        row = self.table.get(cmd_name)
        if row is None:
            return None
        command: click.Command = getattr(import_module(row.module), row.attribute)
        take_globals(command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the commands under their headings, without loading one."""
        del ctx
        for heading in dict.fromkeys(row.heading for row in self.table.values()):
            rows = [(name, row.help) for name, row in self.table.items() if row.heading == heading]
            with formatter.section(heading):
                formatter.write_dl(rows)

    @overload
    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: Literal[True] = True,
        **extra: Any,
    ) -> NoReturn: ...
    @overload
    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = ...,
        **extra: Any,
    ) -> Any: ...
    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,
        **extra: Any,
    ) -> int:
        """Run a command line and return its exit code, or leave the program with it.

        Args:
            args: The arguments; None: the program's own.
            prog_name: Name of the program; None: carecal.
            complete_var: Variable in which a shell asks for completions; None: click's own.
            standalone_mode: Whether to leave the program with the code instead of returning it.
            extra: As click has it.
        """
        code = self._code(args, prog_name or "carecal", complete_var, extra)
        if standalone_mode:
            sys.exit(code)
        return code

    def _code(
        self, args: Sequence[str] | None, name: str, complete: str | None, extra: dict[str, Any]
    ) -> int:
        session = extra.setdefault("obj", Session())
        session.typed = tuple(sys.argv[1:] if args is None else args)
        try:
            found = super().main(args, name, complete, standalone_mode=False, **extra)
        except click.exceptions.NoArgsIsHelpError as error:
            click.echo(error.format_message(), err=True)
            return USAGE
        except click.ClickException as error:
            return _told(_without_stop(error.format_message()), error.exit_code)
        except (click.Abort, KeyboardInterrupt):
            return _told("stopped; nothing more was written", STOPPED)
        except DataFault as error:
            return _told_by_line(error) if error.is_list else _told(error.typed, REFUSED)
        except Refused as error:
            return _told(error.typed, REFUSED)
        except StorageError as error:
            return _told(error.typed, STORAGE)
        except BrokenPipeError:
            os.dup2(
                os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno()
            )  # whoever read has gone: not a fault
            return DONE
        except Exception:
            told = import_module("carecal.app.files.soundness").entry_at_fault(
                session.folder
            )  # all of pydantic
            if not told:
                raise  # a mistake of ours: whoever reports it needs to see where
            return _told(told, STORAGE)
        return found if isinstance(found, int) else DONE


def _told(message: str, code: int) -> int:
    """Print a message as one line, whatever signs the values in it hold, and return the code."""
    click.echo(f"carecal: {_plain(message)}", err=True)
    return code


def _plain(text: str) -> str:
    return "".join(sign if sign.isprintable() else ascii(sign)[1:-1] for sign in text)


def _told_by_line(fault: DataFault) -> int:
    """Print what is wrong with a long table, a line a fault, and return the code."""
    first, *others = map(str, fault.faults)
    told = _told(first, REFUSED)
    for line in others:
        click.echo(f"  {_plain(line)}", err=True)
    return told


def _without_stop(message: str) -> str:
    """Return click's sentence as a line of ours: no full stop at its end, a small letter at its start."""
    line = " ".join(message.split())
    line = line[:1].lower() + line[1:] if line[1:2].islower() else line
    return line.removesuffix(".")
