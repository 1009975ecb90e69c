"""A plant's story: its time from arrival on, by stages, pots, counts, flowers, treatments and pictures; facts alone."""

from __future__ import annotations

from collections import Counter
from datetime import date
from typing import TYPE_CHECKING, Any

from carecal.app.documents.looking_back import log_of
from carecal.collection.facts import NOTES_SHOWN
from carecal.wording.dates import day_month
from carecal.wording.entries import entry_sentence
from carecal.wording.tasks import done_word

if TYPE_CHECKING:
    from collections.abc import Iterable

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.collection.plants import PlantHistory

__all__ = ["story_lines", "story_of"]

TOLD = frozenset(
    {
        "added",
        "observed",
        "potted",
        "moved",
        "parted",
        "aid",
        "quarantine",
        "reservoir",
        "spike",
        "bloom",
        "retired",
        "renamed",
    }
)
"""Kinds of entries that a story tells one by one; cares are counted."""


def story_of(collection: Collection, now: Now, plant: str, *, is_given: bool = False) -> dict[str, Any]:
    """Return the story of a plant, of one that left too.

    Args:
        collection: The collection.
        now: The moment; what is dated later is left out.
        plant: Its id.
        is_given: Whether it is given away; then notes are left out, unless the owner's setting lets them go.

    Raises:
        UnknownName: No plant has that id.
    """
    number = collection.number_of(plant)
    timeline = collection.planner(now.day).timeline  # with flowers that count as over, since nobody said
    line, has_notes = (
        timeline.plants[number],
        not is_given or timeline.facts.setting(NOTES_SHOWN, "no") == "yes",
    )
    entries = [e for e in log_of(collection, now, plant=plant) if not e["taken_back"]]
    if not has_notes:
        entries = [{key: value for key, value in entry.items() if key != "note"} for entry in entries]
    begun, ended = _begun(line), _iso(line.retired) or now.day.isoformat()
    cares = Counter(e["care"] for e in entries if e["kind"] == "done")
    return {
        "plant": line.id,
        "name": line.name,
        "from": begun,
        "until": ended,
        "left": _iso(line.retired),
        "left_because": line.retired_because,
        "days": (date.fromisoformat(ended) - date.fromisoformat(begun)).days,
        "stages": _spans(line, begun, ended, lambda s: s.stage or "unknown"),
        "flowers": [s for s in _spans(line, begun, ended, lambda s: s.flowering) if s["what"] != "none"],
        "pots": [p for p in _spans(line, begun, ended, _pot_of) if p["what"]],
        "counts": [
            {"on": _iso(day), "what": what, "value": value}
            for day, what, value in sorted(line.measured)
            if what in {"roots", "leaves", "longest_mm"}
        ],
        "photos": [{"on": _iso(day), "name": name} for day, name in sorted(line.photos)],
        "events": [_event(e) for e in entries if e["kind"] in TOLD and _is_told(e)],
        "cares": [{"care": care, "times": times} for care, times in cares.most_common()],
        "note": (has_notes and line.note) or None,
    }


def story_lines(story: dict[str, Any]) -> Iterable[str]:
    """Yield a story as lines for a terminal."""
    begun, until = (day_month(date.fromisoformat(story[key])) for key in ("from", "until"))
    end = f"left {until} ({story['left_because']})" if story["left"] else f"to {until}"
    yield f"{story['name']}: {begun} {end}, {story['days']} days"
    if story["note"]:
        yield f"  {story['note']}"
    for span in story["stages"]:
        yield f"  {span['from']} to {span['until']}  {span['what'].replace('-', ' ')}"
    for event in story["events"]:
        yield f"  {event['on']}  {event['text']}"
    if story["cares"]:
        yield "  " + ", ".join(f"{done_word(c['care'])} {c['times']} times" for c in story["cares"])


def _event(entry: dict[str, Any]) -> dict[str, Any]:
    return {
        "on": entry["on"],
        "kind": entry["kind"],
        "text": entry_sentence(entry),
        "photo": entry.get("photo"),
    }


def _is_told(entry: dict[str, Any]) -> bool:
    return entry["kind"] != "observed" or entry_sentence(entry) != "Looked over"


def _begun(line: PlantHistory) -> str:
    came = line.states[0].came
    return date.fromordinal(min(came, line.entered) if came is not None else line.entered).isoformat()


def _spans(line: PlantHistory, begun: str, ended: str, what_of: Any) -> list[dict[str, str]]:
    """Return what held from when to when, both days included; equal neighbours are one span."""
    found: list[dict[str, str]] = []
    for state in line.states:
        what = what_of(state)
        on = max(date.fromordinal(state.day).isoformat(), begun) if found else begun
        if found and found[-1]["what"] == what:
            continue
        if found:
            found[-1]["until"] = on
        found.append({"from": on, "until": ended, "what": what})
    return [span for span in found if span["from"] <= span["until"]]


def _pot_of(state: Any) -> str:
    if state.medium is None or state.container is None:
        return ""
    size = f"{state.size_cm:g} cm " if state.size_cm else ""
    medium = "bare roots" if state.medium == "none" else state.medium
    return f"{medium} in {size}{state.container}".replace("-", " ")


def _iso(day: int | None) -> str | None:
    return date.fromordinal(day).isoformat() if day is not None else None
