"""A house with one sill and one plant on it, told to the command line; its calendar read by a second library."""

from __future__ import annotations

from datetime import date, timedelta

import recurring_ical_events
from icalendar import Calendar

from tests.cli.cli_run import done

__all__ = ["BEGUN", "calendar", "said", "start"]

BEGUN = date(2026, 3, 1)


def said(*words: str, on: date) -> str:
    """Say a command on a day and return what it prints."""
    return done(*words, as_of=on.isoformat()).out


def start(**plant: str) -> None:
    """Make a house with a warm sill and one plant on it."""
    said("init", "Quay", "--latitude", "54.3", "--longitude", "10", "--timezone", "Europe/Berlin", on=BEGUN)
    said("place", "add", "sill", "--kind", "warm-sill", "--aspect", "E", on=BEGUN)
    given = {
        "medium": "bark",
        "container": "plastic",
        "size": "12",
        "roots": "5",
        "longest": "120",
        "leaves": "4",
        "tips": "2",
        "watered": "2026-02-27",
        **plant,
    }
    words = [part for key, value in given.items() for part in (f"--{key}", value)]
    said("plant", "add", "tide", "--place", "sill", *words, on=BEGUN)


def calendar(on: date, days: int) -> list[tuple[date, str]]:
    """Return day and words of each event of the coming days, as another program reads them."""
    read = Calendar.from_ical(said("calendar", "write", "--days", str(days), on=on))
    events = recurring_ical_events.of(read).between(on, on + timedelta(days=days))
    told = ((event.start, f"{event['SUMMARY']} {event.get('DESCRIPTION', '')}") for event in events)
    return [(day if type(day) is date else day.date(), " ".join(text.split())) for day, text in told]
