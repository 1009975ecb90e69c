"""Why a plant is treated as it is, and what is safe when, in lines for people."""

from __future__ import annotations

from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from carecal.wording.dates import day_month, day_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

__all__ = ["FEEDING_IS_SAFE", "fed_at", "next_line", "plain_text", "steps_lines", "why_lines"]

FEEDING_IS_SAFE = "Feeding is safe"


def why_lines(document: Mapping[str, Any]) -> Iterator[str]:
    """Yield the lines of a plant's document."""
    yield f"{document['name']} ({document['plant']}), {document['profile']}"
    yield from (f"  {text}" for text in _about(document))
    yield from (f"  {remark[:1].upper()}{remark[1:]}" for remark in document["remarks"])
    if not document["lent"]:
        yield from _rhythm_lines(document["rhythms"], document["as_of"])
    yield from (f"  {text[:1].upper()}{text[1:]}" for text in document["season"])
    if document["waits"]:
        yield f"  {document['waits'][:1].upper()}{document['waits'][1:]}"
    if document["suspended"]:
        yield f"  {document['suspended']}"
    yield f"What it has shown: {document['factor']['text']}"
    if document["factor"]["question"]:
        yield f"  {document['factor']['question']}"
    if document["salts"]:
        yield f"{document['salts'][:1].upper()}{document['salts'][1:]}"
    if document["forecasts"]:
        yield "Ahead:"
        yield from (f"  {forecast['text']}" for forecast in document["forecasts"])
    if document["next"]:
        yield "Next:"
        yield from map(next_line, document["next"])
    yield (
        f"Feeding: {document['feeding'][:1].lower()}{document['feeding'][1:]}"
        if document["feeding"]
        else "Feeding:"
    )
    yield from _gate_lines(document["gates"], document["plant"])
    yield from _step_lines(document["steps"])
    if document["last"]:
        yield "Last: " + ", ".join(f"{word} {_long(on)}" for word, on in document["last"].items())
    for each in document["assumed"]:
        answers = f"yes: carecal confirm {document['plant']}, no: carecal missed {document['plant']}"
        yield f"{_long(each['on'])}: {each['text']} ({answers})"
    for ahead in document["announced"]:
        yield f"Announced for {_long(ahead['on'])}: {ahead['kind']}, {ahead['text']}"


def steps_lines(document: Mapping[str, Any]) -> Iterator[str]:
    """Yield what is safe when, plant by plant."""
    if not document["steps"] and not document["gates"]:
        yield "nothing is safe now"
    for step in document["steps"]:
        yield from _step_lines([step])
    by_plant: dict[str, list[Mapping[str, Any]]] = {}
    for gate in document["gates"]:
        by_plant.setdefault(gate["name"], []).append(gate)
    for name, gates in by_plant.items():
        shut = [gate for gate in gates if not gate["open"]]
        yield f"{name}: feeding {'is held back' if shut else 'is safe'}"
        yield from _gate_lines(shut or [gate for gate in gates if gate["last_safe"]], gates[0]["plant"])


def plain_text(reasons: Sequence[str], until: date | None, *, is_rest: bool) -> str:
    """Return that a plant gets plain water, until when and why.

    Args:
        reasons: What holds its feed back, as gates say it.
        until: Last day of it; None: nobody can tell.
        is_rest: Whether it rests, which ends by a sign of its own.
    """
    why = "; ".join(dict.fromkeys(reason.split(": ")[0] for reason in reasons))
    when = (
        f" until {_long(until.isoformat())}"
        if until is not None
        else " until its rest is over"
        if is_rest
        else ""
    )
    return f"Plain water{when}, no feed: {why}"


def fed_at(word: str, ppm_n: float | None) -> str:
    """Return what was done, of a feed with the strength poured where that was told [mg/L of N]."""
    return word if ppm_n is None else f"{word} at {ppm_n:g} ppm N"


def _about(document: Mapping[str, Any]) -> Iterator[str]:
    if document["pot"]:
        yield document["pot"]
    marked = {"quarantine", "pest-watch"}  # these stand in the mark
    words = [document["stage"] or "stage unknown", *(s for s in document["states"] if s not in marked)]
    if document["flowering"] != "none":
        words.append(document["flowering"])
    words += [f"with {aid}" for aid in document["aids"]]
    words += document["marks"]
    if document["mother"]:
        words.append(f"on its mother {document['mother']}")
    yield ", ".join(dict.fromkeys(words))
    dates = [f"{word} {_long(document[word])}" for word in ("came", "potted") if document[word]]
    if dates:
        yield ", ".join(dates)


def _rhythm_lines(rhythms: Sequence[Mapping[str, Any]], as_of: str) -> Iterator[str]:
    if not rhythms:
        yield "No rhythm: nothing is wetted by a calendar; each look tells"
    told: set[str] = set()
    for rhythm in rhythms:
        if rhythm["aid"] not in told:
            told.add(rhythm["aid"])
            what = f"{rhythm['care'].capitalize()}{' of its ' + rhythm['aid'] if rhythm['aid'] else ''}"
            since = (
                f"from {_long(rhythm['from'])}"
                if rhythm["from"] > as_of
                else f"since {_long(rhythm['from'])}"
            )
            yield f"{what} every {_days(rhythm['days'])} ({rhythm['raw_days']:.1f} reckoned) {since}, because"
            yield from (f"  {reason['text']}" for reason in rhythm["reasons"])
            mine = [r for r in rhythms if r["aid"] == rhythm["aid"]]
            coming = [
                r
                for former, r in pairwise(mine)
                if (r["days"], r["care"]) != (former["days"], former["care"])
            ]
            if coming:
                yield "  Coming changes:"
            yield from (f"    {_change(later)}" for later in coming)


def _change(rhythm: Mapping[str, Any]) -> str:
    first = rhythm["reasons"][0] if rhythm["reasons"] else None
    if first is not None and first["code"] == "changed":
        return str(first["text"])
    return f"every {_days(rhythm['days'])} from {_long(rhythm['from'])}"


def _gate_lines(gates: Sequence[Mapping[str, Any]], plant: str) -> Iterator[str]:
    for gate in gates:
        text = gate["because"][0]["text"] if gate["because"] else gate["gate"]
        if gate["open"]:
            until = f", until {_long(gate['last_safe'])}" if gate["last_safe"] else ""
            yield f"  open: {text}{until}"
            continue
        yield f"  SHUT: {text}" + ("" if gate["unfed"] else f"; {_opening(gate)}")
        if gate["may_be_held_open"]:
            yield f"    to feed all the same: carecal gate {plant} {gate['gate']} open"


def _opening(gate: Mapping[str, Any]) -> str:
    """Return when a gate opens: its days, else the forecast, else that nobody can tell."""
    forecast = next((reason["text"] for reason in gate["because"] if reason["code"] == "forecast"), "")
    if gate["opens"]:
        until = f" and stays open until {_long(gate['last_safe'])}" if gate["last_safe"] else ""
        return f"opens {_long(gate['opens'])}{until}{'; ' if forecast else ''}{forecast}"
    if forecast:
        return forecast
    return "opens when its rest is over" if gate["gate"] == "rest" else "does not open within the plan"


def _step_lines(found: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    for step in found:
        title = step["title"] or f"{step['name']}: {step['step'].replace('-', ' ')}"
        days = [f"opens {_long(step['opens'])}"] if step["opens"] and step["status"] != "now" else []
        days += [f"last safe start {_long(step['last_safe'])}"] if step["last_safe"] else []
        days += [reason["text"] for reason in step["because"]]
        yield f"{title}: {step['status']}{' – ' + '; '.join(days) if days else ''}"


def next_line(task: Mapping[str, Any]) -> str:
    """Return what comes next of a plant, and how far it may be moved."""
    return f"  {_long(task['on'])}: {task['text']}{_window(task)}"


def _window(task: Mapping[str, Any]) -> str:
    """Return how far a task may be moved, as ' (3 to 5 December)'; '' where it may not."""
    first, last = (date.fromisoformat(task[key]) for key in ("earliest", "latest"))
    if first == last:
        return ""
    is_same = (first.year, first.month) == (last.year, last.month)
    begin = str(first.day) if is_same else day_text(first)
    return f" ({begin} to {day_text(last)} will do)"


def _long(day: str) -> str:
    return day_month(date.fromisoformat(day))


def _days(days: int) -> str:
    return "day" if days == 1 else f"{days} days"
