"""What a sitter is told: first what not to do, then few visits with plain water, where things stand."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from carecal.app.documents.day import TICKS, day_round
from carecal.app.documents.today import today
from carecal.app.near.document import day_words
from carecal.app.near.task_rows import line_of
from carecal.planning.pauses import pause_spans
from carecal.planning.rounds.gathering import stop_of
from carecal.planning.rounds.visits import visits
from carecal.planning.spans import run_end
from carecal.planning.stops import apart_l, caution_ranks, in_order, plain_l
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
    "Do not come oftener than the list says; a day late does no harm, feeding and counting wait for the owner.",
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
    planner = collection.planner(now.day, until=sitter.until + timedelta(days=1))
    morning, answers = _morning(collection, now, planner) if first == now.day else (planner, {})
    plan = planner.plan("rounds", with_gates=False)
    return {
        "name": sitter.name,
        "from": sitter.start.isoformat(),
        "until": sitter.until.isoformat(),
        "as_of": now.day.isoformat(),
        "begins": f"{day_text(sitter.start)}",
        "ends": f"{day_text(sitter.until)}",
        "do_not": [*_do_not(planner, plan.plants), *ALWAYS],
        "days": list(_days(morning, first, sitter)),
        "answers": answers,
        "weather": _weather(collection, now.day) if first == now.day else [],
        "places": _places(planner, plan.plants),
    }


def _morning(collection: Collection, now: Now, planner: Planner) -> tuple[Planner, dict[str, Answer]]:
    """Return the planner of the day as it stood in the morning, and what was answered since, by task."""
    _, answers = day_round(collection, now)
    ticks = collection.journal.commands_on(now.day, TICKS)
    if not ticks:
        return planner, answers
    records = [
        record
        for record in collection.journal.records()
        if record.command not in ticks
        and not (record.kind == "undone" and int(record.data["command"]) in ticks)
    ]
    return collection.planner(now.day, until=planner.until, records=records), answers


def _weather(collection: Collection, day: date) -> list[str]:
    """Return who must come in tonight and where it is too hot, a line each."""
    document = today(collection, day)
    return weather_of(document, document["units"])


def _days(planner: Planner, first: date, sitter: Sitter) -> Iterator[dict[str, Any]]:
    """Yield the visits: plain water in the order to go round, cautions once."""
    context = planner.context
    begun = sitter.start.toordinal()
    wetted = [
        event.day
        for line in planner.timeline.plants.values()
        for event in line.events
        if event.kind in {"wet", "aid"} and begun <= event.day < first.toordinal()
    ]
    said: set[int] = set()
    codes = list(context.catalog.cautions.values())
    for day, tasks in visits(planner, first.toordinal(), sitter.until.toordinal(), max(wetted, default=None)):
        views = {task.plant: planner.view(planner.plant_planners[task.plant]) for task in tasks}
        by_id = {task.id: task for task in tasks}
        stops = in_order(stop_of(task, views[task.plant], context, by_id) for task in tasks)
        ranks = [rank for rank in caution_ranks(stops) if rank not in said]
        said.update(ranks)
        on = date.fromordinal(day)
        yield {
            "on": on.isoformat(),
            "day": f"{day_words(on)} {on.year}",
            "minutes": sum(stop.minutes for stop in stops),
            "can": {"plain_l": plain_l(stops), "plain_apart_l": apart_l(stops), "feeds": []},
            "tasks": [
                line_of(by_id[stop.task], views[by_id[stop.task].plant], [by_id[stop.task]], context.catalog)
                for stop in stops
            ],
            "cautions": [{"code": codes[rank].code, "text": codes[rank].text} for rank in ranks],
        }


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
        for row in day["tasks"]:
            marks = f" ({', '.join(row['marks'])})" if row["marks"] else ""
            place = f" [{row['place'].replace('-', ' ')}]" if row["place"] else ""
            yield f"  [ ] {row['name']}{place}: {row['text']}{marks}"
        yield from (f"  ! {caution['text']}" for caution in day["cautions"])
    yield ""
    yield "WHERE THINGS STAND"
    for place in sheet["places"]:
        yield f"  {place['name'] or place['place'] or 'no place'}"
        for plant in place["plants"]:
            yield f"    {plant['name']}: {' – '.join([plant['pot'], *plant['marks']])}"
