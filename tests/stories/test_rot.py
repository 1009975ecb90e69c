"""Rot from the find to the first water, as a grower reads and says it; the calendar is read by a second library."""

from __future__ import annotations

from datetime import date

import recurring_ical_events
from icalendar import Calendar

from tests.cli.cli_run import done, typed

FOUND = date(2026, 11, 10)


def said(*words: str, on: date = FOUND) -> str:
    """Say a command on a day and return what it prints."""
    return done(*words, as_of=on.isoformat()).out


def test_a_crown_rots_and_is_followed(home: object) -> None:
    """Asked where, on top of the round with what to do, dry for three days, then from below and without feed."""
    assert home
    began = date(2026, 11, 1)
    said("init", "Quay", "--latitude", "54.3", "--longitude", "10", "--timezone", "Europe/Berlin", on=began)
    said("place", "add", "sill", "--kind", "warm-sill", "--aspect", "E", on=began)
    said(
        *typed(
            "plant add tide --medium bark --container plastic --size 12 --place sill --roots 5 "
            "--longest 120 --leaves 4 --watered 2026-10-30"
        ),
        on=began,
    )
    said("observe", "tide", "--seen", "rot", "--where", "crown")
    first = said("today").splitlines()
    assert first[0] == "! Tide: rot at the crown, found 10 November"
    assert "one clean blade" in first[1]
    assert "No water before 13 November, then from below." in first[1]
    later = said("today", "--days", "7", on=date(2026, 11, 13))
    assert "Water from below or at the edge" in later
    calendar = Calendar.from_ical(said("calendar", "write"))
    events = recurring_ical_events.of(calendar).between(FOUND, date(2027, 1, 10))
    told = [(event.start, f"{event['SUMMARY']} {event.get('DESCRIPTION', '')}") for event in events]
    wet = [(day, text) for day, text in told if "ater" in text and "Look over" not in text.split(" ", 2)[0:2]]
    assert min(day for day, text in wet if "from below" in text) >= date(2026, 11, 13)
    assert not [
        text for day, text in told if day < date(2026, 12, 8) and "feed" in text.lower() and "ppm" in text
    ]
