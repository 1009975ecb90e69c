"""The pauses and absences that run or lie ahead, for those who list them."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from carecal.app.near.document import NEAR_DAYS
from carecal.wording.dates import MONTHS, day_month, day_text, span_text
from carecal.wording.tasks import task_line
from carecal.wording.weak import alone_text

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.collection.entry_base import Entry
    from carecal.plan.model import Plan, WillNotKeep

__all__ = [
    "absence_text",
    "absence_words",
    "absences",
    "pause_text",
    "pause_words",
    "pauses",
    "will_not_keep",
]

GRAVE = frozenset({"losing", "go-on"})  # levels of losing_ground.toml at which somebody should look at it
WETTINGS = frozenset({"watering", "refilling", "feeding", "flushing"})


def pauses(collection: Collection, as_of: date) -> list[dict[str, Any]]:
    """Return the pauses that run or lie ahead on a day, those resumed for good left out, by entry."""
    timeline = collection.timeline(as_of)
    facts = timeline.facts
    ids = {number: line.id for number, line in timeline.plants.items()}
    found = []
    for pause in facts.pauses:
        ended = [
            r
            for r in facts.resumes
            if r.entry > pause.entry
            and r.care in {pause.care, "all"}
            and r.plants in (None, pause.plants)
            and (r.for_good or not pause.every_year)
            and pause.start.toordinal() <= r.day
        ]
        is_over = pause.until is not None and not pause.every_year and pause.until < as_of
        if not ended and not is_over:
            found.append(
                {
                    "entry": pause.entry,
                    "care": pause.care,
                    "place": pause.place,
                    "from": pause.start.isoformat(),
                    "plants": None
                    if pause.plants is None
                    else sorted(ids[n] for n in pause.plants if n in ids),
                    "until": pause.until.isoformat() if pause.until else None,
                    "every_year": pause.every_year,
                }
            )
    return found


def absences(collection: Collection, as_of: date) -> list[dict[str, Any]]:
    """Return the absences that run or lie ahead on a day, by their first day."""
    facts = collection.timeline(as_of, plants=set()).facts
    return [
        {
            "entry": a.entry,
            "from": date.fromordinal(a.start).isoformat(),
            "until": date.fromordinal(a.until).isoformat(),
            "runs": a.start <= as_of.toordinal(),
        }
        for a in facts.absences
        if a.until >= as_of.toordinal()
    ]


def will_not_keep(collection: Collection, now: Now, entries: Sequence[Entry], until: date) -> list[str]:
    """Return what has no present day in its window with entries of an absence added, one line a plant.

    Args:
        collection: The collection.
        now: The moment of the command.
        entries: Entries not written yet, or none.
        until: Last day of the absence.
    """
    records = collection.journal.records()
    trial = (
        collection.journal.preview(entries, by="owner", written=now.written, clock=now.clock)
        if entries
        else ()
    )
    planner = collection.planner(now.day, until=until + timedelta(days=NEAR_DAYS), records=[*records, *trial])
    plan = planner.plan("rounds", with_gates=False)
    by_plant: dict[int, list[WillNotKeep]] = {}
    for left in sorted(plan.will_not_keep, key=lambda left: (left.due, left.plant)):
        if left.due <= until:
            by_plant.setdefault(left.plant, []).append(left)
    alone = [view for view in plan.plants if view.losing in GRAVE and view.number not in by_plant]
    return [
        *(_not_kept(lefts, plan) for lefts in by_plant.values()),
        *(alone_text(view.name) for view in alone),
    ]


def _not_kept(lefts: Sequence[WillNotKeep], plan: Plan) -> str:
    """One line of a plant: the first care that will not keep, how many more, and the remedy of a single wetting."""
    first = plan.task(lefts[0].task)
    view = plan.plant(first.plant)
    more = f" and {len(lefts) - 1} more" if len(lefts) > 1 else ""
    remedies = [left.remedy for left in lefts if plan.task(left.task).care in WETTINGS]
    remedy = remedies[0] if len(remedies) == 1 else "a sitter"
    return f"{view.name} will not keep: {task_line(first, view)}, due {day_text(first.due)}{more}; needs {remedy}"


def pause_words(pause: Mapping[str, Any], names: Mapping[str, str]) -> str:
    """Return a pause as a page says it, its plants and places by the names people typed."""
    of = [names.get(plant, plant) for plant in pause["plants"] or ()]
    place = pause["place"] and names.get(pause["place"], pause["place"])
    what = _what({**pause, "plants": of if pause["plants"] is not None else None, "place": place})
    start = date.fromisoformat(pause["from"])
    if pause["every_year"] and pause["until"]:
        when = _every_year(start, date.fromisoformat(pause["until"]))
    elif pause["until"]:
        when = span_text(start, date.fromisoformat(pause["until"]))
    else:
        when = f"since {_month_day(start)}"
    return f"{what[:1].upper()}{what[1:]}, {when}"


def absence_words(absence: Mapping[str, Any]) -> str:
    """Return an absence as a page says it."""
    runs = " (now)" if absence["runs"] else ""
    return span_text(date.fromisoformat(absence["from"]), date.fromisoformat(absence["until"])) + runs


def pause_text(pause: Mapping[str, Any]) -> str:
    """Return a pause in one line."""
    start = date.fromisoformat(pause["from"])
    if pause["every_year"] and pause["until"]:
        when = _every_year(start, date.fromisoformat(pause["until"]))
    elif pause["until"]:
        when = f"{span_text(start, date.fromisoformat(pause['until']))}, both included"
    else:
        when = f"from {day_month(start)} until it is resumed"
    return f"{_what(pause)}, {when}"


def _what(pause: Mapping[str, Any]) -> str:
    whom = ", ".join(pause["plants"]) if pause["plants"] is not None else "all plants"
    where = f" at {pause['place']}" if pause["place"] else ""
    return f"{pause['care']} of {whom}{where}"


def _every_year(first: date, last: date) -> str:
    return f"every year from {_month_day(first)} to {_month_day(last)}, both included"


def absence_text(absence: Mapping[str, Any]) -> str:
    """Return an absence in one line."""
    days = span_text(date.fromisoformat(absence["from"]), date.fromisoformat(absence["until"]))
    return f"{days}, both included{' (now)' if absence['runs'] else ''}"


def _month_day(day: date) -> str:
    return f"{day.day} {MONTHS[day.month - 1]}"
