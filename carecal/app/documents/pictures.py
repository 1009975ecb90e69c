"""What pictures show, in numbers: a place's climate over the year, and the days of care. It draws nothing."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from carecal.errors import UnknownName
from carecal.planning.steps.case import Case

if TYPE_CHECKING:
    from collections.abc import Sequence

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.collection.plants import Event
    from carecal.planning.planner import Planner
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["CareDay", "ClimateYear", "Mark", "care_days", "climate_year"]

YEAR_DAYS = 365
WARM_STEPS = (
    "potting-on",
    "converting-to-a-reservoir",
)  # the steps that look weeks ahead at the medium's warmth
RESERVOIR = "reservoir"
DONE_KINDS = frozenset({"wet", "aid", "look", "left", "potted"})


@dataclass(frozen=True, slots=True)
class Mark:
    """A day on which something stands in a picture: what happened, or what opens or shuts."""

    on: date
    kind: str
    text: str
    value: float | None = None


@dataclass(frozen=True, slots=True)
class ClimateYear:
    """A place's normals over a year of days, and of the medium in the pot that most plants there stand in.

    Attributes:
        place: Its id.
        name: Its name.
        first: First day.
        day_c: Air by day. [°C]
        night_c: Air at night. [°C]
        medium_c: Mean of the medium; empty where nothing stands there. [°C]
        container: What the medium is in.
        kinds: Profile that the gates are told for.
        limit_c: Warmth of the medium at which feeding opens. [°C]
        marks: The days on which gates open and shut, in order.
    """

    place: str
    name: str
    first: date
    day_c: tuple[float, ...]
    night_c: tuple[float, ...]
    medium_c: tuple[float, ...]
    container: str
    kinds: str
    limit_c: float | None
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class CareDay:
    """One day of care: how much was done, or how much is planned.

    Attributes:
        on: The day.
        done: Cares that were done.
        planned: Tasks that stand in its round.
        cares: Cares and how often, the most frequent first.
    """

    on: date
    done: int
    planned: int
    cares: tuple[tuple[str, int], ...]


def climate_year(collection: Collection, now: Now, place: str) -> ClimateYear | None:
    """Return a place's climate from the first of this month for a year; None where nobody knows it.

    Raises:
        UnknownName: No place has that id.
    """
    planner = collection.planner(now.day)
    context = planner.context
    if place not in context.facts.places:
        raise UnknownName("place", place)
    air = context.air(place, context.as_of)
    if air is None:
        return None
    first = now.day.replace(day=1)
    days = range(first.toordinal(), first.toordinal() + YEAR_DAYS)
    plant_planner = _usual(planner, place)
    container = plant_planner.line.latest.container or "" if plant_planner is not None else ""
    medium = air.medium(container)[0] if container in context.catalog.containers else []
    limit, marks = _gate_days(plant_planner, days, place) if plant_planner is not None else (None, [])
    return ClimateYear(
        place,
        context.facts.places[place].spec_at(context.as_of).name,
        first,
        tuple(air.at("day_c", day) for day in days),
        tuple(air.at("night_c", day) for day in days),
        tuple(medium[day - air.origin] for day in days) if medium else (),
        container,
        plant_planner.line.latest.profile if plant_planner is not None else "",
        limit,
        tuple(sorted(marks, key=lambda m: m.on)),
    )


def _usual(planner: Planner, place: str) -> PlantPlanner | None:
    """Return the first plant of the kind and container that most plants of a place share."""
    there = [
        plant_planner
        for number, plant_planner in sorted(planner.plant_planners.items())
        if plant_planner.line.retired is None
        and plant_planner.line.latest.place == place
        and plant_planner.line.latest.container in planner.context.catalog.containers
        and not plant_planner.line.latest.is_wrapped
    ]
    if not there:
        return None
    kinds = Counter((d.line.latest.profile, d.line.latest.container) for d in there)
    usual = kinds.most_common(1)[0][0]
    return next(d for d in there if (d.line.latest.profile, d.line.latest.container) == usual)


def _gate_days(plant_planner: PlantPlanner, days: range, place: str) -> tuple[float | None, list[Mark]]:
    """Return the warmth that feeding asks for, and the days on which warmth opens and shuts what hangs on it."""
    reasons = {gate.gate: gate.because[0] for gate in plant_planner.gates.report(plant_planner.context.as_of)}
    limit = reasons["medium-temperature"].value
    marks = []
    for gate, opened, shut in (
        (
            "medium-temperature",
            f"feeding opens: the medium reaches {limit:g} °C",
            f"feeding shuts: under {limit:g} °C",
        ),
        ("heat", "feeding opens: no longer too hot", "feeding shuts: too hot"),
    ):
        known = [day for day in days if day <= plant_planner.context.last_day]
        states = [(day, gate not in plant_planner.gates.shut_on(day)) for day in known]
        marks += _turns(states, gate, opened, shut)
    case = Case(plant_planner, {})
    for step in WARM_STEPS:
        container = RESERVOIR if step != WARM_STEPS[0] else plant_planner.line.latest.container or ""
        window = (
            case.window(step, container, place=place)
            if container in plant_planner.context.catalog.containers
            else None
        )
        if window is not None:
            word = step.replace("-", " ")
            states = [(day, window.starts.run_of(day) is not None) for day in days]
            marks += _turns(states, step, f"{word}: safe from here", f"{word}: no safe start from here")
    return limit, marks


def _turns(states: Sequence[tuple[int, bool]], kind: str, opened: str, shut: str) -> list[Mark]:
    return [
        Mark(date.fromordinal(day), f"{kind} {'opens' if now else 'shuts'}", opened if now else shut)
        for (_, before), (day, now) in pairwise(states)
        if before != now
    ]


def care_days(collection: Collection, now: Now, year: int) -> list[CareDay]:
    """Return every day of a year with what was done on it and, from today on, what is planned.

    Args:
        collection: The collection.
        now: The moment of the command.
        year: The year; a plan reaches to the end of the twelfth month ahead.
    """
    start, end = date(year, 1, 1), date(year, 12, 31)
    done: dict[date, Counter[str]] = {}
    planned: dict[date, Counter[str]] = {}
    planner = collection.planner(now.day)
    for line in planner.timeline.plants.values():
        for event in line.told:
            if event.kind in DONE_KINDS:
                done.setdefault(date.fromordinal(event.day), Counter())[_care_of(event)] += 1
    if end >= now.day:
        plan = planner.plan("rounds")
        for found in plan.rounds:
            tasks = [plan.poured(name) for name in found.tasks]
            planned[found.on] = Counter(t.care for t in tasks if t.joined_to is None)
    days = [start + timedelta(days=i) for i in range((end - start).days + 1)]
    return [_care_day(day, done.get(day, Counter()), planned.get(day, Counter())) for day in days]


def _care_of(event: Event) -> str:
    return event.care or {"potted": "potting", "left": "look"}.get(event.kind, event.kind)


def _care_day(day: date, done: Counter[str], planned: Counter[str]) -> CareDay:
    cares = tuple(sorted((done + planned).items(), key=lambda item: (-item[1], item[0])))
    return CareDay(day, done.total(), planned.total(), cares)
