"""Collections of any number of plants for the benchmarks: the same two dozen plants over and over, with a log."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from carecal.app import Collection, Now
from carecal.catalog.load import load_catalog
from carecal.collection.entries import CollectionStarted, Done, PlantAdded
from tests.bench import Bench, demo_climates

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["AS_OF", "FIRST", "make_collection", "moment", "tick"]

START = date(2026, 3, 2)
AS_OF = date(2026, 6, 3)
FIRST = "p00001"
PLACES = ("stair-window", "bathroom-shelf", "bedroom-sill", "living-room", "grow-cabinet")
POTS = (
    ("bark", "plastic", 12),
    ("moss", "clear-plastic", 9),
    ("lava", "net", 9),
    ("bark", "slotted", 15),
    ("expanded-clay", "reservoir", 12),
    ("bark-mix", "terracotta", 10),
    ("pumice", "plastic", 12),
    ("none", "mount", 12),
)
STAGES = ("established", "rooting-in", "established", "new-tips", "established", "rootless")
WETTINGS = 6  # of the log of each plant


def make_collection(folder: Path, plants: int) -> Collection:
    """Make a collection of so many plants on five places, each with a log of six wettings in the last two months."""
    bench = Bench(load_catalog(), START)
    for place in PLACES:
        bench.place(place, demo_climates()[place], START)
    for number in range(1, plants + 1):
        _write(bench, number)
    began = datetime.combine(START, datetime.min.time(), UTC).replace(hour=9, second=1)
    started = CollectionStarted(on=START, name="Bench", latitude=54.3, longitude=10, timezone="Europe/Berlin")
    collection = Collection.start(folder, started, Now(START, began, began, is_given=True))
    collection.journal.restore_records(bench.records)
    return collection


def _write(bench: Bench, number: int) -> None:
    medium, container, size = POTS[number % len(POTS)]
    stage: Any = STAGES[number % len(STAGES)] if container not in {"mount", "reservoir"} else "established"
    name = f"p{number:05d}"
    entered = START + timedelta(days=number % 20)
    bench.write(
        PlantAdded(
            on=entered,
            plant=name,
            medium=medium,
            container=container,
            size_cm=size,
            stage=stage,
            place=PLACES[number % len(PLACES)],
            potted=entered - timedelta(days=200),
            watered=entered,
        )
    )
    every = 9 + number % 4
    for nth in range(WETTINGS, 0, -1):
        day = AS_OF - timedelta(days=nth * every - number % 7)
        if entered < day <= AS_OF:
            felt: Any = ("right", None, "damp")[nth % 3]
            care: Any = "moistening" if stage == "rootless" else "watering"
            bench.write(Done(on=day, plant=name, care=care, felt=felt))


def moment(day: date = AS_OF, minute: int = 0) -> Now:
    """Return a moment of a day in June, minutes after 18:00."""
    instant = datetime(day.year, day.month, day.day, 18, 0, tzinfo=UTC) + timedelta(minutes=minute)
    return Now(day, instant, instant, is_given=True)


def tick(collection: Collection, minute: int, plant: str = FIRST) -> int:
    """Record one wetting of a plant through the one door; return the number of its records."""
    done = Done(on=AS_OF, plant=plant, care="watering", felt="right")
    return len(collection.record(done, now=moment(minute=minute)).records)
