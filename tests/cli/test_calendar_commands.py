"""`calendar write`: the file, whole, narrowed and repeated."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar

from carecal.app import Collection
from tests.cli.cli_run import done, refused, start, two_places

pytestmark = pytest.mark.usefixtures("home")


@pytest.fixture
def quay(home: Path) -> Iterator[Collection]:
    """Return an open collection with two plants at two places."""
    two_places()
    with Collection.open(home) as found:
        yield found


def _events(text: str, kind: str = "VEVENT") -> list[Any]:
    return [part for part in Calendar.from_ical(text).subcomponents if part.name == kind]


@pytest.mark.usefixtures("quay")
def test_the_calendar_goes_to_standard_output() -> None:
    """Without -o the bytes of the calendar, and nothing else, are printed; rounds for a collection."""
    said = done("calendar", "write")
    events = _events(said.out)
    rounds = done("--json", "plan").json["rounds"]
    planned = [str(e["DTSTART"].dt) for e in events if "STEP" not in e["CATEGORIES"].cats]
    assert planned == [found["on"] for found in rounds]


@pytest.mark.usefixtures("quay")
def test_writing_twice_on_a_day_changes_no_byte(tmp_path: Path) -> None:
    """The ledger keeps names, sequences and bytes (interface §5)."""
    first, second = tmp_path / "a.ics", tmp_path / "b.ics"
    said = done("calendar", "write", "-o", first)
    assert said.out.startswith(f"{first}: ")
    assert ", 0 of them new, changed or gone" in done("calendar", "write", "-o", second).out
    assert first.read_bytes() == second.read_bytes()
    assert [path.name for path in tmp_path.iterdir() if path.suffix == ".part"] == []


@pytest.mark.usefixtures("quay")
def test_a_calendar_of_one_plant_is_rules_by_default() -> None:
    """Grouping each for one plant, rounds for all else; both can be asked for."""
    assert any("RRULE" in event for event in _events(done("calendar", "write", "--plant", "tide").out))
    assert not any("RRULE" in event for event in _events(done("calendar", "write").out))
    assert any("RRULE" in event for event in _events(done("calendar", "write", "--grouping", "each").out))
    rounds = _events(done("calendar", "write", "--plant", "tide", "--grouping", "rounds").out)
    assert rounds
    assert not any("RRULE" in event for event in rounds)


@pytest.mark.usefixtures("quay")
def test_a_calendar_is_narrowed_to_place_and_care() -> None:
    """Only what stands at the place, only the care asked for."""
    stair = _events(done("calendar", "write", "--place", "stair", "--grouping", "each").out)
    assert {str(event["X-CARECAL-PLANT"]) for event in stair if "X-CARECAL-PLANT" in event} == {"gull"}
    looks = _events(done("calendar", "write", "--care", "inspection", "--grouping", "each").out)
    assert {cat for e in looks for cat in e["CATEGORIES"].cats if cat != "STEP"} == {"INSPECTION"}


@pytest.mark.usefixtures("quay")
def test_a_calendar_may_hold_todos_times_and_alarms() -> None:
    """To-dos instead of events; a time of day with its zone; an alarm before it; a shorter span."""
    assert _events(done("calendar", "write", "--as", "todos").out, "VTODO")
    timed = done("calendar", "write", "--at", "18:30", "--alarm", "15", "--days", "30").out
    event = _events(timed)[0]
    assert (event["DTSTART"].dt.hour, event["DTSTART"].dt.minute) == (18, 30)
    assert str(event["DTSTART"].dt.tzinfo) == "Europe/Berlin"
    (alarm,) = event.subcomponents
    assert alarm["TRIGGER"].dt.total_seconds() == -15 * 60
    assert max(e["DTSTART"].dt.date() for e in _events(timed)) <= date(2026, 12, 31)


@pytest.mark.parametrize(
    ("words", "code", "expected"),
    [
        (("--plant", "tdie"), 3, "no plant named 'tdie'; did you mean tide?"),
        (("--place", "stare"), 3, "no place named 'stare'; did you mean stair?"),
        (("--care", "singing"), 3, "care 'singing' is not known; allowed are watering"),
        (("--days", "0"), 3, "days is '0'; allowed: 1 to 400 days"),
        (("--alarm", "-5"), 3, "alarm is '-5'; allowed: 0 to"),
        (("--at", "02:30"), 3, "time 02:30 does not exist on 2027-03-28 in Europe/Berlin"),
        (("--at", "half past six"), 2, "is not a time; write it as 18:30"),
        (("--grouping", "weeks"), 2, "'weeks' is not one of"),
    ],
)
@pytest.mark.usefixtures("quay")
def test_a_calendar_that_cannot_be_is_refused(
    words: tuple[str, ...], code: int, expected: str, tmp_path: Path
) -> None:
    """Each refusal names the value and what is allowed; no file is written."""
    file = tmp_path / "a.ics"
    assert expected in refused("calendar", "write", "-o", file, *words, code=code)
    assert not file.exists()


@pytest.mark.usefixtures("quay")
def test_a_file_that_cannot_be_written_leaves_the_old_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fault while writing ends with 4; the file that was there is whole."""
    assert "no such file or directory" in refused(
        "calendar", "write", "-o", tmp_path / "nix" / "a.ics", code=4
    )
    file = tmp_path / "a.ics"
    done("calendar", "write", "-o", file)
    before = file.read_bytes()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device", str(file))

    monkeypatch.setattr("carecal.collection.whole_files.os.fsync", full)
    assert "no space left" in refused("calendar", "write", "-o", file, code=4)
    assert file.read_bytes() == before
    assert {path.name for path in tmp_path.iterdir()} == {"a.ics", "home"}


def test_an_empty_collection_has_a_valid_calendar() -> None:
    """With nothing in it the calendar holds one VTIMEZONE (interface §5)."""
    start()
    parts = Calendar.from_ical(done("calendar", "write").out).subcomponents
    assert [part.name for part in parts] == ["VTIMEZONE"]


def test_one_tick_changes_only_what_it_moved(quay: Collection, tmp_path: Path) -> None:
    """Components of another plant keep their bytes when one plant is watered."""
    file = tmp_path / "a.ics"

    def of_gull() -> list[bytes]:
        done("calendar", "write", "--grouping", "each", "-o", file)
        return [
            part.to_ical()
            for part in _events(file.read_text(encoding="utf-8"))
            if part.get("X-CARECAL-PLANT") == "gull"
        ]

    before = of_gull()
    done("done", "watering", "tide")
    assert of_gull() == before
    assert quay.journal.head() > 0
