"""What is done with one collection of many, from opening to closing it; what goes wrong with it is told, not raised."""

from __future__ import annotations

from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from carecal.app.command_context import check_clock
from carecal.app.door import Collection
from carecal.app.files.upkeep import findings, status_of
from carecal.app.now import real_now
from carecal.app.publish import calendars, listening, named_calendars, publishing
from carecal.app.store import zone_of
from carecal.collection import backup as copies
from carecal.collection.database import FILE_NAME
from carecal.errors import CarecalError, UnknownName

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import date

    from carecal.app.now import Now

__all__ = ["Job", "JobResult", "Kind", "Outcome", "failed", "run_job"]

Kind = Literal["publish", "refresh", "verify", "status", "backup"]
Outcome = Literal["done", "unchanged", "faults", "failed"]


@dataclass(frozen=True, slots=True)
class Job:
    """What is to be done with each collection.

    Args:
        kind: The command.
        target: Where it is published, or the folder of copies.
        calendar: Name of the calendar that is published; it is added where there is none of that name.
        user: Who logs in at a store, or ''.
        password_file: File with the password in its first line, or ''.
        private: Whether an address of the own network is meant.
        as_of: The day that is today; None: the real one, in each collection's own zone.
        listens: Whether a refresh first enters what was ticked in accounts elsewhere.
    """

    kind: Kind
    target: str = ""
    calendar: str = "everyone"
    user: str = ""
    password_file: str = ""
    private: bool = False
    as_of: date | None = None
    listens: bool = False


@dataclass(frozen=True, slots=True)
class JobResult:
    """What came of it for one collection.

    Args:
        collection: Its path from the tree's folder.
        outcome: 'done', 'unchanged' where only its head was looked at, 'faults' where it was verified and is not sound,
            'failed' where the job could not be done.
        text: One line for people.
        data: The same for programs.
    """

    collection: str
    outcome: Outcome
    text: str
    data: dict[str, Any] = field(default_factory=dict)


def failed(name: str, reason: str) -> JobResult:
    """Return the result of a collection with which nothing could be done."""
    return JobResult(name, "failed", reason, {"fault": reason})


def run_job(root: str, name: str, job: Job) -> JobResult:
    """Do a job with one collection and tell what came of it; whatever is wrong with it stops nobody else.

    Args:
        root: Folder of the tree.
        name: The collection's path from there.
        job: What is to be done.
    """
    try:
        return _KINDS[job.kind](Path(root) / name, name, job)
    except CarecalError as error:
        return failed(name, str(error))
    except Exception as error:  # noqa: BLE001 - one broken collection is told and stops none of the others
        return failed(name, f"cannot be worked on: {type(error).__name__}: {error}")


def _publish(folder: Path, name: str, job: Job) -> JobResult:
    """Publish one calendar of the collection; where it stands already and nothing has changed it is only looked at."""
    with closing(Collection.open(folder)) as collection:
        now = _moment(collection, job)
        try:
            named_calendars.calendar_named(collection, job.calendar)
        except UnknownName:
            options = calendars.options_of(collection, now, name=job.calendar)
            named_calendars.add_calendar(collection, now, job.calendar, options)
        password_file = Path(job.password_file) if job.password_file else None
        told = publishing.publish_to(
            collection,
            now,
            job.calendar,
            job.target,
            user=job.user,
            password_file=password_file,
            private=job.private,
        )
    found = told.publication
    data = {
        "target": str(found.target),
        "events": found.events,
        "notes": list(told.notes),
        "file": found.file_name,
    }
    if not told.is_sent:
        return JobResult(name, "unchanged", "stands there as it is", data)
    text = f"published, {found.events} events"
    return JobResult(name, "done", f"{text}, as {found.file_name}" if told.is_new else text, data)


def _refresh(folder: Path, name: str, job: Job) -> JobResult:
    """Bring the collection's calendars up to date, and publish them again wherever they stand."""
    with closing(Collection.open(folder)) as collection:
        now = _moment(collection, job)
        heard = listening.listen(collection, now) if job.listens else []
        living = named_calendars.calendars_of(collection)
        is_fresh = all(calendars.current(collection, each, now) is not None for each in living)
        told = [(known.name, note) for known, note in calendars.refresh(collection, now)]
        sent = publishing.refresh_targets(collection, now)
    faults = [f"{calendar}: {note}" for calendar, note in told if note]
    faults += [f"{each.calendar} at {each.target}: {each.fault}" for each in sent if each.fault]
    faults += [f"{each.name} at {each.target}: {each.fault}" for each in heard if each.fault]
    if faults:
        return failed(name, "; ".join(faults))
    data: dict[str, Any] = {"calendars": len(told), "targets": len(sent)}
    if job.listens:
        data |= {
            "entries": sum(each.entries for each in heard),
            "notes": [n for each in heard for n in each.notes],
        }
    if not told:
        return JobResult(name, "unchanged", "no calendar has an address", data)
    return JobResult(name, "unchanged" if is_fresh else "done", "fresh", data)


def _verify(folder: Path, name: str, job: Job) -> JobResult:
    with closing(Collection.open(folder, readonly=True)) as collection:
        found = findings(collection, _now(collection, job))
    if found:
        return JobResult(name, "faults", "; ".join(found), {"faults": found})
    return JobResult(name, "done", "all is sound", {"faults": []})


def _status(folder: Path, name: str, job: Job) -> JobResult:
    with closing(Collection.open(folder, readonly=True)) as collection:
        found = status_of(collection, _now(collection, job))
    text = f"{found['collection']['name']}: {found['plants']} plants, {found['entries']} entries"
    return JobResult(name, "done", text, found)


def _backup(folder: Path, name: str, job: Job) -> JobResult:
    """Copy the collection to a file of its own below the target, unless the file is newer than all it would hold."""
    target = Path(job.target) / (f"{name}.zip" if name != "." else f"{folder.resolve().name}.zip")
    data = {"file": str(target)}
    if target.is_file() and target.stat().st_mtime > _touched(folder):
        return JobResult(name, "unchanged", "is copied already", data)
    target.parent.mkdir(parents=True, exist_ok=True)
    made = copies.backup(folder, target, force=True)
    return JobResult(
        name, "done", f"{made} copied", {**data, "entries": made.entries, "pictures": made.pictures}
    )


def _touched(folder: Path) -> float:
    """Return when anything of a collection was last written. [s since 1970]"""
    files = (path for path in folder.rglob("*") if path.is_file() and path.name != f"{FILE_NAME}-shm")
    return max((path.stat().st_mtime for path in files), default=0.0)


def _now(collection: Collection, job: Job) -> Now:
    return real_now(zone_of(collection.journal.connection), job.as_of)


def _moment(collection: Collection, job: Job) -> Now:
    """Return the moment for what plans or publishes.

    Raises:
        ClockError: The clock cannot be believed.
    """
    now = _now(collection, job)
    check_clock(collection, now)
    return now


_KINDS: Mapping[Kind, Callable[[Path, str, Job], JobResult]] = {
    "publish": _publish,
    "refresh": _refresh,
    "verify": _verify,
    "status": _status,
    "backup": _backup,
}
