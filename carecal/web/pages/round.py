"""The Round: what to do today, in order; a tap is done, another tap takes it back."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from carecal.app.actions import care as actions
from carecal.app.actions.corrections import undo
from carecal.app.actions.whole_round import done_round
from carecal.app.documents.day import day_round
from carecal.app.documents.looking import tonight_document
from carecal.app.documents.today import today
from carecal.app.publish.named_calendars import calendars_of, note_of
from carecal.errors import AlreadyDone, Refused, UnknownName
from carecal.web.templating import words

if TYPE_CHECKING:
    from starlette.responses import Response

    from carecal.app.documents.day import Answer
    from carecal.collection.entries import Entry
    from carecal.web.visit import Visit

__all__ = ["act_round", "plant_of_task", "rows_of", "show_round", "tick"]

MOST_DIGITS = 15
MOST_TASKS = 12  # of one row; a plant has fewer cares


def show_round(visit: Visit) -> Response:
    """Show the day's round; a link in a calendar leads here and ticks nothing."""
    document, answers = day_round(visit.collection, visit.now)
    mine = next((r for r in document["rounds"] if r["on"] == document["as_of"]), None)
    rows = rows_of(mine["tasks"] if mine else [], answers)
    carried = rows_of(document["carried"], answers)
    current = today(visit.collection, visit.now.day) if answers else document
    return visit.page(
        "round.html",
        document=document,
        round=mine,
        rows=rows,
        carried=carried,
        left=_left(rows) + _left(carried),
        next_on=current["next_round"],
        banner=_banner(visit),
    )


def rows_of(rows: list[dict[str, Any]], answers: dict[str, Answer]) -> list[dict[str, Any]]:
    """Return the rows of a list with their tasks, cares and what became of them."""
    found = []
    for row in rows:
        tasks = row.get("tasks") or [row["task"]]
        given = [answers[task] for task in tasks if task in answers]
        state = given[0].kind if len(given) == len(tasks) else "open"
        answer, entries = (given[0] if given else None), sorted({each.entry for each in given})
        cares = row.get("cares") or [row["care"]]
        found.append(
            {**row, "tasks": tasks, "state": state, "answer": answer, "entries": entries, "cares": cares}
        )
    return found


def _left(rows: list[dict[str, Any]]) -> int:
    return sum(row["state"] == "open" for row in rows)


def _banner(visit: Visit) -> list[str]:
    """Return what matters before all else, one line each: the clock, the cold, a calendar that stands still."""
    lines = []
    cold = tonight_document(visit.collection, visit.now.day)["plants"]
    if cold:
        by_place: dict[str, list[str]] = {}
        for row in cold:
            by_place.setdefault(row["place"], []).append(row["name"])
        where = "; ".join(f"{', '.join(names)} ({words(place)})" for place, names in by_place.items())
        lines.append(f"Cold tonight for {where}")
    for calendar in calendars_of(visit.collection):
        note = note_of(visit.collection, calendar)
        if note:
            lines.append(f"Calendar {calendar.name} shows an older plan: {note}")
    return lines


def act_round(visit: Visit) -> Response:
    """Take what a row says, or the whole round."""
    did = visit.need("do")
    if did == "round":
        return _whole_round(visit)
    return tick(visit, did, "/")


def tick(visit: Visit, did: str, back: str) -> Response:
    """Take one row's answer: done, damp (looked at and left), or undo; `back` is where the person goes on.

    Raises:
        Refused: The answer, the task or the day does not fit.
    """
    if did == "undo":
        outcome = visit.write(*_undone(visit))
        title = "Taken back"
    else:
        try:
            outcome = visit.write(*_answers(visit, did))
        except AlreadyDone as done:
            if visit.wants_json:
                return visit.json(state="already", text=str(done), entry=_entry_of(visit))
            raise
        title = "Written down"
    if visit.wants_json:
        return visit.json(
            state="undone" if did == "undo" else did,
            entry=outcome.records[0].n,
            by=visit.by,
            at=visit.clock_time,
            lines=list(outcome.consequences),
        )
    if visit.session:
        visit.site.tell(visit.session, title=title, lines=list(outcome.consequences), entry=None)
    return visit.go(f"{back}#list")


def _answers(visit: Visit, did: str) -> list[Entry]:
    """Return the entries of a row: of each of its tasks the care that it asks for."""
    tasks, cares = visit.texts("task"), visit.texts("care")
    if not tasks or len(tasks) != len(cares) or len(tasks) > MOST_TASKS:
        raise Refused(f"{len(tasks)} tasks and {len(cares)} cares were sent; each task has one care")
    on = _day_of_tap(visit)
    entries: list[Entry] = []
    answered: AlreadyDone | None = None
    for task, care in zip(tasks, cares, strict=True):
        plant = plant_of_task(visit, task)
        try:
            if did == "damp" and care == "inspection" and len(tasks) > 1:
                continue  # a look of the same line stays to be done
            if did == "damp":
                entries += actions.leave(visit.collection, visit.real, care, [plant], task=task, on=on)
            elif did == "done":
                felt = visit.text("felt") if care in actions.WETTINGS else None
                entries += actions.done(
                    visit.collection, visit.real, care, [plant], task=task, felt=felt, on=on, sure=True
                )
            else:
                raise Refused(f"answer '{did}' is not known; allowed are done, damp, undo")
        except AlreadyDone as done:
            answered = done
    if not entries and answered is not None:
        raise answered
    return entries


def _day_of_tap(visit: Visit) -> date | None:
    """Return the day of a tap kept without a connection; None: today, also where a phone's clock runs ahead."""
    on = visit.day("on")
    return None if on is None or on > visit.real.day else on


def _entry_of(visit: Visit) -> int | None:
    """Return the entry that answered the tasks sent, where it was written today."""
    _, answers = day_round(visit.collection, visit.now)
    return next((answers[task].entry for task in visit.texts("task") if task in answers), None)


def plant_of_task(visit: Visit, task: str) -> str:
    """Return the id of the plant that a task is of.

    Raises:
        UnknownName: No plant has it.
    """
    parts = task.split("/")
    if len(parts) < 3 or parts[0] not in {"task", "look"} or not parts[1].isdecimal():
        raise UnknownName("task", task[:80])
    number = int(parts[1])
    known = {n: name for name, n in visit.collection.journal.ids().items()}
    if number not in known:
        raise UnknownName("task", task[:80])
    return known[number]


def _undone(visit: Visit) -> list[Entry]:
    """Return the entries that take back what answered a row: each command that wrote some of it, once.

    Raises:
        Refused: No entry is named, one is none, or it is not the sitter's own.
    """
    numbers = visit.texts("entry")[:MOST_TASKS]
    if not numbers:
        raise Refused("entry is missing; name the one to take back")
    found: dict[int, int] = {}
    for number in numbers:
        if not number.isascii() or not number.isdecimal() or len(number) > MOST_DIGITS:
            raise Refused(f"entry '{number[:40]}' is not the number of an entry")
        _check_own(visit, int(number))
        found.setdefault(visit.collection.journal.command_of(int(number)), int(number))
    return [entry for number in found.values() for entry in undo(visit.collection, visit.real, number)]


def _check_own(visit: Visit, entry: int) -> None:
    """Refuse a sitter who would take back what somebody else wrote."""
    if not visit.session and visit.collection.journal.record(entry).by != visit.by:
        raise Refused(f"entry {entry} is not yours; you can only take back what you ticked")


def _whole_round(visit: Visit) -> Response:
    """Tick the whole round but for the marked plants, each by a command of its own: each is taken back alone."""
    entries = done_round(visit.collection, visit.real, on=visit.day("on"), excepted=visit.texts("except"))
    outcome = visit.write(*entries, apart=True)
    done = sum(entry.kind == "done" for entry in entries)
    title = f"{done} done, {len(entries) - done} not today"
    if not outcome.is_written:
        return visit.written(outcome, title, "/")
    answer = visit.say(title, "/#list", outcome.consequences)
    return visit.json(state="round") if visit.wants_json else answer
