"""Plans made by hand, for the tests of calendars; nothing here plans."""

from __future__ import annotations

import atexit
import sqlite3
from collections.abc import Iterable
from datetime import date, timedelta
from functools import cache
from itertools import count
from pathlib import Path
from typing import Any
from uuid import UUID

from carecal.calendars.ledger import Ledger
from carecal.calendars.options import CalendarOptions
from carecal.calendars.write import Draft, Rendered
from carecal.collection.migrations import MIGRATIONS
from carecal.plan.model import Can, Fact, FeedMix, Plan, PlantView, Round, Series, Task

AS_OF = date(2026, 11, 25)  # a Wednesday
UNTIL = date(2027, 11, 30)
NAMESPACE = UUID("5f1d2c3b-4a59-4687-9706-1524334251ab")
EACH = CalendarOptions(grouping="each")
ROUNDS = CalendarOptions()
_NUMBERS = count(1)


def database(path: Path | str = ":memory:") -> sqlite3.Connection:
    """Return an empty database with the tables of calendars; the caller closes it."""
    connection = sqlite3.connect(path, isolation_level=None)
    for step in MIGRATIONS:
        for statement in step.statements:
            connection.execute(statement)
    return connection


@cache
def _shared() -> sqlite3.Connection:
    connection = database()
    atexit.register(connection.close)
    return connection


def new_ledger() -> Ledger:
    """Return a ledger that was never published, in a database that all of a session share."""
    return Ledger(_shared(), f"name/{next(_NUMBERS)}")


def plant(number: int = 7, name: str = "Tide", **changes: Any) -> PlantView:
    """Return a plant in bark on the east sill."""
    values: dict[str, Any] = {
        "number": number,
        "id": name.lower(),
        "name": name,
        "profile": "phalaenopsis",
        "medium": "bark",
        "container": "clear-plastic",
        "size_cm": 12.0,
        "place": "East sill",
        "stage": "rooting-in",
        "flowering": "none",
        "basis": "2026-11-20T18:03:00Z",
    }
    return PlantView(**{**values, **changes})


def wetting(slot: int, on: date, number: int = 7, care: str = "watering", **changes: Any) -> Task:
    """Return one planned wetting, certain, with a window of a day before and two after."""
    values: dict[str, Any] = {
        "id": f"task/{number}/1/wetting/{slot}",
        "on": on,
        "plant": number,
        "care": care,
        "technique": "pour-through" if care == "flushing" else "drench",
        "slot": slot,
        "earliest": on - timedelta(days=1),
        "due": on,
        "latest": on + timedelta(days=2),
        "status": "planned",
        "certain": True,
        "minutes": 3,
        "litres": 0.3,
        "ppm_n": 60.0 if care == "feeding" else None,
    }
    return Task(**{**values, **changes})


def look(n: int, on: date, number: int = 7, **changes: Any) -> Task:
    """Return one planned look."""
    values = {"id": f"look/{number}/{n}", "technique": "look", "ppm_n": None, "litres": None, "minutes": 2}
    return wetting(n, on, number, "inspection", **{**values, **changes})


def waterings(
    first: date,
    every: int,
    until: date,
    skip: Iterable[date] = (),
    number: int = 7,
    slot: int = 1,
    key: str = "",
) -> tuple[Series, list[Task]]:
    """Return a rule of waterings with the tasks it stands for."""
    gaps = tuple(skip)
    days = [first + timedelta(days=i * every) for i in range(max(0, (until - first).days // every + 1))]
    tasks = [wetting(slot + i, day, number) for i, day in enumerate(days) if day not in gaps]
    series = Series(
        key=key or f"series/{number}/1/watering//{first.isoformat()}",
        plant=number,
        care="watering",
        technique="drench",
        first=first,
        every_days=every,
        until=until,
        skip=gaps,
        certain=True,
        tasks=tuple(task.id for task in tasks),
        because=(f"every {every} days", "nights below 16 °C since 4 November."),
        window="may slip: 1 day early, 2 days late.",
    )
    return series, tasks


def plan(
    series: Iterable[Series] = (),
    tasks: Iterable[Task] = (),
    rounds: Iterable[Round] = (),
    plants: Iterable[PlantView] = (),
    **changes: Any,
) -> Plan:
    """Return a plan in grouping `each`, of Tide alone unless told."""
    values: dict[str, Any] = {
        "collection_id": "c",
        "collection_name": "Harbour house",
        "timezone": "Europe/Vienna",
        "as_of": AS_OF,
        "start": AS_OF,
        "until": UNTIL,
        "grouping": "each",
        "plants": tuple(plants) or (plant(),),
        "series": tuple(series),
        "tasks": tuple(sorted(tasks, key=lambda t: (t.on, t.plant, t.care))),
        "rounds": tuple(rounds),
    }
    return Plan(**{**values, **changes})


def plan_of(*pairs: tuple[Series, list[Task]], tasks: Iterable[Task] = (), **changes: Any) -> Plan:
    """Return a plan of rules with their tasks and further single tasks."""
    ruled = [task for _, group in pairs for task in group]
    return plan([series for series, _ in pairs], [*ruled, *tasks], **changes)


def round_of(on: date, tasks: Iterable[Task], **changes: Any) -> Round:
    """Return the round of a day with its can."""
    group = list(tasks)
    fed = [task for task in group if task.care == "feeding"]
    plain = sum(task.litres or 0.0 for task in group if task.care != "feeding")
    mix = FeedMix(60.0, 0.3, sum(task.litres or 0.0 for task in fed), tuple(task.id for task in fed))
    values: dict[str, Any] = {
        "on": on,
        "tasks": tuple(task.id for task in group),
        "can": Can(plain, (mix,) if fed else ()),
        "minutes": sum(task.minutes for task in group),
        "cautions": tuple(dict.fromkeys(code for task in group for code in task.cautions)),
        "stops": tuple(
            tuple(task for task in group if task.plant == plant)
            for plant in dict.fromkeys(task.plant for task in group)
        ),
    }
    return Round(**{**values, **changes})


def rounds_plan(tasks: Iterable[Task], plants: Iterable[PlantView] = (), **changes: Any) -> Plan:
    """Return a plan in grouping `rounds`, one round a day of the tasks."""
    group = sorted(tasks, key=lambda task: task.on)
    days = sorted({task.on for task in group})
    rounds = [round_of(day, [task for task in group if task.on == day]) for day in days]
    return plan(tasks=group, plants=plants, **{"grouping": "rounds", "rounds": tuple(rounds), **changes})


def fact(
    entry: int, on: date, number: int = 7, care: str = "watering", text: str = "", task: str = ""
) -> Fact:
    """Return a care done at 18:00 UTC of its day."""
    return Fact(entry, number, care, on, f"{on.isoformat()}T18:00:00Z", text, task)


def written(
    of: Plan, options: CalendarOptions | None = None, ledger: Ledger | None = None, **changes: Any
) -> Rendered:
    """Return the calendar of a plan, in the grouping of the plan unless told."""
    draft = Draft(
        options or CalendarOptions(grouping=of.grouping),
        new_ledger() if ledger is None else ledger,
        **{"namespace": NAMESPACE, "generation": 1, **changes},
    )
    draft.add(of)
    return draft.finish()
