"""`carecal observe`: what was seen of a plant."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from carecal.app.actions.looks import observe as seen_of
from carecal.app.files.photos import keep_photo
from carecal.cli.context import pass_session, writing
from carecal.cli.everyday.shared import on_option
from carecal.cli.types import LENGTH, PLANT

if TYPE_CHECKING:
    from datetime import date

    from carecal.cli.context import Session

__all__ = ["observe"]

STAGES = ("rootless", "new-tips", "rooting-in", "established")
FLOWERING = ("none", "in-spike", "in-bloom", "spent", "terminal-spike")


@click.command()
@click.argument("plant", metavar="ID", type=PLANT)
@click.option("--roots", type=int, metavar="N", help="Living roots.")
@click.option("--longest", "longest_mm", type=LENGTH, metavar="MM", help="The longest living root. [mm]")
@click.option(
    "--newest",
    "newest_mm",
    type=LENGTH,
    metavar="MM",
    help="The longest root grown since the last potting or wrapping. [mm]",
)
@click.option("--tips", type=int, metavar="N", help="Growing root tips.")
@click.option("--leaves", type=int, metavar="N", help="Leaves.")
@click.option(
    "--firmness",
    type=click.Choice(["firm", "soft", "wrinkled", "folded", "limp"]),
    help="How its leaves feel.",
)
@click.option("--growths", type=int, metavar="N", help="Growths or bulbs.")
@click.option("--flowering", type=click.Choice(FLOWERING), help="Its flowers.")
@click.option("--spike", "spike_mm", type=LENGTH, metavar="MM", help="Length of its spike. [mm]")
@click.option("--stage", type=click.Choice(STAGES), help="Its stage, held until counts say another.")
@click.option(
    "--crown",
    type=click.Choice(["lost", "shoot"]),
    help="Its crown is lost to rot; a shoot from the base is seen.",
)
@click.option("--rest", type=click.Choice(["begun", "goes-on", "over"]), help="Its rest, as its sign shows.")
@click.option("--plug/--no-plug", default=None, help="Whether a nursery plug stands in its medium.")
@click.option("--seen", metavar="PEST|rot|virus", help="A pest or trouble that was found.")
@click.option("--where", type=click.Choice(["crown", "stem", "leaf", "root"]), help="Where it was found.")
@click.option("--shows", metavar="unknown", help="It shows something nobody can name yet.")
@click.option("--note", metavar="TEXT", help="Anything else.")
@click.option(
    "--photo", type=click.Path(path_type=Path), metavar="FILE", help="A picture, copied into the collection."
)
@click.option("--task", metavar="ID", help="The look that it answers.")
@on_option("Day on which it was seen (else today).")
@writing
@pass_session
def observe(
    session: Session,
    /,
    plant: str,
    photo: Path | None,
    task: str | None,
    on: date | None,
    shows: str | None,
    **seen: Any,
) -> None:
    """Write down what was seen; what is left out changes nothing."""
    collection, now = session.open(), session.sound_now()
    values = {**seen, "photo": keep_photo(collection, photo, dry=True) if photo is not None else None}
    entries = seen_of(collection, now, plant, on=on, sure=session.yes, task=task, shows=shows, **values)
    if photo is not None and not session.dry:
        keep_photo(collection, photo)
    session.write(*entries)
