"""A collection in a temporary folder whose climate never changes, so that days can be counted by hand.

At 21 °C day and night, 50 % humidity, room air and 2 mol of light a day demand is 1 (models D3): bark in a 12 cm
plastic pot is wetted every 6 days, its window a quarter of that either way in whole days, one day.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from carecal.app import Collection, Now, Outcome
from carecal.collection.entries import (
    CollectionStarted,
    Entry,
    MonthRow,
    PlaceAdded,
    PlantAdded,
    SettingChanged,
)
from carecal.plan.model import Grouping, Plan, Task

START = date(2026, 3, 2)  # a Monday
WATERED = date(2026, 2, 28)
DUE = date(2026, 3, 6)  # the first wetting of a plant in bark
EVERY = timedelta(days=6)
DAY = timedelta(days=1)
WETTINGS = frozenset({"watering", "refilling", "feeding", "flushing"})


def at(day: date, hour: int = 9, minute: int = 0) -> Now:
    """Return a moment of a day named for the command; the zone is UTC, the clock agrees."""
    instant = datetime(day.year, day.month, day.day, hour, minute, tzinfo=UTC)
    return Now(day, instant, instant, is_given=True)


def even_year(temp_c: float = 21.0, light: float = 2.0) -> tuple[MonthRow, ...]:
    """Return twelve equal months."""
    return tuple(
        MonthRow(month=m, day_c=temp_c, night_c=temp_c, rh_pct=50, air="room", light_mol_m2_d=light)
        for m in range(1, 13)
    )


class Diary:
    """One grower's collection and the commands said on its days."""

    def __init__(
        self, folder: Path, *, weekdays: str | None = "none", ticking: str = "usual", latitude: float = 54.3
    ) -> None:
        first = CollectionStarted(on=START, name="Quay", latitude=latitude, longitude=10.1, timezone="UTC")
        self.collection = Collection.start(folder / "home", first, at(START, 8))
        self.writes(START, PlaceAdded(on=START, place="sill", place_kind="warm-sill", climate=even_year()))
        if weekdays is not None:
            self.writes(START, SettingChanged(on=START, key="weekdays", value=weekdays))
        self.writes(START, SettingChanged(on=START, key="ticking", value=ticking))

    def writes(self, day: date, *entries: Entry, by: str = "owner") -> Outcome:
        """Write entries as one command of a day."""
        return self.collection.record(*entries, now=at(day), by=by)

    def plant(self, plant_id: str = "tide", on: date = START, **values: Any) -> str:
        """Add a plant in bark in a 12 cm plastic pot, established, last wetted on 28 February."""
        known: dict[str, Any] = {
            "medium": "bark",
            "container": "plastic",
            "size_cm": 12,
            "place": "sill",
            "stage": "established",
            "watered": WATERED,
        }
        self.writes(on, PlantAdded(on=on, plant=plant_id, **{**known, **values}))
        return plant_id

    def says(
        self,
        day: date,
        action: Callable[..., Sequence[Entry]],
        *words: Any,
        by: str = "owner",
        **options: Any,
    ) -> Outcome:
        """Carry out an action on a day and write what it gives."""
        return self.collection.record(
            *action(self.collection, at(day), *words, **options), now=at(day), by=by
        )

    def tries(
        self, day: date, action: Callable[..., Sequence[Entry]], *words: Any, **options: Any
    ) -> list[Entry]:
        """Carry out an action on a day and write nothing."""
        return list(action(self.collection, at(day), *words, **options))

    def plan(self, day: date, grouping: Grouping = "rounds", **options: Any) -> Plan:
        """Return the plan of a day."""
        return self.collection.plan(day, grouping=grouping, **options)

    def wettings(self, day: date, plant: str = "tide", grouping: Grouping = "rounds") -> list[Task]:
        """Return the open, overdue and planned wettings of a plant's pot."""
        number = self.collection.number_of(plant)
        tasks = self.plan(day, grouping).tasks
        return [t for t in tasks if t.plant == number and t.care in WETTINGS]

    def next(self, day: date, plant: str = "tide") -> Task:
        """Return the next wetting of a plant's pot."""
        return self.wettings(day, plant)[0]

    def looks(self, day: date, plant: str = "tide") -> list[Task]:
        """Return the open, overdue and planned looks at a plant."""
        number = self.collection.number_of(plant)
        return [t for t in self.plan(day).tasks if t.plant == number and t.care == "inspection"]

    def past(self, day: date, plant: str = "tide", since: date = START) -> dict[str, str]:
        """Return what became of a plant's wettings, status by task id."""
        number = self.collection.number_of(plant)
        tasks = self.plan(day, start=since).tasks
        told = {"done", "assumed", "left", "skipped"}
        return {
            t.id: t.status for t in tasks if t.plant == number and t.care in WETTINGS and t.status in told
        }

    def close(self) -> None:
        """Close the collection."""
        self.collection.close()
