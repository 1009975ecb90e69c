"""`profiles`: the cultures that plants follow, and whether the grower's own files are sound."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from carecal.app.command_context import named
from carecal.app.setup.sides import sides_under
from carecal.catalog.load import load_catalog
from carecal.catalog.profile_file import SECTIONS, key_of
from carecal.cli.context import Session, pass_session
from carecal.cli.lazy import SuggestingGroup
from carecal.cli.show import columns
from carecal.collection.database import FILE_NAME
from carecal.errors import DataFault

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.catalog.tables import Catalog, Profile

__all__ = ["profiles"]

TABLES = {"media": "describes", "containers": "describes", "aids": "describes", "pests": "look_for"}
"""Tables whose rows a grower names, each with its column that says what a row is."""


@click.group(cls=SuggestingGroup, short_help="List, show and verify profiles.")
def profiles() -> None:
    """List, show and verify profiles: the cultures that plants follow.

    The grower's own files stand in the collection's folders profiles/ and shared/ and override by name.
    """


def _folder(session: Session) -> Path | None:
    """Return the collection's folder, if there is a collection."""
    return session.folder if (session.folder / FILE_NAME).is_file() else None


def _catalog(session: Session) -> Catalog:
    return load_catalog(_folder(session))


@profiles.command("list", short_help="List profiles, media, containers, aids or pests.")
@click.argument("what", type=click.Choice(["profiles", *TABLES]), default="profiles", metavar="[WHAT]")
@pass_session
def list_(session: Session, what: str) -> None:
    """List the profiles, or what else a plant may have: media, containers, aids or pests."""
    if what != "profiles":
        _list_table(session, what)
        return
    rows = [
        {"profile": row.name, "latin": row.latin, "describes": row.describes, "depth": row.depth}
        for _, row in sorted(_catalog(session).profiles.items())
    ]
    session.emit(
        rows, columns([tuple(row.values()) for row in rows], ("profile", "latin", "describes", "depth"))
    )


def _list_table(session: Session, what: str) -> None:
    """Print the rows of a table that a grower names: what each is, and what the trade calls it too."""
    rows = [
        {"name": name, "describes": getattr(row, TABLES[what]), "also": list(getattr(row, "also", ()))}
        for name, row in sorted(getattr(_catalog(session), what).items())
    ]
    session.emit(
        rows,
        columns(
            [(row["name"], row["describes"], ", ".join(row["also"])) for row in rows],
            ("name", "what it is", "also called"),
        ),
    )


@profiles.command("show", short_help="Show a profile with the source of each value.")
@click.argument("name")
@pass_session
def show(session: Session, name: str) -> None:
    """Show a profile: each value with its source, and the sides it takes where the trade disagrees."""
    catalog = _catalog(session)
    profile = catalog.profiles[named("profile", name, catalog.profiles)]
    values = _values(profile)
    head = {
        "name": profile.name,
        "latin": profile.latin,
        "describes": profile.describes,
        "depth": profile.depth,
    }
    sides = sides_under(profile.name, catalog, *_opened(session))
    title = f"{profile.name} ({profile.latin}): {profile.describes}; support: {profile.depth}"
    session.emit(
        {**head, "values": values, "sides": sides}, "\n".join([title, *_lines(values), *_told(sides)])
    )


def _opened(session: Session) -> tuple[Collection | None, Now | None]:
    return (session.open(readonly=True), session.now()) if _folder(session) else (None, None)


def _lines(values: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    for row in values:
        shown = row["value"]
        if isinstance(shown, dict):
            yield f"{row['key']}  [{row['source']}]"
            yield from (f"  {name}: {_plain(text)}" for name, text in shown.items())
        else:
            yield f"{row['key']}: {_plain(shown)}  [{row['source']}]"


def _told(sides: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    yield ""
    yield "Where the trade disagrees, the side taken (carecal side KEY a|b --profile NAME takes the other):"
    for row in sides:
        yield f"{row['key']}: {row['side']}, {row[row['side']]}"


def _plain(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def _values(profile: Profile) -> list[dict[str, Any]]:
    renamed = {"notes": "step_notes"}
    found = []
    for names in SECTIONS.values():
        for name in names:
            field = renamed.get(name, name)
            value = getattr(profile, field)
            if value not in (None, {}):
                shown = dict(value) if hasattr(value, "items") else value
                found.append({"key": key_of(field), "value": shown, "source": profile.sources.get(field, "")})
    return found


@profiles.command("verify", short_help="Check all profiles and tables, your own included.")
@pass_session
def verify(session: Session) -> int:
    """Check all profiles and tables, the grower's own included; exit 1 where there are faults."""
    try:
        catalog = _catalog(session)
    except DataFault as fault:
        faults = [str(found) for found in fault.faults]
        session.emit({"sound": False, "faults": faults}, "\n".join(faults))
        return 1
    session.emit(
        {"sound": True, "faults": []},
        f"{len(catalog.profiles)} profiles and all tables are sound, digest {catalog.digest[:12]}",
    )
    return 0
