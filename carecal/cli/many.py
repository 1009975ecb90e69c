"""`many FOLDER …`: the same for each collection below a folder, spread over processes."""

from __future__ import annotations

import signal
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from carecal.app.many.jobs import Job, JobResult
from carecal.app.many.runs import run_all
from carecal.app.many.tree import collections_below
from carecal.app.many.workers import run_jobs
from carecal.app.now import real_now
from carecal.calendars.publishing import parse_target
from carecal.cli.context import Session, pass_session
from carecal.collection.dates import parse_day
from carecal.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import date

__all__ = ["many"]

FOLDER = click.Path(path_type=Path, file_okay=False)
STOPPED = 130


@click.group(short_help="Do the same for each collection below a folder.")
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False, exists=True))
@click.pass_context
def many(ctx: click.Context, folder: Path) -> None:
    """Do the same for each collection below a folder, spread over this machine's cores or a cluster.

    Each collection is worked on by itself: a broken one is reported and stops no other, and one that has not changed
    costs only a look. What was done stays done when the run is stopped; --log takes it up again where it stopped.
    """
    ctx.meta["folder"] = folder


def _spread(function: Callable[..., int]) -> Callable[..., int]:
    for option in (
        click.option(
            "--log",
            type=click.Path(path_type=Path, dir_okay=False),
            metavar="FILE",
            help="Add a line of JSON for each collection; what went well there today is left out.",
        ),
        click.option(
            "--scheduler", default="", metavar="ADDRESS", help="Use the Dask cluster that runs there."
        ),
        click.option(
            "--workers", type=click.IntRange(1, 512), metavar="N", help="Processes (else one for each core)."
        ),
    ):
        function = option(function)
    return function


@many.command(short_help="Publish a calendar of each collection.")
@click.argument("target")
@click.option(
    "--calendar", default="everyone", show_default=True, help="The calendar; added where there is none."
)
@click.option("--user", default="", help="Who logs in.")
@click.option(
    "--password-file",
    type=click.Path(path_type=Path, dir_okay=False, exists=True),
    help="File with the password in its first line; else CARECAL_PASSWORD.",
)
@click.option(
    "--private", is_flag=True, help="The address lies in your own network or on this machine, and is meant."
)
@_spread
@pass_session
def publish(
    session: Session,
    target: str,
    calendar: str,
    user: str,
    password_file: Path | None,
    private: bool,
    **spread: Any,
) -> int:
    """Publish a calendar of each collection in a folder or a store, each in a file whose name nobody guesses."""
    place = parse_target(target)
    if place.kind == "caldav":
        raise Refused(
            "many collections cannot share one calendar on a server; allowed are a folder and a store"
        )
    address = str(Path(place.address).absolute()) if place.kind == "folder" else target
    job = Job(
        "publish",
        address,
        calendar,
        user,
        str(password_file.absolute()) if password_file else "",
        private,
        as_of=_day(session),
    )
    return _run(session, job, **spread)


@many.command(short_help="Bring all calendars up to date.")
@click.option("--listen", "listens", is_flag=True, help="First enter what was ticked in accounts elsewhere.")
@_spread
@pass_session
def refresh(session: Session, listens: bool, **spread: Any) -> int:
    """Bring all calendars up to date and publish them again wherever they stand; for a timer, once a day."""
    return _run(session, Job("refresh", as_of=_day(session), listens=listens), **spread)


@many.command()
@_spread
@pass_session
def verify(session: Session, **spread: Any) -> int:
    """Check each collection from end to end; exit 1 where one has faults."""
    return _run(session, Job("verify", as_of=_day(session)), **spread)


@many.command()
@_spread
@pass_session
def status(session: Session, **spread: Any) -> int:
    """Say how each collection stands."""
    return _run(session, Job("status", as_of=_day(session)), **spread)


@many.command(short_help="Write a full copy of each collection.")
@click.argument("target", type=FOLDER)
@_spread
@pass_session
def backup(session: Session, target: Path, **spread: Any) -> int:
    """Write a full copy of each collection below a folder; one that is newer than its collection stays."""
    return _run(session, Job("backup", str(target.absolute()), as_of=_day(session)), **spread)


def _day(session: Session) -> date | None:
    return parse_day(session.as_of, today=real_now("UTC").day) if session.as_of is not None else None


def _run(session: Session, job: Job, *, workers: int | None, scheduler: str, log: Path | None) -> int:
    """Do a job with all collections, say what came of each, and return the exit status: that of the worst."""
    root = click.get_current_context().meta["folder"].absolute()
    names = list(collections_below(root))
    if not names:
        raise Refused(f"below {root} lies no collection; allowed is a folder that holds some")
    shown: list[JobResult] = []
    progress = session.progress("collections", len(names))

    def say(result: JobResult, count: int) -> None:
        progress(count)
        if session.json:
            shown.append(result)
        elif result.outcome != "unchanged":
            session.say(f"{result.collection}: {result.text}")

    def spread(rest: list[str]) -> Iterator[JobResult]:
        return run_jobs(str(root), rest, job, workers=workers, scheduler=scheduler)

    before = signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        summary = run_all(names, job, spread, log, job.as_of or real_now("UTC").day, say)
    finally:
        signal.signal(signal.SIGTERM, before)
    rows = [asdict(result) for result in sorted(shown, key=lambda each: each.collection)]
    session.emit({**summary.data, "collections": rows}, str(summary))
    if summary.is_stopped:
        return STOPPED
    if summary.counts["failed"]:
        return 3
    return 1 if summary.counts["faults"] else 0
