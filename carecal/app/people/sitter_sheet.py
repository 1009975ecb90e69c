"""What a sitter is told: first what not to do, then only those days, what to mix, where things stand."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from carecal.app.documents.day import day_round
from carecal.app.documents.today_fresh import fresh_today
from carecal.planning.pauses import pause_spans
from carecal.planning.spans import run_end
from carecal.wording.dates import day_text
from carecal.wording.tasks import EMPTY_ON_PURPOSE, name_of, plant_marks, pot_line
from carecal.wording.today import can_text, weather_of
from carecal.wording.weak import hands_off_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.app.documents.day import Answer
    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.app.people.sitters import Sitter
    from carecal.plan.model import PlantView
    from carecal.planning.planner import Planner

__all__ = ["sheet_lines", "sitter_sheet"]

GRAVE = frozenset({"losing", "go-on"})  # levels of losing_ground.toml above the warning
ALWAYS = (
    "Do not water a plant that is not on the day's list: too wet kills sooner than too dry.",
    "Do not leave water in the heart of a plant or standing in its saucer.",
    "Do not move, repot, cut or spray a plant; write down what looks wrong instead.",
)


def sitter_sheet(collection: Collection, now: Now, sitter: Sitter) -> dict[str, Any]:
    """Return a sitter's sheet: what not to do, the days, where the plants stand.

    Args:
        collection: The collection.
        now: The moment; days behind it are left out.
        sitter: Whose sheet it is.
    """
    first = max(now.day, sitter.start)
    days, answers, planner, weather = _days(collection, now, first, sitter.until)
    plan = planner.plan("rounds", with_gates=False)
    return {
        "name": sitter.name,
        "from": sitter.start.isoformat(),
        "until": sitter.until.isoformat(),
        "as_of": now.day.isoformat(),
        "begins": f"{day_text(sitter.start)}",
        "ends": f"{day_text(sitter.until)}",
        "do_not": [*_do_not(planner, plan.plants), *ALWAYS],
        "days": days,
        "answers": answers,
        "weather": weather if first == now.day else [],
        "places": _places(planner, plan.plants),
    }


def _days(
    collection: Collection, now: Now, first: date, last: date
) -> tuple[list[dict[str, Any]], dict[str, Answer], Planner, list[str]]:
    """Return the days with something to do, the first as it stood this morning if it is today, and today's weather."""
    count = (last - now.day).days + 1
    document = fresh_today(collection, now.day, count)
    days = [dict(found) for found in document["rounds"] if found["on"] >= first.isoformat()]
    answers: dict[str, Answer] = {}
    if first == now.day:
        morning, answers = day_round(collection, now)
        mine = next((dict(r) for r in morning["rounds"] if r["on"] == now.day.isoformat()), None)
        days = [found for found in days if found["on"] != now.day.isoformat()]
        if mine is not None or morning["carried"]:
            empty = {
                "on": now.day.isoformat(),
                "day": morning["day"],
                "minutes": 0,
                "can": {"plain_l": 0, "plain_apart_l": 0, "feeds": []},
                "tasks": [],
                "cautions": [],
            }
            days = [{**(mine or empty), "carried": morning["carried"]}, *days]
    planner = collection.planner(now.day, until=last + timedelta(days=1))
    return days, answers, planner, weather_of(document, document["units"])


def _do_not(planner: Planner, views: tuple[PlantView, ...]) -> Iterator[str]:
    """Yield what must not be done to which plant, the gravest first."""
    for view in views:
        where = _where(planner, view)
        if view.reservoir == "empty":
            yield f"Do not fill the reservoir of {name_of(view)}{where}: it is {EMPTY_ON_PURPOSE}."
    for view in views:
        where = _where(planner, view)
        if "wrapped" in view.states:
            yield f"Do not water {name_of(view)}{where}: it stands closed in its wrap; keep it out of the sun."
        elif view.stage == "rootless":
            yield f"Do not water the pot of {name_of(view)}{where}: it has no roots; moisten it only as the list says."
    yield from (hands_off_text(f"{name_of(v)}{_where(planner, v)}") for v in views if v.losing in GRAVE)
    apart = [name_of(view) for view in views if "quarantine" in view.states or "pest-watch" in view.states]
    if apart:
        yield f"Do not touch {', '.join(apart)} before the others: last of all, then wash your hands."
    yield from _pauses(planner, views)


def _where(planner: Planner, view: PlantView) -> str:
    """Return the name of the place where a plant stands, in brackets."""
    name = _place_name(planner, view.place or "")
    return f" ({name})" if name else ""


def _place_name(planner: Planner, place: str) -> str:
    facts = planner.context.facts.places.get(place)
    return facts.spec_at(planner.context.as_of).name if facts is not None else ""


def _pauses(planner: Planner, views: tuple[PlantView, ...]) -> Iterator[str]:
    context, told = planner.context, {"watering": "water", "feeding": "feed", "flushing": "flush"}
    for care, verb in told.items():
        held: dict[str, list[str]] = {}
        for view in views:
            line = planner.timeline.plants[view.number]
            spans = pause_spans(context.facts, line, care, context.as_of, context.last_day)
            if spans and spans[0][0] <= context.as_of:
                end = run_end(spans, context.as_of)
                ends = end is not None and end < context.last_day
                until = f"until {day_text(date.fromordinal(end))}" if end is not None and ends else "now"
                held.setdefault(until, []).append(name_of(view))
        for until, names in held.items():
            whom = "any plant" if len(names) == len(views) else ", ".join(names)
            yield f"Do not {verb} {whom}: that is paused {until if until != 'now' else 'for all your days'}."


def _places(planner: Planner, views: tuple[PlantView, ...]) -> list[dict[str, Any]]:
    found: dict[str, list[dict[str, Any]]] = {}
    for view in views:
        found.setdefault(view.place or "", []).append(
            {
                "plant": view.id,
                "name": name_of(view),
                "pot": pot_line(view._replace(place=None)),
                "marks": list(plant_marks(view)),
            }
        )
    return [
        {"place": place, "name": _place_name(planner, place), "plants": plants}
        for place, plants in sorted(found.items())
    ]


def sheet_lines(sheet: dict[str, Any], units: str = "metric") -> Iterator[str]:
    """Yield a sheet in lines to print."""
    yield f"For {sheet['name']}: {sheet['begins']} to {sheet['ends']}"
    if sheet["weather"]:
        yield ""
        yield from (f"! {line}" for line in sheet["weather"])
    yield ""
    yield "DO NOT"
    yield from (f"  - {line}" for line in sheet["do_not"])
    for day in sheet["days"]:
        yield ""
        yield day["day"]
        can = can_text(day["can"], units)
        if can:
            yield f"  {can}"
        for row in [*day.get("carried", ()), *day["tasks"]]:
            marks = f" ({', '.join(row['marks'])})" if row["marks"] else ""
            yield f"  [ ] {row['name']}{' [' + row['place'] + ']' if row['place'] else ''}: {row['text']}{marks}"
        yield from (f"  ! {caution['text']}" for caution in day["cautions"])
    yield ""
    yield "WHERE THINGS STAND"
    for place in sheet["places"]:
        yield f"  {place['name'] or place['place'] or 'no place'}"
        for plant in place["plants"]:
            yield f"    {plant['name']}: {' – '.join([plant['pot'], *plant['marks']])}"
