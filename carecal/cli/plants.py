"""`plant`: who is in the collection."""

from __future__ import annotations

from datetime import date
from typing import Any

import click

from carecal.app.setup import plants as setup_plants
from carecal.cli.context import Session, pass_session, writing
from carecal.cli.lazy import SuggestingGroup
from carecal.cli.show import columns, length, size
from carecal.cli.telling import label
from carecal.cli.types import DAY, LENGTH, PLACE, PLANT, SIZE
from carecal.wording.tasks import EMPTY_ON_PURPOSE

__all__ = ["plant"]


@click.group(cls=SuggestingGroup, short_help="Add, list, show, rename and retire plants.")
def plant() -> None:
    """Add, list, show, rename and retire plants."""


@plant.command("add")
@click.argument("plant_id", metavar="ID")
@click.option("--profile", help="The culture it follows; else phalaenopsis.")
@click.option("--medium", help="What it stands in, as bark.")
@click.option("--container", help="Its pot, as clear-plastic.")
@click.option("--size", "size_cm", type=SIZE, help="Top diameter of the pot. [cm]")
@click.option("--place", type=PLACE, help="Where it stands.")
@click.option("--name", help="Name people read.")
@click.option("--came", type=DAY, help="Day it came.")
@click.option("--potted", type=DAY, help="Day it was last potted; may lie before it came.")
@click.option("--watered", type=DAY, help="Day it was last watered.")
@click.option("--stage", help="Stage, unless it is to follow from the roots: rootless, new-tips …")
@click.option("--roots", type=int, help="Living roots.")
@click.option("--longest", "longest_mm", type=LENGTH, help="Longest living root. [mm]")
@click.option("--tips", type=int, help="Growing root tips.")
@click.option("--leaves", type=int, help="Leaves.")
@click.option("--plug/--no-plug", default=None, help="Whether a nursery plug stands in its medium.")
@click.option(
    "--reservoir", type=click.Choice(["filled", "empty"]), help="How its reservoir stands, if it has one."
)
@click.option("--flowering", help="none, in-spike, in-bloom, spent or terminal-spike.")
@click.option("--aid", "aids", multiple=True, help="An aid it has: cloth, moss-collar, wrap, stake or shade.")
@click.option("--on-mother", "on_mother", type=PLANT, help="The plant it hangs on, as a keiki.")
@click.option("--note", help="What else there is to say.")
@writing
@pass_session
def add(session: Session, plant_id: str, aids: tuple[str, ...], **values: Any) -> None:
    """Add a plant. Only the id is required; what is unknown becomes its first task."""
    collection, now = session.open(), session.sound_now()
    entry = setup_plants.add_plant(collection, now, plant_id, aids=aids or None, **values)
    session.write(entry, remarks=setup_plants.newcomer_remarks(collection, now, entry))


@plant.command("list")
@click.option("--all", "everyone", is_flag=True, help="Those that left, too.")
@pass_session
def list_(session: Session, everyone: bool) -> None:
    """List the plants."""
    rows = setup_plants.plants_of(session.open(readonly=True), session.now(), everyone=everyone)
    text = columns(
        [
            (
                r["id"],
                r["name"],
                r["profile"],
                r["medium"],
                r["container"],
                size(r["size_cm"], session.units),
                r["place"] if r["left"] is None else f"left {r['left']}",
                r["stage"],
                r["flowering"],
                EMPTY_ON_PURPOSE if r["reservoir"] == "empty" and r["left"] is None else "",
                r["losing"],
            )
            for r in rows
        ],
        ("id", "name", "profile", "medium", "container", "size", "place", "stage", "flowering", "", "watch"),
    )
    session.emit(rows, text if rows else "no plants yet; add one with carecal plant add")


@plant.command("show", short_help="Show what is known of a plant.")
@click.argument("plant_id", metavar="ID", type=PLANT)
@pass_session
def show(session: Session, plant_id: str) -> None:
    """Show what is known of a plant, and what of its place does not suit it."""
    found = setup_plants.plant_of(session.open(readonly=True), session.now(), plant_id)
    session.emit(found, "\n".join(_lines(found, session.units)))


def _lines(found: dict[str, Any], units: str) -> list[str]:
    keys = (
        "profile",
        "medium",
        "container",
        "place",
        "stage",
        "flowering",
        "reservoir",
        "firmness",
        "roots",
        "tips",
        "leaves",
        "came",
        "potted",
        "entered",
        "mother",
        "note",
    )
    rows: list[tuple[str, object]] = [(key, found[key]) for key in keys if found[key] is not None]
    if found["size_cm"] is not None:
        rows.append(("size", size(found["size_cm"], units)))
    if found["longest_mm"] is not None:
        rows.append(("longest", length(found["longest_mm"], units)))
    if found["feed_ppm_n"] is not None:
        rows.append(("fed at", f"{found['feed_ppm_n']:g} mg/L of N"))
    if found["reservoir"] == "empty":
        rows = [(key, EMPTY_ON_PURPOSE if key == "reservoir" else value) for key, value in rows]
    if found["aids"]:
        rows.append(("aids", ", ".join(found["aids"])))
    if found["quarantine"]:
        rows.append(("quarantine", "yes"))
    if found["losing"] is not None:
        rows.append(("watch", found["losing"]))
    if found["left"] is not None:
        rows.append(("left", f"{found['left']} ({found['left_because']})"))
    lines = [f"{found['id']}: {found['name']}", columns(rows)]
    if found["missing"]:
        lines.append(f"not known yet: {', '.join(found['missing'])}; without it there is no rhythm")
    return [*lines, *found["does_not_suit"]]


@plant.command("retire")
@click.argument("plant_id", metavar="ID", type=PLANT)
@click.option("--because", required=True, help="lost, given-away or merged.")
@click.option("--into", type=PLANT, help="The plant it was merged into.")
@click.option("--note", help="What else there is to say.")
@click.option("--on", type=DAY, help="Day it left.")
@writing
@pass_session
def retire(
    session: Session, plant_id: str, because: str, into: str | None, note: str | None, on: date | None
) -> None:
    """Say that a plant left the collection."""
    session.write(
        setup_plants.retire(
            session.open(), session.sound_now(), plant_id, because, into=into, on=on, note=note
        )
    )


@plant.command("rename", short_help="Give a plant another id, another name, or both.")
@click.argument("old", type=PLANT)
@click.argument("new", required=False)
@click.option("--name", help="A new name for people to read.")
@writing
@pass_session
def rename(session: Session, old: str, new: str | None, name: str | None) -> None:
    """Give a plant another id, another name, or both; its history and its calendar events stay."""
    session.write(setup_plants.rename(session.open(), session.sound_now(), old, new, name))


@plant.command("feed-ppm", short_help="Say how strong one plant is fed.")
@click.argument("plant_id", metavar="ID", type=PLANT)
@click.argument("strength", metavar="PPM|none")
@writing
@pass_session
def feed_strength(session: Session, plant_id: str, strength: str) -> None:
    """Say how strong one plant is fed, in mg/L of nitrogen; none: as its kind asks.

    Stage, light, water and label may still ask for less. For all plants: carecal settings feed-ppm.
    """
    session.write(setup_plants.feed_strength(session.open(), session.sound_now(), plant_id, strength))


plant.add_command(label)
