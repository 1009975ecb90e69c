"""What lies ahead: the coming care days, the moments that change rhythms, and the steps with their safe days."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from carecal.app.documents import rounds
from carecal.app.documents.spans import will_not_keep
from carecal.errors import Refused

if TYPE_CHECKING:
    from starlette.responses import Response

    from carecal.web.visit import Visit

__all__ = ["act_ahead", "show_ahead"]

DAYS = 14
MOST_DAYS = 92  # our choice, because a page of more rounds is read by nobody
MOMENT_DAYS = 183
STATUSES = ("now", "wait", "missed", "unknown")


def show_ahead(visit: Visit) -> Response:
    """Show the rounds of the coming days, or of as many as `?days=` asks for."""
    asked = visit.request.query_params.get("days", "")
    days = min(max(int(asked), 1), MOST_DAYS) if asked.isdecimal() and len(asked) < 4 else DAYS
    plan = visit.collection.plan(visit.now.day)
    last = visit.now.day + timedelta(days=MOMENT_DAYS)
    until = visit.now.day + timedelta(days=days)
    names = {view.number: view for view in plan.plants}
    moments = [
        {"on": m.on, "place": m.place, "text": m.text, "plants": [names[n] for n in m.plants if n in names]}
        for m in plan.moments
        if m.on <= last
    ]
    groups = [(status, [s for s in plan.steps if s.status == status]) for status in STATUSES]
    return visit.page(
        "pages_ahead.html",
        rounds=rounds.rounds_ahead(visit.collection, visit.now, days, plan=plan),
        moments=moments,
        steps=[(status, rows) for status, rows in groups if rows],
        views=names,
        days=days,
        longer=min(days * 2, MOST_DAYS),
        extra=plan.extra_wettings_percent,
        left=will_not_keep(visit.collection, visit.now, [], until)
        if any(w.due <= until for w in plan.will_not_keep)
        else [],
    )


def act_ahead(visit: Visit) -> Response:
    """Move a care day to another one."""
    did = visit.need("do")
    if did != "move":
        raise Refused(f"form '{did[:80]}' is not known; allowed is move")
    start, to = visit.day("start"), visit.day("to")
    if start is None or to is None:
        raise Refused("a day is missing; say which round moves, and to when")
    entry, late = rounds.move_round(visit.collection, visit.real, start, to)
    return visit.written(
        visit.write(entry), f"The round of {_day(start)} moves to {_day(to)}", "/ahead", late
    )


def _day(day: date) -> str:
    return day.isoformat()
