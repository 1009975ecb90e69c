"""What a calendar program writes into a to-do, as entries: done, taken back, a note; everything else means nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple
from uuid import UUID
from zoneinfo import ZoneInfo

import icalendar

from carecal.app.actions.care import done
from carecal.app.actions.corrections import undo
from carecal.app.store import secret
from carecal.calendars.uids import entry_key, uid
from carecal.errors import AlreadyDone, ConfirmationNeeded, Refused
from carecal.wording.clean import clean_line

if TYPE_CHECKING:
    from datetime import date

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.app.people.account_objects import Held
    from carecal.calendars.subscriptions import NamedCalendar
    from carecal.collection.entries import Entry
    from carecal.plan.model import Task

__all__ = ["Written", "entries_of", "read_todo"]

LONGEST_NOTE = 400  # characters; our choice, because it is typed on a phone


class Written(NamedTuple):
    """What a program says of a to-do.

    Args:
        is_done: Whether it is completed, by status, share or instant.
        completed: When, if it says so.
        note: What was typed into it and did not stand there, on one line.
    """

    is_done: bool
    completed: date | None
    note: str


def read_todo(content: bytes, held: Held, zone: str) -> Written | None:
    """Return what a program says of a to-do; None where what it sent is none, or is of another UID.

    Args:
        content: What it sent.
        held: The to-do as it stands here.
        zone: The collection's time zone.
    """
    try:
        sent = icalendar.Calendar.from_ical(content).walk("VTODO")
        before = icalendar.Calendar.from_ical(held.content).walk("VTODO")
    except (ValueError, IndexError, KeyError):
        return None
    if len(sent) != 1 or str(sent[0].get("UID", "")) != held.uid or not before:
        return None
    todo = sent[0]
    status = str(todo.get("STATUS", "")).upper()
    is_done = status == "COMPLETED" or str(todo.get("PERCENT-COMPLETE", "")) == "100" or "COMPLETED" in todo
    when = getattr(todo.get("COMPLETED"), "dt", None)
    if when is not None and hasattr(when, "astimezone"):
        when = when.astimezone(ZoneInfo(zone)).date()
    known = {line.strip() for line in str(before[0].get("DESCRIPTION", "")).splitlines()}
    typed = [*str(todo.get("DESCRIPTION", "")).splitlines(), *_comments(todo)]
    note = clean_line(" ".join(line.strip() for line in typed if line.strip() and line.strip() not in known))
    return Written(is_done and status not in {"NEEDS-ACTION", "IN-PROCESS"}, when, note[:LONGEST_NOTE])


def _done(collection: Collection, now: Now, task: Task, plant: str, on: date) -> list[Entry]:
    """Return the entry of a task, on its day or, where that does not fit, today.

    A wetting that is ticked before the one that comes first is the care that was given, whatever it answers; said again
    on that day it is nothing new.

    Raises:
        Refused: The care does not fit.
    """
    for day in dict.fromkeys((on, now.day)):
        try:
            return done(collection, now, task.care, [plant], on=day, task=task.id, sure=True)
        except AlreadyDone:
            return []
        except Refused:
            continue
    try:
        return done(collection, now, task.care, [plant], on=on)
    except ConfirmationNeeded:
        return []


def _comments(todo: icalendar.Component) -> list[str]:
    found = todo.get("COMMENT", [])
    return [str(each) for each in (found if isinstance(found, list) else [found])]


def entries_of(
    collection: Collection, now: Now, calendar: NamedCalendar, held: Held, written: Written
) -> list[Entry]:
    """Return the entries of what was written into a to-do; none where it says what is known already.

    Raises:
        Refused: The day does not fit.
    """
    number = collection.journal.ids().get(held.plant)
    if number is None or written.is_done == held.is_done:
        return []
    plan = collection.planner(now.day, plants={number}).plan("each", with_gates=False)
    namespace, generation = UUID(collection.id), int(secret(collection.journal.connection, "generation") or 1)

    def names(key: str) -> bool:
        return uid(namespace, calendar.key, generation, key) == held.uid

    if not written.is_done:
        ticked = [fact for fact in plan.facts if names(fact.task or entry_key(fact.entry))]
        return undo(collection, now, ticked[-1].entry) if ticked else []
    task = next((task for task in plan.tasks if names(task.id)), None)
    if task is None or task.care == "step":
        return []
    on = min(written.completed, now.day) if written.completed is not None else now.day
    entries = _done(collection, now, task, held.plant, on)
    return [entry.model_copy(update={"note": written.note}) for entry in entries] if written.note else entries
