"""One entry of the journal as people say it: what happened, in plant words, without keys, ids or numbers of tasks."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING, Any

from carecal.wording.clean import clean_line
from carecal.wording.dates import MONTHS
from carecal.wording.sick import rot_place
from carecal.wording.tasks import done_word

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

__all__ = ["entry_sentence"]

_PAUSED = {"all": "all care"}
_TO = {
    ("spike", "keep"): "spike kept",
    ("spike", "cut"): "spike cut",
    ("spike", "let-run"): "spike left to run",
    ("bloom", "allow"): "a spike may come",
    ("bloom", "not-yet"): "no spike yet",
    ("reservoir", "empty"): "reservoir emptied on purpose",
    ("reservoir", "filled"): "reservoir filled",
    ("gate", "open"): "feeding held open by hand",
    ("gate", "auto"): "feeding left to its own signs",
}
_DID = {
    "cut": "cut to sound tissue",
    "wiped": "wiped",
    "washed": "washed",
    "soaked": "soaked",
    "moved-apart": "set apart",
    "by-label": "treated by a label",
}
_CROWN = {"lost": "crown lost", "shoot": "a shoot from the base"}
_REST = {"begun": "its rest has begun", "goes-on": "still at rest", "over": "its rest is over"}
_MERGED = {"lost": "lost", "given-away": "given away", "merged": "merged into another pot"}


def entry_sentence(entry: Mapping[str, Any]) -> str:
    """Return what an entry says as a sentence without its day and its plant, as 'Fed; it felt right'.

    Args:
        entry: An entry as a line of the journal has it.
    """
    found = _KINDS[entry["kind"]](entry) if entry["kind"] in _KINDS else _words(entry["kind"])
    note = clean_line(entry.get("note") or "")
    text = f"{found}: {note}" if note else found
    return text[:1].upper() + text[1:]


def _done(entry: Mapping[str, Any]) -> str:
    text = done_word(entry["care"]) + (f" its {_words(entry['aid'])}" if entry.get("aid") else "")
    text += f" at {entry['ppm_n']:g} ppm N" if entry.get("ppm_n") is not None else ""
    text += f"; it felt {entry['felt']}" if entry.get("felt") else ""
    text += f"; {entry['weight_g']:g} g before" if entry.get("weight_g") else ""
    return text + (f"; {entry['ec_ms_cm']:g} mS/cm ran out" if entry.get("ec_ms_cm") is not None else "")


def _rounds_taken(entry: Mapping[str, Any]) -> str:
    days = f"{len(entry['dates'])} care days"
    count = len(entry.get("plants") or ())
    over = (
        f", {count} {'plant' if count == 1 else 'plants'} brought over by one early wetting" if count else ""
    )
    return f"{days} taken{over}"


def _left(entry: Mapping[str, Any]) -> str:
    again = f", looked at again after {entry['again_days']} days" if entry.get("again_days") else ""
    return f"looked at and left: still damp{again}"


def _many(text: str, value: Any) -> str:
    """Return a count or a measure in words, one of a thing without its plural."""
    return text.format(value, s="" if value == 1 else "s", ves="f" if value == 1 else "ves")


def _observed(entry: Mapping[str, Any]) -> str:
    counted = (
        ("roots", "{} living root{s}"),
        ("longest_mm", "longest {:g} mm"),
        ("newest_mm", "newest {:g} mm"),
        ("tips", "{} tip{s}"),
        ("leaves", "{} lea{ves}"),
        ("growths", "{} new growth{s}"),
        ("firmness", "leaves {}"),
    )
    parts = [_many(text, entry[key]) for key, text in counted if entry.get(key) is not None]
    parts += [_words(entry["flowering"])] if entry.get("flowering") not in {None, "none"} else []
    parts += [f"spike {entry['spike_mm']:g} mm"] if entry.get("spike_mm") is not None else []
    parts += [_CROWN[entry["crown"]]] if entry.get("crown") else []
    parts += [_REST[entry["rest"]]] if entry.get("rest") else []
    parts += ["no flower"] if entry.get("flowering") == "none" else []
    parts += [f"set as {_words(entry['stage'])}"] if entry.get("stage") else []
    parts += (
        [f"{_words(entry['seen'])} seen" + (f" {rot_place(entry['where'])}" if entry.get("where") else "")]
        if entry.get("seen")
        else []
    )
    parts += ["something nobody can name yet"] if entry.get("shows_unknown") else []
    parts += ["photo"] if entry.get("photo") else []
    return ", ".join(parts) or "looked over"


def _pot(entry: Mapping[str, Any]) -> str:
    size = f"{entry['size_cm']:g} cm " if entry.get("size_cm") else ""
    medium = "bare roots" if entry.get("medium") == "none" else _words(entry.get("medium") or "")
    return f"{medium} in {size}{_words(entry.get('container') or '')}".strip()


def _potted(entry: Mapping[str, Any]) -> str:
    more = (", roots cut" if entry.get("pruned") else "") + (
        "" if entry.get("watered", True) else ", left dry"
    )
    return f"potted into {_pot(entry)}{more}"


def _added(entry: Mapping[str, Any]) -> str:
    pot = f", in {_pot(entry)}" if entry.get("medium") and entry.get("container") else ""
    return f"written down{' as ' + _words(entry['stage']) if entry.get('stage') else ''}{pot}"


def _span(entry: Mapping[str, Any]) -> str:
    start, until = entry.get("start"), entry.get("until")
    return f"{_day(start)} to {_day(until)}" if until else f"from {_day(start)}"


def _paused(entry: Mapping[str, Any]) -> str:
    care = _PAUSED.get(entry["care"], entry["care"])
    place = f" at {_words(entry['place'])}" if entry.get("place") else ""
    every = ", every year" if entry.get("every_year") else ""
    return f"{care} paused{place}, {_span(entry)}{every}"


def _quarantine(entry: Mapping[str, Any]) -> str:
    if entry.get("end"):
        return "no longer set apart"
    return "set apart" + (f", ask again on {_day(entry['until'])}" if entry.get("until") else "")


def _amended(entry: Mapping[str, Any]) -> str:
    changes = {_words(key): value for key, value in (entry.get("changes") or {}).items()}
    withdrawn = changes.pop("withdrawn", None)
    parts = [
        f"{key.removesuffix(' cm').removesuffix(' mm')} is {_put_right(v)}" for key, v in changes.items()
    ]
    parts += ["nothing was found beside it"] if withdrawn else []
    parts += [f"it was on {_day(entry['on_day'])}"] if entry.get("on_day") else []
    return f"put right: {', '.join(parts)}"


def _put_right(value: Any) -> str:
    if value is None:
        return "not said"
    is_day = isinstance(value, str) and re.fullmatch(r"\d{4}-\d\d-\d\d", value) is not None
    return _day(value) if is_day else _words(str(value))


def _forecast(entry: Mapping[str, Any]) -> str:
    parts = [
        f"{name} {entry[key]:g} °C"
        for name, key in (("night", "night_c"), ("day", "day_c"))
        if entry.get(key) is not None
    ]
    return f"forecast for {_words(entry['place'])} on {_day(entry['day'])}: {', '.join(parts)}"


def _to(entry: Mapping[str, Any]) -> str:
    return _TO.get(
        (entry["kind"], entry.get("to", "")), f"{_words(entry['kind'])} {_words(entry.get('to') or '')}"
    )


def _readings(entry: Mapping[str, Any]) -> str:
    days: Sequence[Mapping[str, Any]] = entry.get("days") or ()
    when = _day(days[0]["day"]) if len(days) == 1 else f"{len(days)} days"
    return f"readings of {_words(entry['place'])}, {when}"


def _words(name: str) -> str:
    return clean_line(name).replace("-", " ").replace("_", " ")


def _day(text: str | None) -> str:
    if not text:
        return "its beginning"
    found = date.fromisoformat(text)
    return f"{found.day} {MONTHS[found.month - 1]} {found.year}"


_KINDS: dict[str, Callable[[Mapping[str, Any]], str]] = {
    "done": _done,
    "left": _left,
    "observed": _observed,
    "potted": _potted,
    "added": _added,
    "paused": _paused,
    "quarantine": _quarantine,
    "amended": _amended,
    "spike": _to,
    "bloom": _to,
    "reservoir": _to,
    "gate": _to,
    "missed": lambda e: f"{e['care']} did not happen",
    "excepted": lambda _: "left out of the round",
    "treated": lambda e: _DID[e["did"]] + (f" against {_words(e['against'])}" if e.get("against") else ""),
    "beside": lambda e: f"stood beside {_words(e['pest'])}: to be looked over twice",
    "tried": lambda e: f"tried: {_words(e['what'])}" if e.get("what") else "goes on as it is",
    "feed-strength": lambda e: (
        f"from now on fed at {e['ppm_n']:g} ppm N at most"
        if e.get("ppm_n") is not None
        else "fed as its kind asks again"
    ),
    "moved": lambda e: f"moved to {_words(e['place'])}",
    "move-planned": lambda e: f"a move to {_words(e['place'])} announced for {_day(e.get('day'))}",
    "potting-planned": lambda e: f"a potting into {_pot(e)} announced for {_day(e.get('day'))}",
    "parted": lambda e: f"parted from its mother into {_pot(e)}",
    "retired": lambda e: f"left: {_MERGED.get(e['because'], _words(e['because']))}",
    "renamed": lambda e: f"renamed {clean_line(e.get('name') or e.get('to') or '')}".strip(),
    "weighed": lambda e: f"weighed: {e['weight_g']:g} g{', ' + e['mark'] if e.get('mark') else ''}",
    "aid": lambda e: f"{_words(e['aid'])} {'taken off' if e.get('off') else 'given'}",
    "resumed": lambda e: (
        f"{_PAUSED.get(e['care'], e['care'])} goes on" + (f" from {_day(e['day'])}" if e.get("day") else "")
    ),
    "away": lambda e: f"away, {_span(e)}",
    "away-ended": lambda _: "back again",
    "undone": lambda _: "something was taken back",
    "place": lambda e: f"place {clean_line(e.get('name') or _words(e['place']))} added",
    "place-changed": lambda e: f"{_words(e['place'])} changed",
    "readings": _readings,
    "forecast": _forecast,
    "place-shaded": lambda e: (
        f"shade at {_words(e['place'])} {'put up' if e['to'] == 'up' else 'taken down'}"
    ),
    "clock-confirmed": lambda _: "the clock was said to be right",
    "side": lambda e: f"{_words(e['key'])}: side {e['side']} taken",
    "round-moved": lambda e: f"the round of {_day(e['start'])} moved to {_day(e['to'])}",
    "rounds-taken": _rounds_taken,
    "setting": lambda e: f"setting: {_words(e['key'])} is {e['value'] or 'none'}",
    "fertiliser": lambda e: f"fertiliser {clean_line(e['name'])}",
    "water": lambda e: f"water {clean_line(e['name'])}, {e['ec_ms_cm']:g} mS/cm",
    "collection": lambda e: f"{clean_line(e['name'])} begins",
}
