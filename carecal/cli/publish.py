"""`calendar publish`: a calendar sent to a folder, a store or a calendar server, and taken away from there."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from carecal.app.publish import publishing
from carecal.cli.context import confirming, pass_session
from carecal.cli.roads import published_lines, sending

if TYPE_CHECKING:
    from carecal.cli.context import Session

__all__ = ["publish"]


@click.command("publish", short_help="Publish a calendar in a folder, a store or an account.")
@click.argument("name")
@click.argument("target")
@click.option("--user", default="", help="Who logs in.")
@click.option(
    "--password-file",
    type=click.Path(path_type=Path, dir_okay=False),
    help="File with the password in its first line; else CARECAL_PASSWORD, else it is asked.",
)
@click.option(
    "--private", is_flag=True, help="The address lies in your own network or on this machine, and is meant."
)
@click.option(
    "--stop", "is_stop", is_flag=True, help="Take away what is published there, and forget the target."
)
@confirming
@pass_session
def publish(
    session: Session,
    name: str,
    target: str,
    user: str,
    password_file: Path | None,
    private: bool,
    is_stop: bool,
) -> None:
    """Publish a calendar elsewhere: in a folder, in a store, or in an account on a calendar server.

    TARGET is a folder, a store's address (s3://, sftp://, webdav://), or caldav+https://host/path/ of a calendar. It is
    remembered, and carecal refresh publishes there again; a password is never kept.
    """
    collection, now = session.open(), session.sound_now()
    ask = _ask_password if session.is_terminal else None
    if is_stop:
        gone = publishing.stop(collection, name, target, password_file=password_file, ask=ask)
        session.emit(
            {"name": name, "target": str(gone.target), "published": False},
            f"{name} is taken away from {gone.target}",
        )
        return
    told = publishing.publish_to(
        collection,
        now,
        name,
        target,
        user=user,
        password_file=password_file,
        private=private,
        may_be_empty=session.yes,
        ask=ask,
        progress=sending(session),
        planning=session.progress("planning", len(collection.journal.ids())),
    )
    _tell_published(session, name, told)


def _ask_password(user: str) -> str:
    return str(click.prompt(f"password of {user}", hide_input=True, err=True))


def _tell_published(session: Session, name: str, told: publishing.PublishResult) -> None:
    """Print where a calendar stands, its file's name the first time alone, and how often it will be looked at."""
    found = told.publication
    data = {
        "name": name,
        "target": str(found.target),
        "sent": told.is_sent,
        "events": found.events,
        "objects": told.counts or None,
        "file": found.file_name if told.is_new and found.file_name else None,
        "notes": list(told.notes),
    }
    lines = published_lines(told, quiet=session.quiet)
    session.emit(data, "\n".join(lines))
