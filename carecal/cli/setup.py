"""`init`: a collection that begins."""

from __future__ import annotations

import os
from pathlib import Path

import click

from carecal.app.door import Collection
from carecal.app.setup.settings import started, zone_named
from carecal.cli.context import Session, pass_session
from carecal.cli.types import NUMBER
from carecal.errors import Refused

__all__ = ["init"]


@click.command(short_help="Make a new collection.")
@click.argument("name")
@click.option("--latitude", type=NUMBER, required=True, help="Degrees north; south is negative.")
@click.option("--longitude", type=NUMBER, required=True, help="Degrees east; west is negative.")
@click.option("--elevation", type=NUMBER, default=0.0, show_default=True, help="Height above the sea. [m]")
@click.option("--timezone", metavar="ZONE", help="Time zone, as Europe/Berlin; else this machine's.")
@pass_session
def init(
    session: Session, name: str, latitude: float, longitude: float, elevation: float, timezone: str | None
) -> None:
    """Make a new collection.

    NAME is what it is called. Where it stands decides the length of its days and, until there are readings, the
    climate of its places.
    """
    zone = zone_named(timezone) if timezone is not None else _machine_zone()
    now = session.now(zone)
    entry = started(now, name, latitude, longitude, elevation_m=elevation, timezone=zone)
    with Collection.start(session.folder, entry, now) as collection:
        told = {"written": True, "entries": [1], "folder": str(collection.folder), "timezone": zone}
    if session.json:
        session.emit(told, "")
        return
    session.say(f"{name} begins in {session.folder}, time zone {zone}")
    session.say("  next: carecal place add NAME --kind KIND, then carecal plant add ID")


def _machine_zone() -> str:
    """Return the machine's time zone; UTC where it does not tell."""
    named = os.environ.get("TZ", "").removeprefix(":")
    if not named:
        parts = Path("/etc/localtime").resolve().parts
        named = "/".join(parts[parts.index("zoneinfo") + 1 :]) if "zoneinfo" in parts else ""
    try:
        return zone_named(named)
    except Refused:
        return "UTC"
