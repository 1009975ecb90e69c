"""Care days ahead, weekdays that would make them fewer, and a care day done on another one."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from carecal.app.make_entries import make_entry
from carecal.collection.entries import RoundMoved, RoundsTaken
from carecal.errors import Refused
from carecal.planning.comparison.relief import burdens
from carecal.planning.planner import WETTING_CARES, Planner
from carecal.planning.rounds.fitting import best_fit, lone_days
from carecal.planning.rounds.suggest import MOST_EXTRA_PERCENT, best_of, weekday_sets
from carecal.wording.tasks import task_head, task_line

if TYPE_CHECKING:
    from collections.abc import Callable

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.collection.entries import Entry
    from carecal.plan.model import Plan
    from carecal.planning.comparison.relief import Burden, Relief
    from carecal.planning.rounds.fitting import Fit

__all__ = ["burden", "burdened", "fitting", "move_round", "rounds_ahead", "suggested", "take_rounds"]

MOST_DAYS = 366


def rounds_ahead(
    collection: Collection, now: Now, days: int = 14, *, plan: Plan | None = None
) -> list[dict[str, Any]]:
    """Return the rounds of the coming days with one line a task; joined looks ride on their wetting.

    Args:
        collection: The collection.
        now: The moment of the command.
        days: How many days, the first included. [d]
        plan: The plan of the day, where one is at hand; None: it is made.

    Raises:
        Refused: The number of days is out of range.
    """
    if not 1 <= days <= MOST_DAYS:
        raise Refused(f"{days} days are out of range; allowed are 1 to {MOST_DAYS}")
    plan = plan or collection.plan(now.day)
    last = now.day + timedelta(days=days - 1)
    return [_round(plan, found.on) for found in plan.rounds if found.on <= last]


def _round(plan: Plan, on: date) -> dict[str, Any]:
    found = next(r for r in plan.rounds if r.on == on)
    tasks = [plan.poured(name) for name in found.tasks]
    return {
        "on": on.isoformat(),
        "minutes": found.minutes,
        "plain_l": found.can.plain_l,
        "feed_l": round(sum(mix.litres for mix in found.can.feeds), 3),
        "tasks": [
            {
                "task": t.id,
                "plant": plan.plant(t.plant).id,
                "name": plan.plant(t.plant).name,
                "head": task_head(t, plan.plant(t.plant)),
                "text": f"{plan.plant(t.plant).name}: {task_line(t, plan.plant(t.plant))}",
            }
            for t in tasks
            if t.joined_to is None
        ],
    }


def suggested(
    collection: Collection, now: Now, *, progress: Callable[[int], None] | None = None
) -> dict[str, Any]:
    """Return every set of weekdays with its days that have a wetting and its extra wettings, the best one, and now."""
    timeline = collection.timeline(now.day)
    sets = weekday_sets(timeline, collection.catalog, collection.id, progress=progress)
    best = best_of(sets)
    plan = collection.plan(now.day)
    return {
        "now": {
            "weekdays": timeline.facts.setting("weekdays", "wed,sat"),
            "has_days_taken": bool(timeline.facts.taken(now.day.toordinal()).days),
            "care_days": len({t.on for t in plan.tasks if t.care in WETTING_CARES and t.status != "overdue"}),
            "extra_wettings_percent": plan.extra_wettings_percent,
        },
        "best": _set(best) if best is not None else None,
        "most_extra_percent": MOST_EXTRA_PERCENT,
        "sets": [
            _set(found) for found in sorted(sets, key=lambda s: (s.care_days, s.extra_wettings_percent))
        ],
    }


def fitting(
    collection: Collection, now: Now, *, progress: Callable[[int], None] | None = None
) -> dict[str, Any]:
    """Return care days that fit together: what they spare and cost in the year planned, and who is brought over."""
    planner = Planner(collection.timeline(now.day), collection.catalog, collection.id)
    return _fit(planner, best_fit(planner, progress=progress))


def _fit(planner: Planner, fit: Fit) -> dict[str, Any]:
    lines = planner.timeline.plants
    return {
        "care_days_now": fit.care_days_now,
        "care_days": fit.care_days,
        "more_wettings": fit.wettings - fit.wettings_now,
        "extra_wettings_percent": fit.extra_percent,
        "dates": [date.fromordinal(day).isoformat() for day in sorted(fit.dates)],
        "early": [
            {
                "plant": lines[number].id,
                "name": lines[number].name,
                "on": date.fromordinal(day).isoformat(),
            }
            for number, day in sorted(fit.early.items(), key=lambda each: (each[1], each[0]))
        ],
    }


def take_rounds(
    collection: Collection, now: Now, *, progress: Callable[[int], None] | None = None
) -> tuple[Entry, dict[str, Any]]:
    """Return the entry that takes the care days that fit together, and what they spare and cost.

    Raises:
        Refused: No other days make the year shorter.
    """
    found = fitting(collection, now, progress=progress)
    if found["care_days"] >= found["care_days_now"]:
        raise Refused("no other care days make the year shorter; nothing to take")
    plants = tuple(each["plant"] for each in found["early"])
    days = tuple(date.fromisoformat(each["on"]) for each in found["early"])
    dates = tuple(date.fromisoformat(each) for each in found["dates"])
    return make_entry(RoundsTaken, on=now.day, dates=dates, ahead=True, plants=plants, days=days), found


def burden(collection: Collection, now: Now) -> list[dict[str, Any]]:
    """Return the living plants with the days of care that each alone costs in the year planned, most first.

    Those that the house needs most days for besides (`days_needed`) tell what would end that (`ends`).
    """
    planner = Planner(collection.timeline(now.day), collection.catalog, collection.id)
    lines = planner.timeline.plants
    alone = lone_days(planner)
    heavy = {each.plant: each for each in burdens(planner)}
    rows = sorted(alone.items(), key=lambda each: (-each[1], each[0]))
    return [
        {"plant": lines[number].id, "name": lines[number].name, "days": days}
        | _ends(planner, heavy.get(number))
        for number, days in rows
    ]


def burdened(collection: Collection, now: Now) -> list[dict[str, Any]]:
    """Return the plants that the house needs most days for, the heaviest first, with what would end that."""
    planner = Planner(collection.timeline(now.day), collection.catalog, collection.id)
    lines = planner.timeline.plants
    return [
        {"plant": lines[each.plant].id, "name": lines[each.plant].name} | _ends(planner, each)
        for each in burdens(planner)
    ]


def _ends(planner: Planner, found: Burden | None) -> dict[str, Any]:
    if found is None:
        return {"days_needed": 0, "ends": []}
    return {"days_needed": found.days, "ends": [_end(planner, each) for each in found.ends]}


def _end(planner: Planner, end: Relief) -> dict[str, Any]:
    place = planner.timeline.facts.places[end.place].spec_at(planner.context.as_of)
    return {
        "kind": end.kind,
        "medium": end.medium,
        "container": end.container,
        "size_cm": end.size_cm,
        "place": end.place,
        "place_name": place.name or end.place,
        "days_fewer": end.saved,
        "opens": date.fromordinal(end.opens).isoformat() if end.opens is not None else None,
        "last_safe": date.fromordinal(end.last).isoformat() if end.last is not None else None,
    }


def _set(found: Any) -> dict[str, Any]:
    return {
        "weekdays": ",".join(found.weekdays),
        "care_days": found.care_days,
        "extra_wettings_percent": found.extra_wettings_percent,
    }


def move_round(collection: Collection, now: Now, start: date, to: date) -> tuple[Entry, tuple[str, ...]]:
    """Return the entry of a care day that is done on another one, and what would be past its window then.

    Raises:
        Refused: There is no round on that day, or the other day lies behind.
    """
    if to < now.day:
        raise Refused(f"{to} is past; a round moves to {now.day} or later")
    if start == to:
        raise Refused(f"{start} is the same day; give another")
    plan = collection.plan(now.day)
    found = next((r for r in plan.rounds if r.on == start), None)
    if found is None:
        near = ", ".join(str(r.on) for r in plan.rounds[:3]) or "none"
        raise Refused(f"no round on {start}; the next are {near}")
    late = [
        f"{plan.plant(task.plant).name}: {task.care} was to be done by {task.latest}"
        for task in map(plan.task, found.tasks)
        if task.latest < to
    ]
    return make_entry(RoundMoved, on=now.day, start=start, to=to), tuple(late)
