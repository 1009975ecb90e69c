"""`demo`: the example collection, always alive."""

from __future__ import annotations

from pathlib import Path

import click

from carecal.app.demo.example import STORIES, write_demo
from carecal.app.demo.story import read_story
from carecal.cli.context import Session, pass_session

__all__ = ["demo"]

FIRST = next(iter(STORIES))


@click.command(short_help="Make the example collection in a folder.")
@click.argument("folder", required=False, type=click.Path(path_type=Path, file_okay=False))
@click.option(
    "--which",
    type=click.Choice(list(STORIES)),
    default=FIRST,
    show_default=True,
    help="Which of the examples.",
)
@click.option("--latitude", type=float, help="Let it play at another latitude. [degrees north]")
@pass_session
def demo(session: Session, folder: Path | None, which: str, latitude: float | None) -> None:
    """Make the example collection in a folder: some dozens of orchids and years of log, up to yesterday.

    FOLDER itself becomes the collection; without one it is the folder of --home or CARECAL_HOME.
    """
    target = folder or session.folder
    zone = read_story(which, session.now("UTC").day, latitude).started.timezone
    with write_demo(target, session.now(zone), which=which, latitude=latitude) as collection:
        entries, plants = collection.journal.head(), len(collection.timeline(session.now(zone).day).living())
        told = {"folder": str(collection.folder), "entries": entries, "plants": plants}
    if session.json:
        session.emit(told, "")
        return
    session.say(f"{target}: {plants} plants, {entries} entries")
    session.say(f"  next: carecal --home {target} today")
