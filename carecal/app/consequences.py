"""What an entry changes in the coming plan, summed by cause, in at most ten lines for people."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from carecal.wording.dates import day_month

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from carecal.plan.model import Gate, Plan, PlantView, Rhythm, Step, Task

__all__ = ["consequences", "differences"]

MOST_LINES = 10


def consequences(before: Plan | None, after: Plan | None) -> list[str]:
    """Return what differs between two plans of the same plants, in at most ten lines.

    Args:
        before: The plan without the entry; None: there was none yet.
        after: The plan with it; None: there is none.
    """
    if after is None:
        return []
    body = differences(before, after)
    tasks = _task_line(before.tasks if before else (), after.tasks)
    room = MOST_LINES - len(tasks)
    if len(body) > room:
        body = [*body[: room - 1], f"and {len(body) - room + 1} more such changes"]
    return [*body, *tasks] or ["nothing in the coming plan changes"]


def differences(before: Plan | None, after: Plan) -> list[str]:
    """Return what differs between two plans in plants, rhythms, gates and steps, one line each."""
    old = before.plants if before is not None else ()
    lines = _came_and_went(old, after.plants)
    names = {view.number: view.name for view in (*old, *after.plants)}
    rhythms = _rhythm_lines(before.rhythms if before else (), after.rhythms, names, after.as_of)
    gates = _gate_lines(before.gates if before else (), after.gates, names)
    steps = _step_lines(before.steps if before else (), after.steps, names)
    return [*lines, *rhythms, *gates, *steps]


def _came_and_went(old: Iterable[PlantView], new: Iterable[PlantView]) -> list[str]:
    before, after = {v.number: v for v in old}, {v.number: v for v in new}
    lines = [f"{view.name} joins the collection" for number, view in after.items() if number not in before]
    lines += [f"{view.name} leaves the collection" for number, view in before.items() if number not in after]
    for number, view in after.items():
        former = before.get(number)
        if former is not None and former.stage != view.stage:
            lines.append(f"{view.name}: stage {former.stage or 'unknown'} → {view.stage or 'unknown'}")
    return lines


def _now(rhythms: Iterable[Rhythm]) -> dict[tuple[int, str], Rhythm]:
    first: dict[tuple[int, str], Rhythm] = {}
    for rhythm in rhythms:
        first.setdefault((rhythm.plant, rhythm.aid), rhythm)
    return first


def _rhythm_lines(
    old: Iterable[Rhythm], new: Iterable[Rhythm], names: dict[int, str], as_of: date
) -> list[str]:
    before, after, lines = _now(old), _now(new), []
    for key, rhythm in after.items():
        former, name = before.get(key), names[key[0]]
        what = f"{name}: {rhythm.care}" + (f" of its {rhythm.aid}" if rhythm.aid else "")
        if former is None:
            lines.append(f"{what} every {_days(rhythm.days)} from {day_month(rhythm.start)}")
        elif (former.days, former.care) != (rhythm.days, rhythm.care):
            was = (
                f"{former.care} every {_days(former.days)}"
                if former.care != rhythm.care
                else _days(former.days)
            )
            lines.append(f"{what} every {_days(rhythm.days)}, was {was}{_because(rhythm, as_of)}")
    lines += [
        f"{names[key[0]]}: no {r.care} for now"
        for key, r in before.items()
        if key not in after and key[0] in names
    ]
    return lines


def _because(rhythm: Rhythm, as_of: date) -> str:
    """Return what changed a rhythm that begins on the plan's day, as ': repotted, settling in'; else nothing."""
    return f": {rhythm.because}" if rhythm.because and rhythm.start >= as_of else ""


def _gate_lines(old: Iterable[Gate], new: Iterable[Gate], names: dict[int, str]) -> list[str]:
    before = {(g.plant, g.gate): g for g in old}
    lines, changed = [], Counter[str]()
    for gate in new:
        former = before.get((gate.plant, gate.gate))
        if former is None or former.open == gate.open:
            continue
        text = gate.because[0].text if gate.because else gate.gate
        if gate.open:
            line = f"feeding may begin: {text}"
        else:
            until = f", opens {day_month(gate.opens)}" if gate.opens else ""
            line = f"no feed: {text}{until}"
        changed[line] += 1
        if changed[line] == 1:
            lines.append((line, names[gate.plant]))
    return [
        f"{name}: {line}" if changed[line] == 1 else f"{changed[line]} plants: {line}" for line, name in lines
    ]


def _step_lines(old: Iterable[Step], new: Iterable[Step], names: dict[int, str]) -> list[str]:
    """Return which steps came, went or changed their days; of a plant that joins or leaves nothing is said."""
    before = {(s.plant, s.step): s for s in old if s.plant in names}
    after = {(s.plant, s.step): s for s in new}
    lines = []
    for key, step in after.items():
        former, when = before.get(key), _when(step)
        if former is None:
            lines.append(f"{names[key[0]]}: step {_words(step)}: {when}")
        elif _when(former) != when:
            lines.append(f"{names[key[0]]}: step {_words(step)}: {when}, was: {_when(former)}")
    gone = [step for key, step in before.items() if key not in after]
    return [*lines, *(f"{names[step.plant]}: step {_words(step)} is not asked for any more" for step in gone)]


def _words(step: Step) -> str:
    return step.step.replace("-", " ")


def _when(step: Step) -> str:
    opens = f", opens {day_month(step.opens)}" if step.status != "now" and step.opens else ""
    last = f", last safe start {day_month(step.last_safe)}" if step.last_safe else ""
    return f"{step.status}{opens}{last}"


def _task_line(old: Iterable[Task], new: Iterable[Task]) -> list[str]:
    before, after = {t.id: t for t in old}, {t.id: t for t in new}
    added, dropped = after.keys() - before.keys(), before.keys() - after.keys()
    both = after.keys() & before.keys()
    moved = [i for i in both if before[i].on != after[i].on]
    turned = Counter(
        f"{before[i].care} to {after[i].care}"
        for i in sorted(both)
        if before[i].on == after[i].on and before[i].care != after[i].care
    )
    parts = [
        f"{len(group)} {word}"
        for group, word in ((added, "added"), (moved, "moved"), (dropped, "dropped"))
        if group
    ]
    parts += [f"{count} turned from {text} on the same day" for text, count in sorted(turned.items())]
    return [f"tasks until the end of the plan: {', '.join(parts)}"] if parts else []


def _days(days: int) -> str:
    return "day" if days == 1 else f"{days} days"
