"""The round of a day in lines for people, metric or imperial."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from carecal.wording.amounts import grams_text, litres_text
from carecal.wording.assumed import assumed_lines
from carecal.wording.can import Fed, can_words
from carecal.wording.season import cold_line, heat_line

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

__all__ = ["can_text", "grams_text", "litres_text", "step_cautions", "today_lines", "weather_of"]


def can_text(can: Mapping[str, Any], units: str) -> str:
    """Return what to mix, plain water first; empty for a dry round."""
    feeds = [
        Fed(*(mix[key] for key in ("ppm_n", "litres", "g_per_l", "fertiliser", "apart")))
        for mix in can["feeds"]
    ]
    return can_words(can["plain_l"], can["plain_apart_l"], feeds, units)


def today_lines(document: Mapping[str, Any], units: str = "metric") -> Iterator[str]:
    """Yield the lines of a round's document."""
    first = next((r for r in document["rounds"] if r["on"] == document["as_of"]), None)
    yield from _urgent_lines(document["urgent"])
    yield from _weather_lines(document, units)
    yield _heading(document["day"], first["tasks"] if first else [], document["carried"])
    if first is not None:
        yield from _round_lines(first, units)
    if document["carried"]:
        yield ""
        yield "Carried over:"
        yield from (f"  {row['name']}: {row['text']}{_marks(row)}" for row in document["carried"])
    if document["watch"]:
        yield ""
        yield "Watch:"
        yield from (f"  {row['name']}: {_stopped(row['head'])} {row['text']}" for row in document["watch"])
    if document["steps"]:
        yield ""
        yield "Steps:"
        yield from (f"  {_step_text(step, document['as_of'])}" for step in document["steps"])
        yield from (f"  ! {text}" for text in step_cautions(document))
    if document["asks"]:
        yield ""
        yield from (f"? {ask['text']}" for ask in document["asks"])
    if document["assumed"]:
        yield ""
        yield from assumed_lines(document["assumed"])
    for later in document["rounds"]:
        if later is not first:
            yield ""
            yield _heading(later["day"], later["tasks"], [])
            yield from _round_lines(later, units)
    if document["changes"]:
        yield ""
        yield "Changed since yesterday:"
        yield from (f"  {text}" for text in document["changes"])
    if document["next_round"]:
        yield ""
        yield f"Next round: {document['next_round_text']}"


def step_cautions(document: Mapping[str, Any]) -> list[str]:
    """Return the cautions of the steps that are asked for, each once and none that the round tells already."""
    told = {caution["text"] for found in document["rounds"] for caution in found["cautions"]}
    texts = dict.fromkeys(text for step in document["steps"] for text in step["cautions"])
    return [text for text in texts if text not in told]


def _step_text(step: Mapping[str, Any], as_of: str) -> str:
    when = "" if step["on"] == as_of else f" (from {step['on']})"
    return f"{step['text']}{when}"


def _urgent_lines(urgent: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    """Yield what comes before the round: plants in trouble, what to do now, cautions."""
    for row in urgent:
        yield f"! {row['name']}: {row['head']}"
        if row["text"]:
            yield f"  {row['text']}"
        yield from (f"  {caution}" for caution in row["cautions"])
    if urgent:
        yield ""


def _weather_lines(document: Mapping[str, Any], units: str) -> Iterator[str]:
    """Yield who must come in tonight, where it is too hot, and who gets a little water all the same."""
    lines = weather_of(document, units)
    yield from (f"! {line}" for line in lines)
    if lines:
        yield ""


def weather_of(document: Mapping[str, Any], units: str) -> list[str]:
    """Return who must come in tonight, where it is too hot, and who gets a little water all the same, a line each."""
    today = date.fromisoformat(document["as_of"])
    cold = [cold_line(row, today, today, units) for row in document["tonight"]]
    return [*cold, *(heat_line(row, units) for row in document["heat"]), *document["held"]]


def _stopped(text: str) -> str:
    """Return a text with a full stop, where it has no other end."""
    return text if text.endswith("?") else f"{text}."


def _heading(day: str, tasks: list[Any], carried: list[Any]) -> str:
    parts = [_count(len(tasks))] if tasks or not carried else []
    if carried:
        parts.append(f"{len(carried)} carried over")
    return f"{day} – {', '.join(parts)}"


def _count(number: int) -> str:
    return "nothing to do" if number == 0 else "1 task" if number == 1 else f"{number} tasks"


def _round_lines(found: Mapping[str, Any], units: str) -> Iterator[str]:
    can = can_text(found["can"], units)
    if can:
        yield can
    for number, row in enumerate(found["tasks"], 1):
        last = f"; last {row['last_done_text']}" if row["last_done"] else ""
        place = f" [{row['place']}]" if row["place"] else ""
        yield f"{number:3}. {row['name']}{place}: {row['text']}{_marks(row)}{last}"
    for caution in found["cautions"]:
        yield f"  ! {caution['text']}"


def _marks(row: Mapping[str, Any]) -> str:
    return f" ({', '.join(row['marks'])})" if row["marks"] else ""
