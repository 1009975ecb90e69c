"""Entries of a weather forecast that comes as a file: days ahead that say something new. They are not written here."""

from __future__ import annotations

import sys
import tempfile
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from carecal.app.command_context import CommandContext
from carecal.app.make_entries import make_entry
from carecal.app.setup.places import FORECAST_DAYS
from carecal.collection.entries import Forecast
from carecal.collection.forecast_file import ForecastRow, read_forecast
from carecal.errors import Refused

if TYPE_CHECKING:
    from carecal.app.door import Collection
    from carecal.app.now import Now

__all__ = ["forecasts"]

STANDARD_INPUT = "-"
LARGEST_BYTES = 1_000_000  # of standard input; our choice, because sixteen days have some hundreds


def forecasts(collection: Collection, now: Now, place: str, file: Path) -> list[Forecast]:
    """Return the entries of a forecast's days: those from today to sixteen days ahead that were not told alike before.

    Args:
        collection: The collection.
        now: The moment of the command.
        place: The place.
        file: CSV or JSON; '-': standard input.

    Raises:
        UnknownName: The place is not known.
        DataFault: The file has faults; names all of them.
        Refused: It has no day ahead, or says nothing new.
        StorageError: The file cannot be read.
    """
    context = CommandContext(collection, now, ())
    context.place(place)
    rows = read_forecast(file) if str(file) != STANDARD_INPUT else _from_standard_input()
    last = now.day + timedelta(days=FORECAST_DAYS)
    ahead = [row for row in rows if now.day <= row.day <= last]
    if not ahead:
        raise Refused(
            f"the forecast has no day from {now.day} to {last}; its days are {rows[0].day} to {rows[-1].day}"
        )
    known = context.timeline.facts.places[place].forecasts
    new = []
    for row in ahead:
        told = known.get(row.day.toordinal())
        is_new = told is None or (
            (row.night_c is not None and row.night_c != told.night_c)
            or (row.high_c is not None and row.high_c != told.day_c)
        )
        if is_new:
            new.append(row)
    if not new:
        raise Refused(f"all of it was told already, {len(ahead)} days of {place}; nothing was written")
    return [
        make_entry(Forecast, on=now.day, place=place, day=row.day, night_c=row.night_c, day_c=row.high_c)
        for row in new
    ]


def _from_standard_input() -> tuple[ForecastRow, ...]:
    text = sys.stdin.read(LARGEST_BYTES)
    with tempfile.TemporaryDirectory(prefix="carecal-") as folder:
        file = Path(folder) / "the forecast"
        file.write_text(text, encoding="utf-8")
        return read_forecast(file)
