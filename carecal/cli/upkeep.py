"""`verify`, `backup`, `restore`, `status`, `refresh`: the collection's own care."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from carecal.app.files.upkeep import findings, status_of
from carecal.app.publish import calendars, listening, publishing
from carecal.app.sensors.heard import gather_all
from carecal.app.store import zone_of
from carecal.cli.context import Session, confirming, pass_session
from carecal.cli.roads import sending, sent_words
from carecal.cli.show import columns
from carecal.collection import backup as copies
from carecal.collection import rotation
from carecal.errors import Refused

__all__ = ["backup", "refresh", "restore", "status", "verify"]

FILE = click.Path(path_type=Path, dir_okay=False)


@click.command(short_help="Check the collection from end to end.")
@pass_session
def verify(session: Session) -> int:
    """Check the file, the catalog, the journal, every plan and every calendar; exit 1 where there are faults."""
    collection, now = session.open(readonly=True), session.now()
    found = findings(collection, now, progress=session.progress("planning", len(collection.journal.ids())))
    session.emit({"sound": not found, "faults": found}, "\n".join(found) or "all is sound")
    return 1 if found else 0


@click.command(short_help="Write a full copy to a file.")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--force", is_flag=True, help="Replace a file of that name.")
@click.option(
    "--keep",
    metavar="7d,4w,12m",
    help="FILE is a folder of copies: keep the newest of each of the last days, weeks, months (years: 3y).",
)
@confirming
@pass_session
def backup(session: Session, file: Path, force: bool, keep: str | None) -> int:
    """Write a full copy of the collection to a file, also while it is in use.

    The copy is read back before it takes its place; one that holds less than the file it would replace needs --yes.

    With --keep FILE is a folder. Each copy there is named carecal-COLLECTION-MOMENT.zip, by the first characters of the
    collection's id and the moment in UTC, as carecal-3fb07c7a-20261125T031000Z.zip. Once the new one is read back,
    those of this collection that are too many go, and nothing else; none goes while the new one holds less than the
    one before it (exit 3).
    """
    if keep is not None:
        return _rotated(session, file, keep)
    if file.is_dir():
        raise Refused(
            f"{file} is a folder; name a file in it, or say with --keep 7d,4w,12m which copies stay there"
        )
    made = copies.backup(session.folder, file, force=force, sure=session.yes)
    size = file.stat().st_size
    if session.json:
        told = {"file": str(file), "bytes": size, "entries": made.entries, "pictures": made.pictures}
        session.emit(told, "")
    else:
        session.say(f"{file}: {made}, {size / 1e6:.2f} MB; put it back with carecal restore {file}")
    return 0


def _rotated(session: Session, folder: Path, keep: str) -> int:
    """Write a copy into a folder of copies, and say which went."""
    how_many, now = rotation.keep_of(keep), session.now()
    zone = zone_of(session.open(readonly=True).journal.connection)
    found = rotation.backup_and_rotate(session.folder, folder, how_many, now.written, zone)
    size = found.file.stat().st_size
    if session.json:
        told = {
            "file": str(found.file),
            "bytes": size,
            "entries": found.made.entries,
            "pictures": found.made.pictures,
            "kept": found.kept,
            "removed": list(found.removed),
            "doubt": found.doubt or None,
        }
        session.emit(told, "")
    else:
        copies_there = "1 copy" if found.kept == 1 else f"{found.kept} copies"
        session.say(f"{found.file}: {found.made}, {size / 1e6:.2f} MB")
        session.say(found.doubt or f"{copies_there} there, {len(found.removed)} taken away")
    return 3 if found.doubt else 0


@click.command(short_help="Put a full copy back in place.")
@click.argument("file", type=FILE)
@click.argument("folder", required=False, type=click.Path(path_type=Path, file_okay=False))
@pass_session
def restore(session: Session, file: Path, folder: Path | None) -> None:
    """Put a full copy back in a folder that is empty or not there yet; without one that of --home.

    Its calendars get new names for their events, so that programs that subscribed to the old ones take them for new.
    """
    target = folder or session.folder
    found = copies.restore(file, target)
    if session.json:
        session.emit({"folder": str(target), "entries": found.entries, "pictures": found.pictures}, "")
    else:
        newest = f"the newest of {found.newest[:10]}"
        session.say(f"the collection stands in {target} again: {found}, {newest}")


@click.command(short_help="Say how the collection stands.")
@pass_session
def status(session: Session) -> None:
    """Say how the collection stands: its size, its newest entry, its calendars, its clock."""
    found = status_of(session.open(readonly=True), session.now())
    newest = found["newest"]
    rows: list[tuple[str, object]] = [
        ("collection", f"{found['collection']['name']}, {found['collection']['timezone']}"),
        ("folder", f"{found['folder']}, {found['size_mb']:g} MB"),
        ("program", f"{found['program']}, format {found['format']}"),
        ("today", found["as_of"]),
        ("plants", f"{found['plants']}, {found['left']} left"),
        ("places", found["places"]),
        (
            "entries",
            f"{found['entries']}, newest of {newest['written']} by {newest['by']}" if newest else "none",
        ),
    ]
    rows += [
        (
            f"calendar {c['name']}",
            f"published {c['published'] or 'never'}, fetched {c['fetched'] or 'never'}; {c['note'] or 'no fault'}",
        )
        for c in found["calendars"]
    ]
    if found["clock"]:
        rows.append(("clock", found["clock"]))
    session.emit(found, columns(rows))


@click.command(short_help="Plan anew and refresh the published calendars.")
@click.option("--listen", "listens", is_flag=True, help="First enter what was ticked in accounts elsewhere.")
@pass_session
def refresh(session: Session, listens: bool) -> int:
    """Plan anew and refresh the published calendars; for cron, once a day. Exit 3 where one could not be made.

    Before that, what sensors measured on days that are over is written down.

    With --listen a to-do ticked in an account on a calendar server is done here, by the calendar's name; the
    calendar must be one of to-dos, one for each plant and care. Whatever else was changed there is put right again.
    """
    collection, now = session.open(), session.sound_now()
    sensed = [
        {
            "name": f"readings of {place}",
            "target": None,
            "fault": fault or None,
            "notes": [f"{len(days)} days written"],
        }
        for place, days, fault in gather_all(collection, now)
    ]
    heard = {(each.name, each.target): each for each in listening.listen(collection, now)} if listens else {}
    count = len(collection.journal.ids())
    told = calendars.refresh(collection, now, progress=session.progress("planning", count))
    rows: list[dict[str, Any]] = [
        *sensed,
        *({"name": known.name, "target": None, "fault": note or None, "notes": []} for known, note in told),
    ]
    sent = publishing.refresh_targets(collection, now, progress=sending(session))
    rows += [_target_row(each, heard.get((each.calendar, each.target))) for each in sent]
    session.emit(rows, "\n".join(map(_freshness, rows)) or "no calendar has an address")
    return 3 if any(row["fault"] for row in rows) else 0


def _target_row(each: publishing.Refreshed, heard: listening.Heard | None) -> dict[str, Any]:
    """Return what became of a target: what was sent to it, and what was ticked there."""
    row: dict[str, Any] = {
        "name": each.calendar,
        "target": each.target,
        "fault": each.fault or None,
        "sent": sent_words(each.result) if each.result is not None and each.result.is_sent else None,
        "notes": list(each.notes),
    }
    if heard is not None:
        row["fault"] = each.fault or heard.fault or None
        row |= {"notes": [*heard.notes, *each.notes], "entries": heard.entries}
    return row


def _freshness(row: dict[str, Any]) -> str:
    where = f" at {row['target']}" if row["target"] else ""
    entries = row.get("entries", 0)
    heard = [f"{entries} tick{'s' if entries > 1 else ''} from there entered"] if entries else []
    sent = [row["sent"]] if row.get("sent") else []
    return f"{row['name']}{where}: {'; '.join([row['fault'] or 'fresh', *sent, *heard, *row['notes']])}"
