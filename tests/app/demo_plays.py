"""The example as tests play it: written for a day and a latitude into a folder of their own."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

from carecal.app import Collection, Now
from carecal.app.demo.example import write_demo

DAY = date(2026, 11, 25)  # a Wednesday in the northern autumn
NORTH, SOUTH, EQUATOR = 54.0, -35.0, 1.0


def moment(day: date) -> Now:
    """Return nine o'clock of a day in UTC, named for the command."""
    instant = datetime(day.year, day.month, day.day, 9, tzinfo=UTC)
    return Now(day, instant, instant, is_given=True)


def play(
    folder: Path, day: date = DAY, *, which: str = "harbour-house", latitude: float | None = None
) -> Collection:
    """Return an example that was written on a day."""
    return write_demo(folder / "quay", moment(day), which=which, latitude=latitude)
