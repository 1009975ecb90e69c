"""One row's answer: done, left damp, taken back, how it felt; what a script is told of it. It shows no page."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from carecal.app.actions import care as actions
from carecal.app.actions.corrections import amend, undo
from carecal.app.documents.day import day_round
from carecal.collection.entries import Undone
from carecal.errors import AlreadyDone, Refused, UnknownName
from carecal.wording.tasks import done_word, sentence

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from starlette.responses import Response

    from carecal.app.documents.day import Answer
    from carecal.app.door import Outcome
    from carecal.collection.entries import Entry
    from carecal.web.visit import Visit

__all__ = ["ANSWERS", "answers_sent", "felt_asked", "plant_of_task", "tick"]

ANSWERS = ("done", "damp", "felt", "undo")
FELT = ("parched", "right", "damp")
MOST_DIGITS = 15
MOST_TASKS = 12  # of one row; a plant has fewer cares
MOST_ENTRIES = 500  # of one round that is taken back; our choice, because no house has more plants
TITLES = {"undo": "taken back", "felt": "answer written down"}


def tick(visit: Visit, did: str, back: str) -> Response:
    """Take one row's answer; `back` is where the person goes on.

    Raises:
        Refused: The answer, the task or the day does not fit.
    """
    try:
        entries = _entries(visit, did)
        outcome = visit.write(*entries) if entries else None
    except AlreadyDone as done:
        if visit.wants_json:
            return visit.json(state="already", text=str(done), **_row_of(visit))
        raise
    except Refused as refusal:
        if visit.wants_json:
            return visit.json(422, state="refused", text=str(refusal), **_row_of(visit))
        raise
    if outcome is None:  # it stands so already: a second tap of the same kind changes nothing
        return visit.json(state="same", **_row_of(visit)) if visit.wants_json else visit.go(back)
    notice = _notice(visit, did, outcome)
    if visit.wants_json:
        shown = visit.part("notice.html", notice=notice, told=notice, to=back) if notice else ""
        return visit.json(state=did, notice=shown, **_row_now(visit, did))
    if visit.session:
        visit.site.tell(visit.session, **notice)
    plants = {plant_of_task(visit, task) for task in visit.texts("task")}
    return visit.go(f"{back}#at-{min(plants)}" if plants else back)


def _entries(visit: Visit, did: str) -> list[Entry]:
    if did == "undo":
        return _undone(visit)
    if did == "felt":
        return _felt(visit)
    return _answers(visit, did)


def _notice(visit: Visit, did: str, outcome: Outcome) -> dict[str, Any]:
    """Return what is said at the thumb: who, what was done, how it felt, the way back."""
    names = [
        visit.collection.timeline(visit.real.day).plants[n].name
        for n in dict.fromkeys(r.plant for r in outcome.records if r.plant is not None)
    ]
    name = visit.text("name") or ", ".join(names)
    words = " and ".join(dict.fromkeys(_word(record.kind, record.data) for record in outcome.records))
    title = f"{name}: {TITLES.get(did) or words}" if name else sentence(TITLES.get(did) or words)
    return {
        "title": title,
        "lines": outcome.following,
        "kind": "tick",
        "name": name,
        "tasks": visit.texts("task") if did in {"done", "damp"} else [],
        "cares": visit.texts("care"),
        "asks": did == "done" and visit.text("felt") is None and felt_asked(visit.texts("care")),
    }


def _word(kind: str, data: Mapping[str, Any]) -> str:
    return "left damp" if kind == "left" else done_word(str(data.get("care") or kind))


def felt_asked(cares: Sequence[str]) -> bool:
    """Return whether one of some cares wets the pot, so that how it felt may be said."""
    return any(care in actions.WETTINGS for care in cares)


def answers_sent(visit: Visit) -> list[Answer]:
    """Return what answered the tasks that were sent, on the day they were tapped."""
    day = _day_of_tap(visit) or visit.now.day
    _, answers = day_round(visit.collection, replace(visit.now, day=day))
    return [answers[task] for task in visit.texts("task")[:MOST_TASKS] if task in answers]


def _row_of(visit: Visit) -> dict[str, Any]:
    """Return a row as the server holds it: open, done or left, and by whom."""
    found = answers_sent(visit)
    if not found:
        return {"row": "open", "said": ""}
    kind, by = found[0].kind, "" if found[0].by == "owner" else f" by {found[0].by}"
    word = {"left": "left damp", "excepted": "not today"}.get(kind, "done")
    return {"row": "open" if kind == "excepted" else kind, "said": f"{word} {found[0].at}{by}"}


def _row_now(visit: Visit, did: str) -> dict[str, Any]:
    """Return a row as it stands after what was just written, without asking the plan once more."""
    if did == "undo":
        return {"row": "open", "said": ""}
    if did == "felt":
        found = _row_of(visit)
        return {**found, "said": f"{found['said']}, {visit.text('felt')}"}
    by = "" if visit.by == "owner" else f" by {visit.by}"
    word, state = ("left damp", "left") if did == "damp" else ("done", "done")
    return {"row": state, "said": f"{word} {visit.clock_time}{by}"}


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
                entries += actions.leave(*visit.here, care, [plant], task=task, on=on)
            elif did == "done":
                felt = visit.text("felt") if care in actions.WETTINGS else None
                entries += actions.done(*visit.here, care, [plant], task=task, felt=felt, on=on, sure=True)
            else:
                raise Refused(f"answer '{did}' is not known; allowed are {', '.join(ANSWERS)}")
        except AlreadyDone as done:
            answered = done
    if not entries and answered is not None:
        raise answered
    return entries


def _day_of_tap(visit: Visit) -> date | None:
    """Return the day of a tap kept without a connection; None: today, also where a phone's clock runs ahead."""
    on = visit.day("on")
    return None if on is None or on > visit.real.day else on


def _felt(visit: Visit) -> list[Entry]:
    """Return the entries that say how the medium felt, of what was done before.

    Raises:
        Refused: The answer is none of the three, or nothing was done yet.
    """
    felt = visit.need("felt")
    if felt not in FELT:
        raise Refused(f"felt '{felt[:40]}' is not known; allowed are {', '.join(FELT)}")
    wetted = [a for a in answers_sent(visit) if a.kind == "done" and a.care in actions.WETTINGS]
    if not wetted:
        raise Refused("nothing was wetted here yet; say first that it is done")
    found = []
    for answer in {answer.entry: answer for answer in wetted}.values():
        _check_own(visit, answer.entry)
        if answer.felt != felt:
            found += amend(*visit.here, answer.entry, {"felt": felt})
    return found


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

    A row that is open already needs none. A whole round names its entries.

    Raises:
        Refused: An entry is none, or it is not the sitter's own.
    """
    numbers = visit.texts("entry")[:MOST_ENTRIES] or [str(answer.entry) for answer in answers_sent(visit)]
    if not numbers and not visit.texts("task"):
        raise Refused("nothing was named that could be taken back")
    found: dict[int, int] = {}
    for number in numbers:
        if not number.isascii() or not number.isdecimal() or len(number) > MOST_DIGITS:
            raise Refused(f"entry '{number[:40]}' is not the number of an entry")
        _check_own(visit, int(number))
        found.setdefault(visit.collection.journal.command_of(int(number)), int(number))
    return [entry for number in found.values() for entry in _taken_back(visit, number)]


def _taken_back(visit: Visit, number: int) -> list[Entry]:
    """Return the entries that take back what wrote an entry, with what was said of it alone since: how it felt.

    Raises:
        Refused: It was taken back already, or other entries need it.
    """
    try:
        return undo(*visit.here, number)
    except Refused:
        found = undo(*visit.here, number, with_later=True)
        records = visit.collection.journal.records()
        mine = visit.collection.journal.command_of(number)
        numbers = {record.n for record in records if record.command == mine}
        gone = {entry.command for entry in found if isinstance(entry, Undone)} - {mine}
        others = [r for r in records if r.command in gone]
        if not all(r.kind == "amended" and int(r.data["entry"]) in numbers for r in others):
            raise
        return found


def _check_own(visit: Visit, entry: int) -> None:
    """Refuse a sitter who would take back or put right what somebody else wrote."""
    if not visit.session and visit.collection.journal.record(entry).by != visit.by:
        raise Refused("that is not yours; only what you ticked can be taken back")
