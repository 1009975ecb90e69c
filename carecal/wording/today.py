"""The round of a day in lines for people, metric or imperial."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from carecal.wording.amounts import grams_text, litres_text
from carecal.wording.assumed import assumed_lines
from carecal.wording.can import Fed, can_words
from carecal.wording.cautions import WARNED_DAYS
from carecal.wording.dates import day_text
from carecal.wording.rounds import fitting_asked
from carecal.wording.season import cold_line, heat_line
from carecal.wording.steps import told_by

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

__all__ = [
    "can_head",
    "can_text",
    "grams_text",
    "litres_text",
    "silent_line",
    "step_cautions",
    "today_lines",
    "weather_of",
]

SHORT_CAN = 40  # letters; our choice, because that is a line of a phone 360 px wide


def can_text(can: Mapping[str, Any], units: str) -> str:
    """Return what to mix, plain water first; empty for a dry round."""
    feeds = [
        Fed(*(mix[key] for key in ("ppm_n", "litres", "g_per_l", "fertiliser", "apart")))
        for mix in can["feeds"]
    ]
    return can_words(can["plain_l"], can["plain_apart_l"], feeds, units)


def can_head(can: Mapping[str, Any], units: str) -> str:
    """Return how much to carry in one short line, as 'Can: 5.5 L plain, 1.1 L feed'; what goes into it stands apart.

    It is '' where `can_text` is as short, so that nothing is folded away that would fit.
    """
    if len(can_text(can, units)) <= SHORT_CAN:
        return ""
    plain, feed = can["plain_l"], sum(mix["litres"] for mix in can["feeds"])
    amounts = ((plain, "plain"), (feed, "feed"))
    return "Can: " + ", ".join(f"{litres_text(much, units)} {what}" for much, what in amounts if much > 0)


def today_lines(document: Mapping[str, Any], units: str = "metric") -> Iterator[str]:
    """Yield the lines of a round's document."""
    first = next((r for r in document["rounds"] if r["on"] == document["as_of"]), None)
    yield from _urgent_lines(document["urgent"])
    yield from _weather_lines(document, units)
    tasks = _by_plant(first["tasks"]) if first else []
    yield _heading(document["day"], tasks, document["carried"], _beside(document))
    if first is not None:
        yield from _round_lines(first, units)
    if document["carried"]:
        yield ""
        yield "Carried over:"
        yield from (f"  {row['name']}: {row['text']}{_marks(row)}" for row in document["carried"])
    if document["watch"]:
        yield ""
        yield "Watch:"
        yield from (
            f"  {row['name']}: {_stopped(row['head'])} {row['text']}".rstrip() for row in document["watch"]
        )
    if document["steps"]:
        yield ""
        yield "Steps:"
        yield from (line for step in document["steps"] for line in _step_lines(step, document["as_of"]))
        yield from (f"  ! {text}" for text in step_cautions(document))
    if document["asks"]:
        yield ""
        yield from (f"? {ask['text']}" for ask in document["asks"])
    if document["assumed"]:
        yield ""
        yield from assumed_lines(document["assumed"])
    if document["care_days"]:
        yield ""
        yield from fitting_asked(document["care_days"]["text"])
    if document.get("silent"):
        yield ""
        yield from map(silent_line, document["silent"])
    for later in document["rounds"]:
        if later is not first:
            yield ""
            yield _heading(later["day"], _by_plant(later["tasks"]), [])
            yield from _round_lines(later, units)
    if document["changes"]:
        yield ""
        yield "Changed since yesterday:"
        yield from (f"  {text}" for text in document["changes"])
    if document["next_round"]:
        yield ""
        yield f"Next round: {document['next_round_text']}"


def step_cautions(document: Mapping[str, Any]) -> list[str]:
    """Return the cautions of the steps that are asked for, each once and none that the round tells already.

    A step that stands for weeks says them in its first week and in a month's, so that they are still read.
    """
    told = {c["text"] for found in document["rounds"] for c in found["cautions"] if not c["is_known"]}
    steps = [step for step in document["steps"] if _is_fresh(step["asked"], step["on"])]
    texts = dict.fromkeys(text for step in steps for text in step["cautions"])
    return [text for text in texts if text not in told]


def _is_fresh(asked: str, on: str) -> bool:
    """Return whether a day is in the first week of what is asked, or of a month."""
    begun, day = date.fromisoformat(asked), date.fromisoformat(on)
    return (day - begun).days < WARNED_DAYS or day.day <= WARNED_DAYS


def silent_line(row: Mapping[str, Any]) -> str:
    """Return that a place's sensor says nothing, with what to look at."""
    since = day_text(date.fromisoformat(row["since"]))
    place = row["place"].replace("-", " ")
    if not row["was_heard"]:
        return f"The sensor at {place} has not been heard yet; its address is from {since}."
    return f"The sensor at {place} was last heard on {since}; look at its battery and its network."


def _step_lines(step: Mapping[str, Any], as_of: str) -> Iterator[str]:
    """Yield a step and, from its day on, what to type once it was done."""
    if step["on"] != as_of:
        yield f"  {step['text']} (from {day_text(date.fromisoformat(step['on']))})"
        return
    yield f"  {step['text']}"
    says = told_by(step["step"], step["plant"], step["place"])
    if says:
        yield f"    done: {says}"


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


def _beside(document: Mapping[str, Any]) -> str:
    """Return what stands for 'nothing to do' on a day without a round on which something is asked all the same."""
    if document["urgent"] or document["tonight"] or document["heat"]:
        return "nothing else to do"
    steps = sum(step["on"] == document["as_of"] for step in document["steps"])
    return "" if not steps else "1 step" if steps == 1 else f"{steps} steps"


def _heading(day: str, tasks: list[Any], carried: list[Any], beside: str = "") -> str:
    parts = [_count(len(tasks)) if tasks else beside or _count(0)] if tasks or not carried else []
    if carried:
        parts.append(f"{len(carried)} carried over")
    return f"{day} – {', '.join(parts)}"


def _count(number: int) -> str:
    return "nothing to do" if number == 0 else "1 task" if number == 1 else f"{number} tasks"


def _round_lines(found: Mapping[str, Any], units: str) -> Iterator[str]:
    can = can_text(found["can"], units)
    if can:
        yield can
    for number, row in enumerate(_by_plant(found["tasks"]), 1):
        last = f"; last {row['last_done_text']}" if row["last_done"] else ""
        place = f" [{row['place'].replace('-', ' ')}]" if row["place"] else ""
        yield f"{number:3}. {row['name']}{place}: {row['text']}{_marks(row)}{last}"
    yield from (f"  ! {caution['text']}" for caution in found["cautions"] if not caution["is_known"])


def _by_plant(tasks: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """Return the lines of a round with one a plant: what is asked of it besides stands behind its first verb."""
    found: dict[str, Mapping[str, Any]] = {}
    for row in tasks:
        first = found.get(row["plant"])
        found[row["plant"]] = row if first is None else {**first, "text": f"{first['text']}; {row['text']}"}
    return list(found.values())


def _marks(row: Mapping[str, Any]) -> str:
    return f" ({', '.join(row['marks'])})" if row["marks"] else ""
