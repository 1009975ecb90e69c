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


@pytest.mark.usefixtures("noted")
def test_the_story_that_goes_with_a_plant_carries_no_note(tmp_path: Path) -> None:
    """The file is given away, what is read at home is not; whoever wants notes in it says so once."""
    for plant in ("tide", "pebble"):
        done("story", plant, "-o", tmp_path / "own.html")
        assert "third pot" not in (tmp_path / "own.html").read_text(encoding="utf-8")
        assert NOTE in done("story", plant).out
    done("settings", "notes-in-calendars", "yes")
    for plant in ("tide", "pebble"):
        done("story", plant, "-o", tmp_path / "given.html")
        assert "third pot" in (tmp_path / "given.html").read_text(encoding="utf-8")


@pytest.mark.usefixtures("noted")
def test_labels_and_what_is_published_carry_no_note(tmp_path: Path) -> None:
    """A label goes with the pot, a published calendar to whoever finds it."""
    done("plant", "label", "tide", "--address", "https://quay.example", "-o", tmp_path / "labels.svg")
    assert "third pot" not in (tmp_path / "labels.svg").read_text(encoding="utf-8")
    done("calendar", "add", "Phone")
    (tmp_path / "out").mkdir()
    done("calendar", "publish", "Phone", tmp_path / "out")
    (file,) = (tmp_path / "out").iterdir()
    assert "third pot" not in file.read_text(encoding="utf-8").replace("\r\n ", "").replace("\n ", "")
