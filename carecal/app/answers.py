"""What a writing command is answered with: two or three lines on what was done, what is next and what changed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.wording import answers as say
from carecal.wording.notes import notes_taken
from carecal.wording.tasks import verb

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from carecal.collection.records import Record
    from carecal.plan.model import Gate, Plan, Rhythm, Task

__all__ = ["answer"]

MOST_DONE = 3  # our choice: lines on what was done, as on a round with feeds and flushes
MOST_NOTES = 8  # our choice, because more that was done on several days is read as a sum
SEASON_DAYS = 120  # our choice, because beyond a season feeds and flushes shift with each tick [d]
SALTS = "salts"
WAITING = frozenset({"planned", "open", "overdue"})


def answer(
    trial: Sequence[Record], before: Sequence[Record], former: Plan | None, later: Plan | None
) -> tuple[list[str], list[str]]:
    """Return what was done and comes next, and what changed, each in lines for people.

    Args:
        trial: The records of the command.
        before: The records that stood before it, of the plants concerned.
        former: The plan of those plants without the command; None: there was none yet.
        later: The plan with it; None: there is none.
    """
    if later is None:
        return [], []
    names = {view.number: view.name for plan in (former, later) if plan is not None for view in plan.plants}
    lines = list(_done(trial, before, names, later.as_of))
    if len(lines) > MOST_DONE:
        lines = [*lines[: MOST_DONE - 1], f"And {len(lines) - MOST_DONE + 1} more."]
    following = _next(trial, later, names)
    changes = _changes(former, later, names, is_notebook=_is_notebook(trial))
    return [*lines, *([following] if following else [])], list(dict.fromkeys(changes))


def _done(
    trial: Sequence[Record], before: Sequence[Record], names: dict[int, str], today: date
) -> Iterator[str]:
    """Yield what the records say, plants that say the same on one line."""
    undone = {int(r.data["command"]) for r in trial if r.kind == "undone"}
    if undone:
        yield say.taken_back(list(_done([r for r in before if r.command in undone], (), names, today)))
    alike: dict[tuple[object, ...], list[Record]] = {}
    for record in trial:
        if record.kind != "undone":
            alike.setdefault(_key(record), []).append(record)
    if _is_notebook(trial):
        trial = [record for record in trial if record.kind != "amended"]
        days = {record.on for record in trial}
        plants = {record.plant for record in trial if record.plant is not None}
        yield f"{notes_taken(len(trial), len(plants), min(days), max(days), today)}."
        return
    for group in alike.values():
        told = group[0]
        if told.kind == "amended":
            amended = [r for r in before if r.n == told.data["entry"] and r.plant is not None]
            group = amended or group
        who = [names[n] for n in dict.fromkeys(r.plant for r in group) if n is not None and n in names]
        yield say.did(who, {"kind": told.kind, **told.data}, told.on, today)


def _is_notebook(records: Sequence[Record]) -> bool:
    """Return whether a command tells of many things on several days, which are read as a sum."""
    said = [record for record in records if record.kind not in {"amended", "undone"}]
    return len(said) > MOST_NOTES and len({record.on for record in said}) > 1


def _key(record: Record) -> tuple[object, ...]:
    """Return what two records must share to stand on one line: all but the plant and the task they answer."""
    said = {k: v for k, v in record.data.items() if k not in {"task", "unseen"} and v not in (None, False)}
    return record.kind, record.on, repr(sorted(said.items()))


def _next(trial: Sequence[Record], later: Plan, names: dict[int, str]) -> str:
    """Return the next thing to do for the plants of the command; '' where it names none."""
    mine = {record.plant for record in trial if record.plant is not None}
    mine |= {view.number for view in later.plants} if any(r.kind == "undone" for r in trial) else set()
    tasks = [t for t in later.tasks if t.plant in mine and t.status in WAITING and t.care != "step"]
    first = min(tasks, key=lambda t: (t.on, t.care == "inspection"), default=None)
    if first is None:
        return ""
    name = names[first.plant] if len(mine) > 1 else ""
    return say.next_task(
        name,
        verb(first).replace("look at", "look"),
        first.on,
        later.as_of,
        is_exact=first.earliest == first.latest,
    )


def _changes(former: Plan | None, later: Plan, names: dict[int, str], *, is_notebook: bool) -> Iterator[str]:
    """Yield what the command changed for the plants of the collection, the weightiest first."""
    if former is None:
        return
    turned = _turned(former.tasks, [t for t in later.tasks if (t.on - later.as_of).days <= SEASON_DAYS])
    paced = _paced(former.rhythms, later.rhythms, {v.number: v.name for v in later.plants})
    yield from (*paced, *turned) if is_notebook else (*turned, *paced)
    yield from _feeding(former.gates, later.gates, names, later.as_of)


def _turned(old: Sequence[Task], new: Sequence[Task]) -> Iterator[str]:
    before = {t.id: t for t in old}
    found: dict[tuple[str, str], list[date]] = {}
    for task in new:
        was = before.get(task.id)
        is_told = was is not None and was.care != task.care and "feeding" in {was.care, task.care}
        if is_told and was is not None and was.on == task.on and task.status in WAITING:
            found.setdefault((was.care, task.care), []).append(task.on)
    net = {key: days[len(found.get(key[::-1], ())) :] for key, days in found.items()}
    for (care, became), days in sorted(net.items(), key=lambda item: -len(item[1])):
        if days:  # a feed that only comes some days later or sooner is no change to tell
            yield say.turned(care, became, days)


def _paced(old: Sequence[Rhythm], new: Sequence[Rhythm], names: dict[int, str]) -> Iterator[str]:
    before, after = _first(old), _first(new)
    for key, rhythm in after.items():
        was = before.get(key)
        if was is not None and was.days != rhythm.days and was.care == rhythm.care:
            yield say.paced(names[key[0]], rhythm.care, rhythm.days, was.days, rhythm.because)
        elif was is not None and was.care != rhythm.care:
            yield say.paced_otherwise(names[key[0]], rhythm.care, rhythm.days, was.care)
    for key, was in before.items():
        if key not in after and key[0] in names:
            yield say.no_longer(names[key[0]], was.care)


def _first(rhythms: Sequence[Rhythm]) -> dict[tuple[int, str], Rhythm]:
    found: dict[tuple[int, str], Rhythm] = {}
    for rhythm in rhythms:
        found.setdefault((rhythm.plant, rhythm.aid), rhythm)
    return found


def _feeding(old: Sequence[Gate], new: Sequence[Gate], names: dict[int, str], today: date) -> Iterator[str]:
    """Yield where feeding is held back from now on, or no longer: of gates behind another that is shut, nothing."""
    before = {(g.plant, g.gate): g for g in old}
    shut = {g.plant for g in new if not g.open}
    held = {g.plant for g in old if not g.open}
    found: dict[tuple[str, date | None, bool], list[str]] = {}
    for gate in new:
        was = before.get((gate.plant, gate.gate))
        if was is None or was.open == gate.open or gate.plant in (shut if gate.open else held):
            continue
        if gate.gate == SALTS:  # comes and goes with feeds and flushes, and the next task says which it is
            continue
        why = gate.because[0].text if gate.because else gate.gate
        found.setdefault((why, gate.opens, gate.open), []).append(names[gate.plant])
    for (why, opens, is_open), who in found.items():
        yield say.feeding_held(who, why, opens, today, is_open=is_open)
