"""What was noted of a plant leaves the house only when its owner says so."""

from __future__ import annotations

from pathlib import Path

import pytest
from icalendar import Calendar

from tests.cli.cli_run import done, quay

NOTE = "the key lies under the third pot"


def _calendars() -> list[str]:
    """Return every calendar that can be given away, as a reader sees its texts."""
    found = []
    for words in ((), ("--grouping", "each"), ("--as", "todos")):
        body = done("calendar", "write", *words).out
        parts = Calendar.from_ical(body).walk()
        found.append(" ".join(str(value) for part in parts for value in part.values()))
    return found


@pytest.fixture
def noted(home: Path) -> Path:
    """A collection in which something was noted on a look and at a coming."""
    quay()
    done("observe", "tide", "--roots", "4", "--note", NOTE)
    done("plant", "add", "pebble", "--note", NOTE)
    return home


@pytest.mark.usefixtures("noted")
def test_no_calendar_and_no_sheet_carries_a_note() -> None:
    """Not in any grouping or form, and not on what a sitter prints."""
    texts = _calendars()
    assert all("ide" in text or "ook" in text for text in texts), texts
    assert [text for text in texts if "third pot" in text] == []
    done("away", "add", "--from", "2026-11-26", "--until", "2026-11-30")
    done("sitter", "add", "Mara", "--from", "2026-11-26", "--until", "2026-11-30")
    sheet = done("sitter", "sheet", "Mara").out
    assert "ater" in sheet
    assert "third pot" not in sheet


@pytest.mark.usefixtures("noted")
def test_the_owner_reads_it_all_the_same() -> None:
    """The log keeps it, and so does the file of the journal."""
    assert NOTE in done("log").out
    assert NOTE in done("export").out


@pytest.mark.usefixtures("noted")
def test_a_setting_gives_notes_away() -> None:
    """Whoever wants them in the calendar says so once; taking it back takes them out again."""
    done("settings", "notes-in-calendars", "yes")
    assert NOTE in _calendars()[0]
    done("settings", "notes-in-calendars", "no")
    assert NOTE not in _calendars()[0]
