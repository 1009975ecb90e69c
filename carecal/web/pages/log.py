"""The log: each entry in plain words with its way back, and its fields to be put right."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from carecal.app.actions import corrections as actions_undo
from carecal.app.documents import looking_back
from carecal.collection.dates import parse_day
from carecal.errors import Refused, UnknownName
from carecal.web.pages.faces import plant_names
from carecal.web.templating import words
from carecal.wording.entries import entry_sentence

if TYPE_CHECKING:
    from datetime import date

    from starlette.responses import Response

    from carecal.web.visit import Visit

__all__ = ["act_log", "lines_of", "show_log"]

FIXED = frozenset({"undone", "amended", "collection", "readings", "place", "added", "clock-confirmed"})
RIGHTED = {
    "done": ("felt", "weight_g", "ec_ms_cm", "ppm_n"),
    "left": ("again_days",),
    "observed": (
        "roots",
        "longest_mm",
        "newest_mm",
        "tips",
        "leaves",
        "growths",
        "firmness",
        "flowering",
        "spike_mm",
        "rest",
        "seen",
        "where",
        "note",
    ),
    "tried": ("what", "note"),
    "potted": ("medium", "container", "size_cm", "watered"),
    "moved": ("place",),
    "weighed": ("weight_g", "mark"),
    "retired": ("because", "note"),
}
"""Fields of each kind that the page offers to put right, beside its day; the command line knows all."""
LABELS = {
    "weight_g": "weight [g]",
    "ec_ms_cm": "EC [mS/cm]",
    "ppm_n": "feed poured [ppm N]",
    "longest_mm": "longest root [mm]",
    "newest_mm": "new root [mm]",
    "spike_mm": "spike [mm]",
    "size_cm": "diameter [cm]",
    "again_days": "again in days",
    "watered": "watered (yes, no)",
}
PAGE = 60  # entries of one page


def show_log(visit: Visit) -> Response:
    """Show the newest entries; `?plant=`, `?since=` and `?before=` narrow them down."""
    asked = visit.request.query_params
    plant, since = asked.get("plant") or None, _day(visit, asked.get("since"))
    entries = looking_back.log_of(visit.collection, visit.now, plant=plant, since=since)
    before = asked.get("before", "")
    if before.isdecimal() and len(before) < 12:
        entries = [entry for entry in entries if entry["entry"] < int(before)]
    shown = entries[-PAGE:]
    changes = (
        looking_back.changes_of(visit.collection, visit.now, since)["changes"] if since is not None else None
    )
    return visit.page(
        "pages_log.html",
        entries=lines_of(shown),
        plant=plant,
        since=since,
        changes=changes,
        assumed=looking_back.assumed_in(visit.collection, visit.now, plant) if plant is not None else [],
        older=shown[0]["entry"] if len(entries) > len(shown) else None,
        names=plant_names(visit),
    )


def lines_of(entries: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return entries, the newest first, each with what it said."""
    return [{**entry, "said": entry_sentence(entry), "fields": _fields(entry)} for entry in reversed(entries)]


def _fields(entry: dict[str, Any]) -> list[tuple[str, str, str]]:
    """Return what of an entry can be put right: name, words and value of each field that it has."""
    if entry["kind"] in FIXED or entry["taken_back"]:
        return []
    found = [
        (name, LABELS.get(name, words(name.replace("_", "-"))), _text(entry.get(name)))
        for name in RIGHTED.get(entry["kind"], ())
    ]
    return [("on", "day", entry["on"]), *found]


def _text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)


def _changes(visit: Visit, number: int) -> dict[str, str]:
    """Return the fields that were sent and are other than the entry has them."""
    if visit.text("field") is not None:
        return {visit.need("field"): visit.text("value") or ""}
    entries = looking_back.log_of(visit.collection, visit.now)
    entry = next((e for e in entries if e["entry"] == number), None)
    if entry is None:
        raise UnknownName("entry", str(number))
    sent = {name for name, _ in visit.sent()}
    return {
        name: visit.text(name) or ""
        for name, _, old in _fields(entry)
        if name in sent and (visit.text(name) or "") != old
    }


def _day(visit: Visit, text: str | None) -> date | None:
    return parse_day(text, today=visit.now.day) if text else None


def act_log(visit: Visit) -> Response:
    """Take back a command, or put a field of an entry right."""
    did = visit.need("do")
    if did == "undo":
        entries = actions_undo.undo(*visit.here, visit.count("entry"), with_later=visit.flag("with_later"))
        return visit.written(visit.write(*entries), "Taken back", "/log")
    if did == "amend":
        number = visit.count("entry")
        if number is None:
            raise Refused("entry is missing; give its number")
        entries = actions_undo.amend(*visit.here, number, _changes(visit, number))
        return visit.written(visit.write(*entries), "Put right", "/log")
    raise Refused(f"form '{did[:80]}' is not known; allowed are undo, amend")
