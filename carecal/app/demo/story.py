"""The example's story, read from its data file and laid on the calendar before a day; nobody tends the plants here."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from carecal.collection.climate_file import read_climate
from carecal.collection.entries import KINDS, CollectionStarted, Entry, Moved, Observed, PlaceAdded
from carecal.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

__all__ = ["STORIES", "Habit", "Story", "latest_day", "read_story"]

_FOLDER = Path(__file__).parent / "data"
STORIES = ("harbour-house", "south")
_DATES = ("came", "potted", "watered", "start", "until")
HALF_YEAR = 6  # months between the same season north and south of the equator (design §3 rule 17)
DAYS_TO_YEAR = 380  # how far back a chapter's day may lie, its margin aside


@dataclass(frozen=True, slots=True)
class Habit:
    """How the grower of the story treats one plant.

    Attributes:
        pace: Its true share of the interval of the tables.
        answers: Share of the wettings at which it is said how the medium felt.
        neglected: Days before today in which nothing was done for it. [d]
        by_hand: Cares done by the calendar alone, whatever the plan says: care, every, from, until, felt.
    """

    pace: float = 1.0
    answers: float = 0.1
    neglected: int = 0
    by_hand: tuple[Mapping[str, Any], ...] = ()


@dataclass(slots=True)
class Story:
    """A story laid on the days before `today`: what was said on each of them but for the daily care."""

    started: CollectionStarted
    today: date
    entries: list[Entry] = field(default_factory=list)  # in the order of their days
    habits: dict[str, Habit] = field(default_factory=dict)
    readings: list[Mapping[str, Any]] = field(default_factory=list)


def read_story(which: str, today: date, latitude: float | None = None) -> Story:
    """Return a story as it ends the day before `today`.

    Args:
        which: One of `STORIES`.
        today: The day it is told on.
        latitude: Where it plays instead [degrees north]; its places then have the climate of their kinds.

    Raises:
        Refused: There is no such story, or the latitude is out of range.
    """
    if which not in STORIES:
        raise Refused(f"example '{which}' is not there; allowed are {', '.join(STORIES)}")
    if latitude is not None and not -66 <= latitude <= 66:
        raise Refused(f"latitude {latitude:g} is out of range; allowed are -66 to 66 degrees")
    data = tomllib.loads((_FOLDER / f"{which}.toml").read_text(encoding="utf-8"))
    return _Teller(data, today, latitude).story


def latest_day(month_day: str, today: date, margin: int, *, is_south: bool) -> date:
    """Return the latest day of that month and day (the north's) that lies at least `margin` days before today."""
    month, day = (int(part) for part in month_day.split("-"))
    if is_south:
        month = (month + HALF_YEAR - 1) % 12 + 1
    last = today - timedelta(days=margin)
    found = date(last.year, month, day)
    return found if found <= last else date(last.year - 1, month, day)


class _Teller:
    def __init__(self, data: Mapping[str, Any], today: date, latitude: float | None) -> None:
        head = dict(data["collection"])
        begins, climate = int(head.pop("begins")), head.pop("climate", None)
        if latitude is not None:
            head["latitude"], climate = latitude, None
        self.data, self.today = data, today
        self.first = today + timedelta(days=begins)
        self.is_south = head["latitude"] < 0
        started = CollectionStarted.model_validate({"on": self.first, **head})
        self.story = Story(started, today, readings=list(data.get("readings", ())))
        told: list[Entry] = [*self._places(climate), *self._chapters(data["chapter"], None)]
        for plant in data["plant"]:
            told.extend(self._plant(plant))
        self.story.entries = sorted(told, key=lambda entry: entry.on)  # stable: the file's order within a day

    def _places(self, climate: str | None) -> Iterator[Entry]:
        for row in self.data["place"]:
            values = dict(row)
            if climate is not None:
                values["climate"] = read_climate(_FOLDER / climate, values["place"])
            yield PlaceAdded.model_validate({"on": self.first, **values})

    def _chapters(self, chapters: Sequence[Mapping[str, Any]], plant: str | None) -> Iterator[Entry]:
        for chapter in chapters:
            origin = self.today
            if "day" in chapter:
                origin = latest_day(
                    chapter["day"], self.today, int(chapter["margin"]), is_south=self.is_south
                )
            for days, kind, values in chapter["story"]:
                fields = {
                    key: origin + timedelta(days=value) if key in _DATES else value
                    for key, value in values.items()
                }
                named = {} if plant is None else {"plant": plant}
                on = origin + timedelta(days=days)
                yield KINDS[kind].model_validate({"on": on, **named, **fields})

    def _plant(self, row: Mapping[str, Any]) -> list[Entry]:
        name = row["id"]
        keys = ("pace", "answers", "neglected")
        self.story.habits[name] = Habit(
            **{key: row[key] for key in keys if key in row}, by_hand=tuple(row.get("by_hand", ()))
        )
        told = list(self._chapters(row["chapter"], name))
        added = next(entry for entry in told if entry.kind == "added")
        left = next((entry.on for entry in told if entry.kind == "retired"), self.today)
        told += self._growth(name, row["growth"]) if "growth" in row else []
        told += self._summers(name, row["summer"], added) if "summer" in row else []
        kept = [e for e in told if e is added or (added.on < e.on <= left and e.on < self.today)]
        return sorted(kept, key=lambda entry: entry.on)

    def _growth(self, name: str, growth: Mapping[str, Any]) -> Iterator[Entry]:
        """Yield counts that go evenly from the first number to the last."""
        first, last = int(growth["from"]), int(growth["until"])
        for number, days in enumerate(range(first, last + 1, int(growth["every"]))):
            share = (days - first) / max(1, last - first)
            roots, longest, leaves = (
                round(growth[key][0] + share * (growth[key][1] - growth[key][0]))
                for key in ("roots", "longest", "leaves")
            )
            yield Observed(
                on=self.today + timedelta(days=days),
                plant=name,
                roots=roots,
                longest_mm=longest,
                leaves=leaves,
                tips=min(roots, 1 + number % 3),
                firmness="firm" if roots else "soft",
            )

    def _summers(self, name: str, place: str, added: Entry) -> Iterator[Entry]:
        """Yield the moves out and back of every summer that the plant was there for."""
        indoors = str(getattr(added, "place", ""))
        out, back = self.data["summer"]["out"], self.data["summer"]["back"]
        for years in range(4):
            day = self.today - timedelta(days=365 * years)
            moved_out = latest_day(out, day, 1, is_south=self.is_south)
            moved_in = latest_day(
                back, moved_out + timedelta(days=DAYS_TO_YEAR - 15), 0, is_south=self.is_south
            )
            if moved_out > added.on:
                yield Moved(on=moved_out, plant=name, place=place)
                yield Moved(on=moved_in, plant=name, place=indoors)
