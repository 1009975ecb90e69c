"""`carecal pot`, `move` and `part`: what a plant stands in, and where."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from carecal.app.actions import out_of_season
from carecal.app.actions import pots as actions_pots
from carecal.app.documents.places import moved_remarks
from carecal.cli.context import pass_session, writing
from carecal.cli.everyday.shared import on_option
from carecal.cli.looking_around import show_compared
from carecal.cli.types import PLACE, PLANT, SIZE, DayType

if TYPE_CHECKING:
    from datetime import date

    from carecal.cli.context import Session

__all__ = ["move", "part", "pot"]


@click.command()
@click.argument("ids", nargs=-1, required=True, metavar="ID...", type=PLANT)
@click.option("--medium", "media", multiple=True, metavar="M", help="The new medium; several with --compare.")
@click.option(
    "--container", "containers", multiple=True, metavar="C", help="The new container; several with --compare."
)
@click.option("--size", type=SIZE, metavar="CM", help="Top diameter (else as before). [cm]")
@click.option(
    "--watered",
    type=click.Choice(["yes", "no"]),
    default="yes",
    show_default=True,
    help="Whether it was watered.",
)
@click.option("--pruned", is_flag=True, help="Roots were cut.")
@click.option("--filled", is_flag=True, help="The reservoir was filled; otherwise it starts empty.")
@click.option("--planned", is_flag=True, help="Announced for the day of --on, to be confirmed then.")
@click.option(
    "--compare", is_flag=True, help="Write nothing; show media and pots side by side for one plant."
)
@click.option("--place", type=PLACE, metavar="P", help="With --compare: where it would stand.")
@click.option("--on", metavar="DAY", help="Day on which it happened (else today).")
@writing
@pass_session
def pot(
    session: Session,
    ids: tuple[str, ...],
    media: tuple[str, ...],
    containers: tuple[str, ...],
    size: float | None,
    watered: str,
    pruned: bool,
    filled: bool,
    planned: bool,
    compare: bool,
    place: str | None,
    on: str | None,
) -> None:
    """Pot or repot plants.

    A potting is day 0 of a new count: settling rules follow, feed waits three weeks.

    \b
    carecal pot tide --medium lava --container net --size 9
    carecal pot tide --compare --medium bark --medium moss
    """  # noqa: D301 - click keeps the lines behind this sign as they are
    if compare:
        if len(ids) != 1:
            raise click.UsageError("--compare is for one plant")
        show_compared(session, ids[0], media, containers, place)
        return
    if place is not None:
        raise click.UsageError("--place goes with --compare; carecal move says where a plant stands")
    medium, container = _only("--medium", media), _only("--container", containers)
    collection, now = session.open(), session.sound_now()
    entries = actions_pots.pot(
        collection,
        now,
        ids,
        medium,
        container,
        size,
        on=_day(on, planned),
        watered=watered == "yes",
        pruned=pruned,
        filled=filled,
        planned=planned,
        sure=session.yes,
    )
    if not (planned or session.yes or session.dry):
        out_of_season.ask_potting(collection, now, ids, container, _day(on, planned))
    session.write(*entries)


def _only(option: str, values: tuple[str, ...]) -> str:
    if len(values) != 1:
        raise click.UsageError(
            f"missing option '{option}'" if not values else f"{option} is said once without --compare"
        )
    return values[0]


@click.command()
@click.argument("words", nargs=-1, required=True, metavar="ID... PLACE")
@click.option("--all-at", metavar="PLACE", type=PLACE, help="All plants of this place.")
@click.option("--planned", is_flag=True, help="Announced for the day of --on, to be confirmed then.")
@click.option("--on", metavar="DAY", help="Day on which it happened (else today).")
@writing
@pass_session
def move(session: Session, words: tuple[str, ...], all_at: str | None, planned: bool, on: str | None) -> None:
    """Move plants to another place.

    \b
    carecal move tide gable east-sill
    carecal move --all-at patio stair
    """  # noqa: D301 - click keeps the lines behind this sign as they are
    collection, now = session.open(), session.sound_now()
    if all_at is not None:
        if len(words) != 1 or planned:
            raise click.UsageError("--all-at PLACE goes with one other place and without --planned")
        entries = actions_pots.move_all(collection, now, all_at, words[0], on=_day(on, False))
        there = [name for entry in entries if (name := getattr(entry, "plant", None))]
        if not (session.yes or session.dry):
            out_of_season.ask_moving(collection, now, there, words[0], _day(on, False))
        session.write(*entries, remarks=moved_remarks(collection, now, there, words[0]))
        return
    if len(words) < 2:
        raise click.UsageError("say at least one plant and the place it goes to, as move tide east-sill")
    entries = actions_pots.move(
        collection, now, words[:-1], words[-1], on=_day(on, planned), planned=planned, sure=session.yes
    )
    if not (planned or session.yes or session.dry):
        out_of_season.ask_moving(collection, now, words[:-1], words[-1], _day(on, planned))
    session.write(*entries, remarks=moved_remarks(collection, now, words[:-1], words[-1]))


@click.command()
@click.argument("plant", metavar="KEIKI", type=PLANT)
@click.option("--medium", required=True, metavar="M", help="Its medium.")
@click.option("--container", required=True, metavar="C", help="Its container.")
@click.option("--size", type=SIZE, metavar="CM", help="Top diameter. [cm]")
@click.option("--place", type=PLACE, metavar="P", help="Where it stands (else beside its mother).")
@click.option(
    "--watered",
    type=click.Choice(["yes", "no"]),
    default="yes",
    show_default=True,
    help="Whether it was watered.",
)
@on_option()
@writing
@pass_session
def part(
    session: Session,
    plant: str,
    medium: str,
    container: str,
    size: float | None,
    place: str | None,
    watered: str,
    on: date | None,
) -> None:
    """Part a keiki from its mother and pot it.

    Its own log goes on.
    """
    collection, now = session.open(), session.sound_now()
    session.write(
        *actions_pots.part(
            collection, now, plant, medium, container, size, on=on, place=place, watered=watered == "yes"
        )
    )


def _day(text: str | None, planned: bool) -> date | None:
    """Return a day: an announcement's lies ahead where no year is written."""
    if text is None:
        return None
    return DayType("ahead" if planned else "on").convert(text, None, click.get_current_context())
