"""The log, each entry with its way back, and the year of care days."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from carecal.app.actions import corrections as actions_undo
from carecal.app.documents import looking_back, pictures
from carecal.collection.dates import parse_day
from carecal.errors import Refused
from carecal.web.pictures.days import year_picture

if TYPE_CHECKING:
    from datetime import date

    from starlette.responses import Response

    from carecal.web.visit import Visit

__all__ = ["act_log", "lines_of", "show_log", "show_year"]

PAGE = 60  # entries of one page
FIRST_YEAR, LAST_YEAR = 1900, 2200


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
        older=shown[0]["entry"] if len(entries) > len(shown) else None,
    )


def lines_of(entries: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return entries, the newest first, each with what it said."""
    return [{**entry, "said": looking_back.said_of(entry)} for entry in reversed(entries)]


def _day(visit: Visit, text: str | None) -> date | None:
    return parse_day(text, today=visit.now.day) if text else None


def act_log(visit: Visit) -> Response:
    """Take back a command, or put a field of an entry right."""
    did = visit.need("do")
    if did == "undo":
        entries = actions_undo.undo(
            visit.collection, visit.real, visit.count("entry"), with_later=visit.flag("with_later")
        )
        return visit.written(visit.write(*entries), "Taken back", "/log")
    if did == "amend":
        number = visit.count("entry")
        if number is None:
            raise Refused("entry is missing; give its number")
        entries = actions_undo.amend(
            visit.collection, visit.real, number, {visit.need("field"): visit.text("value") or ""}
        )
        return visit.written(visit.write(*entries), f"Entry {number} put right", "/log")
    raise Refused(f"form '{did[:80]}' is not known; allowed are undo, amend")


def show_year(visit: Visit) -> Response:
    """Show the care days of a year, this one unless `?of=` names another."""
    asked = visit.request.query_params.get("of", "")
    year = int(asked) if asked.isdecimal() and len(asked) == 4 else visit.now.day.year
    year = min(max(year, FIRST_YEAR), LAST_YEAR)
    days = pictures.care_days(visit.collection, visit.now, year)
    busiest = sorted((d for d in days if d.planned), key=lambda d: (-d.planned, d.on))[:3]
    return visit.page(
        "pages_year.html", picture=year_picture(days, visit.now.day), year=year, busiest=busiest
    )
