"""What lies ahead: a month of care days, the moments that change rhythms, the steps with their safe days, the bench."""

from __future__ import annotations

from calendar import Calendar
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from carecal.app.documents import rounds
from carecal.app.documents.bench import bench
from carecal.app.documents.spans import will_not_keep
from carecal.errors import Refused
from carecal.planning.steps.shade import OF_PLACE
from carecal.web.pages.faces import place_names
from carecal.web.templating import day_short, month_year

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from starlette.responses import Response

    from carecal.plan.model import PlantView, Step
    from carecal.web.visit import Visit

__all__ = ["act_ahead", "show_ahead", "show_bench"]

DAYS = 14
MOST_DAYS = 92  # our choice, because a page of more rounds is read by nobody
MOMENT_DAYS = 183
WEEKS = 5  # of the month that runs; our choice, because a month's end would show an empty past
STATUSES = ("now", "wait", "missed", "unknown")


def show_ahead(visit: Visit) -> Response:
    """Show the rounds of the coming days, or of as many as `?days=` asks for."""
    asked = visit.request.query_params.get("days", "")
    days = min(max(int(asked), 1), MOST_DAYS) if asked.isdecimal() and len(asked) < 4 else DAYS
    month = _month(visit)
    seen = max(days, min((_next(month) - visit.now.day).days, MOST_DAYS), 7 * WEEKS)
    shown_until = max(visit.now.day + timedelta(days=days), _next(month) - timedelta(days=1))
    plan = visit.site.plan(visit.collection, visit.now.day)
    last = visit.now.day + timedelta(days=MOMENT_DAYS)
    until = visit.now.day + timedelta(days=days)
    names = {view.number: view for view in plan.plants}
    moments = [
        {"on": m.on, "place": m.place, "text": m.text, "plants": [names[n] for n in m.plants if n in names]}
        for m in plan.moments
        if m.on <= last
    ]
    told = _once_a_place(plan.steps, names)
    groups = [(status, [s for s in told if s.status == status]) for status in STATUSES]
    found = rounds.rounds_ahead(visit.collection, visit.now, seen, plan=plan)
    return visit.page(
        "ahead.html",
        rounds=[r for r in found if r["on"] <= shown_until.isoformat()],
        listed_until=shown_until,
        month=month,
        title=month_year(month) if month > visit.now.day else "The coming weeks",
        before=(month - timedelta(days=1)).replace(day=1),
        after=_next(month),
        weeks=_weeks(month, {r["on"]: r for r in found}, visit.now.day),
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


def _once_a_place(steps: Iterable[Step], views: Mapping[int, PlantView]) -> list[Step]:
    """Return steps with those that all plants of a place share once."""
    found: dict[tuple[object, ...], Step] = {}
    for step in steps:
        shared = step.step in OF_PLACE
        found.setdefault((views[step.plant].place, step.title) if shared else (step.plant, step.step), step)
    return list(found.values())


def show_bench(visit: Visit) -> Response:
    """Show what is to be potted when, as a list for the bench that can be printed."""
    return visit.page("bench.html", names=place_names(visit), **bench(visit.collection, visit.now.day))


def _month(visit: Visit) -> date:
    """Return the first day of the month that is shown: the one asked for, from this one to three months on."""
    asked, first = visit.request.query_params.get("month", ""), visit.now.day.replace(day=1)
    try:
        found = date.fromisoformat(f"{asked}-01")
    except ValueError:
        return first
    return min(max(found, first), _next(_next(_next(first))))


def _next(month: date) -> date:
    return (month + timedelta(days=31)).replace(day=1)


def _weeks(month: date, found: dict[str, dict[str, Any]], today: date) -> list[list[dict[str, Any]]]:
    """Return the month's weeks, Monday first, each day with its round."""
    days = Calendar().monthdatescalendar(month.year, month.month)
    is_now = today.replace(day=1) == month
    if is_now:  # this month from this week on, and the weeks after it, five in all
        monday = today - timedelta(days=today.weekday())
        days = [[monday + timedelta(days=7 * n + d) for d in range(7)] for n in range(WEEKS)]
    return [
        [
            {
                "on": day,
                "of_month": is_now or day.month == month.month,
                "is_past": day < today,
                "is_today": day == today,
                "round": found.get(day.isoformat()),
            }
            for day in week
        ]
        for week in days
    ]


def act_ahead(visit: Visit) -> Response:
    """Move a care day to another one."""
    did = visit.need("do")
    if did != "move":
        raise Refused(f"form '{did[:80]}' is not known; allowed is move")
    start, to = visit.day("start"), visit.day("to")
    if start is None or to is None:
        raise Refused("a day is missing; say which round moves, and to when")
    entry, late = rounds.move_round(*visit.here, start, to)
    return visit.written(
        visit.write(entry), f"The round of {day_short(start)} moves to {day_short(to)}", "/ahead", late
    )
