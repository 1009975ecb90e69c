"""What every command gets: the collection it works on, the moment, and how to say things; it knows no command."""

from __future__ import annotations

import functools
import json
import os
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from carecal.app.command_context import check_clock
from carecal.app.lazy import LazyModule
from carecal.app.now import Now, real_now
from carecal.app.store import zone_of
from carecal.cli.opening import opened
from carecal.collection.database import FILE_NAME
from carecal.errors import ConfirmationNeeded

if TYPE_CHECKING:
    from carecal.app.door import Collection, Outcome
    from carecal.collection import dates
    from carecal.collection.entries import Entry
else:
    dates = LazyModule("carecal.collection.dates")

__all__ = ["Session", "confirming", "home_folder", "kept", "pass_session", "writing"]

R = TypeVar("R")
WIDEST = 60  # characters of a line of progress
PROGRESS_AFTER, PROGRESS_EVERY = 1.0, 0.2  # our choice, because a second is what nobody minds [s]
AnyFunction = TypeVar("AnyFunction", bound=Callable[..., Any])


def home_folder(named: str | None) -> Path:
    """Return the collection's folder: the one named, else CARECAL_HOME, else the platform's data folder."""
    given = named or os.environ.get("CARECAL_HOME")
    if given:
        return Path(given).expanduser()
    from platformdirs import user_data_dir  # noqa: PLC0415 - takes 15 ms and is needed where neither was given

    return Path(user_data_dir("carecal", appauthor=False))


class Session:
    """One run of the command line."""

    def __init__(self) -> None:
        self.home: str | None = None
        self.units_named: str | None = None
        self.public_url: str | None = None
        self.json = False
        self.quiet = False
        self.as_of: str | None = None
        self.dry = False
        self.every = False
        self.typed: tuple[str, ...] = ()  # the command line as it was typed
        self.yes = False
        self.by = "owner"
        self._collection: Collection | None = None
        self._told = 0.0  # when a line of progress was last shown; 0: none stands there

    @property
    def folder(self) -> Path:
        """The collection's folder."""
        return home_folder(self.home)

    @property
    def units(self) -> str:
        """The units to show, metric or imperial: those of `--units`, else of the collection's setting."""
        if self.units_named is not None:
            return self.units_named
        if self._collection is None and not (self.folder / FILE_NAME).is_file():
            return "metric"
        collection = self.open(readonly=True)
        return collection.timeline(self.now().day, plants=set()).facts.setting("units", "metric")

    @property
    def shows_progress(self) -> bool:
        """Whether somebody looks at standard error and wants to see how far the work is."""
        return sys.stderr.isatty() and not self.quiet

    @property
    def is_terminal(self) -> bool:
        """Whether somebody is there who can answer a question."""
        return sys.stdin.isatty() and sys.stderr.isatty()

    def open(self, *, readonly: bool = False, forgets: bool = False) -> Collection:
        """Return the collection, opened once and closed when the command ends.

        Args:
            readonly: Nothing will be written; then a folder that may not be written will do.
            forgets: What is written need not last, as in a trial; then such a folder will do, too.

        Raises:
            StorageError: There is none, or it cannot be opened.
        """
        if self._collection is None:
            self._collection = opened(self.folder, readonly=readonly, forgets=forgets or self.dry)
            click.get_current_context().find_root().call_on_close(self.close)
        return self._collection

    def close(self) -> None:
        """Close the collection, so that the next call opens it anew."""
        self._wipe()
        if self._collection is not None:
            self._collection.close()
            self._collection = None

    def now(self, zone: str | None = None) -> Now:
        """Return the moment of the command: the real one, or `--as-of` at the clock's time of day.

        Args:
            zone: A time zone; None: the collection's, or UTC while there is none.

        Raises:
            Refused: The day of `--as-of` cannot be read.
        """
        name = zone or self._zone()
        real = real_now(name)
        if self.as_of is None:
            return real
        return real_now(name, dates.parse_day(self.as_of, today=real.day), clock=real.clock)

    def sound_now(self) -> Now:
        """Return the moment, for commands that plan, publish or write.

        Raises:
            ClockError: The real clock cannot be believed.
        """
        now = self.now()
        check_clock(self.open(readonly=True), now)
        return now

    def _zone(self) -> str:
        if self._collection is None and not (self.folder / FILE_NAME).is_file():
            return "UTC"
        return zone_of(self.open(readonly=True).journal.connection)

    def _wipe(self) -> None:
        """Take a line of progress away."""
        if self._told:
            self._told = 0.0
            click.echo(f"\r{' ' * WIDEST}\r", nl=False, err=True)

    def emit(self, data: object, text: str) -> None:
        """Print what was asked for: the text, or with `--json` the data as one document."""
        self._wipe()
        click.echo(json.dumps(data, ensure_ascii=False, indent=2, default=str) if self.json else text)

    def say(self, text: str) -> None:
        """Print a line beside what was asked for; not with `--quiet` or `--json`."""
        self._wipe()
        if not self.quiet and not self.json:
            click.echo(text)

    def write(self, *entries: Entry, remarks: tuple[str, ...] = ()) -> Outcome:
        """Write entries as one command, or only try, and print what they change in the coming plan.

        Args:
            entries: At least one.
            remarks: Lines to print after the consequences.

        Raises:
            ClockError: The real clock cannot be believed; nothing was written.
            Refused: An entry does not fit; nothing was written.
            StorageError: The file cannot be written.
        """
        is_of_clock = all(entry.kind == "clock-confirmed" for entry in entries)
        now = self.now() if is_of_clock else self.sound_now()
        collection = self.open()
        progress = self.progress("planning", 2 * len(collection.journal.ids()))
        outcome = collection.record(*entries, now=now, by=self.by, dry=self.dry, progress=progress)
        self.tell(outcome, remarks)
        return outcome

    def tell(self, outcome: Outcome, remarks: tuple[str, ...] = ()) -> None:
        """Print what a writing command did."""
        numbers = [record.n for record in outcome.records]
        if self.json:
            told = {
                "written": outcome.is_written,
                "entries": numbers if outcome.is_written else [],
                "command": outcome.command if outcome.is_written else None,
                "said": list(outcome.said),
                "changes": list(outcome.changes),
                "consequences": list(outcome.consequences),
                "remarks": list(remarks),
            }
            self.emit(told, "")
            return
        if not outcome.is_written:
            self.say("A trial, nothing is written.")
        if self.every:
            entries = f"Entry {numbers[0]}" + (f" to {numbers[-1]}" if len(numbers) > 1 else "")
            lines = [f"{entries}:" if outcome.is_written else "It would change:"]
            lines += [f"  {line}" for line in outcome.consequences]
        else:
            lines = [line.replace(" more such)", " more such: --all)") for line in outcome.changed]
        for line in (*outcome.said, *lines, *remarks):
            self.say(line)

    def progress(self, what: str, total: int) -> Callable[[int], None]:
        """Return a callback that shows progress on standard error once the work takes longer than a second.

        Args:
            what: What is done, as 'planning'.
            total: Number of pieces in all.
        """
        start = time.monotonic()

        def show(count: int) -> None:
            moment = time.monotonic()
            if (
                moment - start < PROGRESS_AFTER
                or moment - self._told < PROGRESS_EVERY
                or not self.shows_progress
            ):
                return
            self._told = moment
            click.echo(f"\r{what} {min(count, total)} of {total}", nl=False, err=True)

        return show


def pass_session(function: Callable[..., R]) -> Callable[..., R]:
    """Give a command the session as its first argument."""

    @functools.wraps(function)
    def with_session(*args: Any, **kwargs: Any) -> R:
        return function(click.get_current_context().find_root().ensure_object(Session), *args, **kwargs)

    return with_session


def kept(name: str) -> Callable[[click.Context, click.Parameter, Any], Any]:
    """Return the callback that keeps an option's value in the session."""

    def keep(ctx: click.Context, _: click.Parameter, value: Any) -> Any:
        session = ctx.find_root().ensure_object(Session)
        if value is not None and value is not False:
            setattr(session, name, value)
        return value

    return keep


def confirming(function: AnyFunction) -> AnyFunction:
    """Give a command `--yes`, and ask on a terminal where it needs one."""

    @functools.wraps(function)
    def asking(*args: Any, **kwargs: Any) -> Any:
        session = click.get_current_context().find_root().ensure_object(Session)
        try:
            return function(*args, **kwargs)
        except ConfirmationNeeded as needed:
            if session.yes or not session.is_terminal:
                raise
            if not click.confirm(needed.question, err=True):
                raise click.Abort from needed
        session.yes = True
        return function(*args, **kwargs)

    decorated: Any = click.option(
        "--yes",
        is_flag=True,
        expose_value=False,
        callback=kept("yes"),
        help="Answer yes where carecal asks whether it is meant.",
    )(asking)
    return decorated  # type: ignore[no-any-return]  # a decorated function keeps its type


def writing(function: AnyFunction) -> AnyFunction:
    """Give a command `--try`, `--yes` and `--by`, and ask on a terminal where it needs a yes."""
    decorated: Any = confirming(function)
    for option in (
        click.option("--by", metavar="NAME", expose_value=False, callback=kept("by"), help="Who says so."),
        click.option(
            "--try",
            "dry",
            is_flag=True,
            expose_value=False,
            callback=kept("dry"),
            help="Write nothing, show what would change.",
        ),
        click.option(
            "--all",
            "every",
            is_flag=True,
            expose_value=False,
            callback=kept("every"),
            help="Say all that it changes, counted by cause.",
        ),
    ):
        decorated = option(decorated)
    return decorated  # type: ignore[no-any-return]  # a decorated function keeps its type
