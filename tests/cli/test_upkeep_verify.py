"""`backup`, `restore`, `verify`, `status` and `refresh` on the command line."""

from __future__ import annotations

import re
import sqlite3
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar

from carecal.app import Collection
from tests.cli.cli_run import carecal, done, journal, quay, refused, start

pytestmark = pytest.mark.usefixtures("home")


def test_a_backup_comes_back_with_new_names_for_its_events(home: Path, tmp_path: Path) -> None:
    """A restored collection has the same journal; its calendar events get names of a new generation (interface §5)."""
    quay()
    file, other = tmp_path / "copy.zip", tmp_path / "other"
    done("backup", file)
    assert "exists; choose another name" in refused("backup", file)
    done("backup", file, "--force")
    done("restore", file, other)
    assert journal(other) == journal(home)
    uids = [
        {str(e["UID"]) for e in Calendar.from_ical(done("calendar", "write", home=folder).out).events}
        for folder in (home, other)
    ]
    assert uids[0]
    assert uids[0] & uids[1] == set()
    assert "is not empty" in refused("restore", file)
    file.write_bytes(b"no copy")
    assert "is not a whole backup" in refused("restore", file, tmp_path / "third", code=4)
    assert not (tmp_path / "third").exists()


def test_verify_finds_all_sound() -> None:
    """A collection as the program writes it has no faults, its calendars included."""
    quay()
    done("calendar", "write")
    done("calendar", "add", "Phone")
    done("refresh")
    assert done("verify").out == "all is sound\n"


def _break(home: Path, statement: str, *values: object) -> None:
    with sqlite3.connect(home / "collection.db") as connection:
        for name in ("entry_kept_whole", "entry_kept"):
            connection.execute(f"drop trigger if exists {name}")
        connection.execute(statement, values)
    connection.close()


@pytest.mark.parametrize(
    ("statement", "values", "expected"),
    [
        (
            "update entry set data = json_set(data, '$.medium', 'sawdust') where n = 3",
            (),
            "entry 3: medium 'sawdust'",
        ),
        (
            "update entry set data = json_set(data, '$.place', 'attic') where n = 3",
            (),
            "entry 3: place attic is not there",
        ),
        ("update entry set kind = 'dreamt' where n = 3", (), "entry 3: kind 'dreamt' is not known"),
        (
            "update entry set data = json_set(data, '$.size_cm', 13) where n = 3",
            (),
            "entry 3: it is not what was written",
        ),
        ("delete from entry where n = 2", (), "its number should be 2"),
        (
            "update plant_id set id = 'wave' where plant = 1",
            (),
            "plant 1: its id is 'wave' in the index and 'tide'",
        ),
        (
            "update ledger set sequence = 9 where uid <> 'VCALENDAR'",
            (),
            "its bytes have another sequence than 9",
        ),
        (
            "update ledger set body = x'00' where uid <> 'VCALENDAR'",
            (),
            "its bytes are not those of this component",
        ),
    ],
)
def test_verify_finds_what_was_damaged(
    home: Path, statement: str, values: tuple[object, ...], expected: str
) -> None:
    """Each damage done behind the program's back is found, and the exit code is 1."""
    quay()
    done("calendar", "write")
    _break(home, statement, *values)
    said = carecal("verify")
    assert said.code == 1
    assert said.err == ""
    assert expected in said.out
    assert carecal("--json", "verify").json["sound"] is False


def test_verify_names_the_plant_whose_plan_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    """A plan that cannot be computed is told with its plant; the others are looked at all the same."""
    quay()
    real: Any = Collection.timeline

    def broken(self: Collection, as_of: date, **options: Any) -> Any:
        if options.get("plants") == {1}:
            raise ValueError("no drying")
        return real(self, as_of, **options)

    monkeypatch.setattr(Collection, "timeline", broken)
    said = carecal("verify")
    assert (said.code, said.out) == (1, "plant tide: no plan can be computed: ValueError no drying\n")


def test_status_says_how_it_stands() -> None:
    """Plants, entries, calendars and the clock, as text and as one document."""
    quay()
    done("calendar", "add", "Phone")
    found = done("--json", "status").json
    assert (found["plants"], found["places"], found["entries"], found["clock"]) == (3, 1, 5, None)
    assert found["calendars"] == [{"name": "Phone", "published": None, "fetched": None, "note": None}]
    text = done("status").out
    assert "3, 0 left" in text
    assert "published never, fetched never" in text


def test_nobody_fetches_so_refresh_has_nothing_to_do() -> None:
    """Without an address there is nothing to refresh."""
    start()
    assert done("refresh").out == "no calendar has an address\n"


def test_copies_rotate_in_a_folder(home: Path, tmp_path: Path) -> None:
    """Three days with two kept: two copies stand there, named by the moment; the newest can be restored."""
    start()
    folder = tmp_path / "copies"
    for day in ("2026-11-25", "2026-11-26", "2026-11-27"):
        told = done("--json", "backup", folder, "--keep", "2d", as_of=day).json
    names = sorted(path.name for path in folder.iterdir())
    found = re.findall(r"^carecal-[0-9a-f]{8}-(\d{8})T\d{6}Z\.zip$", "\n".join(names), re.MULTILINE)
    assert (len(names), found) == (2, ["20261126", "20261127"])
    assert (told["kept"], len(told["removed"]), told["doubt"]) == (2, 1, None)
    assert "2 copies there, 1 taken away" in done("backup", folder, "--keep", "2d", as_of="2026-11-28").out
    done("restore", folder / names[-1], tmp_path / "again")
    assert "does not say which copies to keep" in refused("backup", folder, "--keep", "often")
    assert "is a folder; name a file in it" in refused("backup", folder)
    assert (home / "collection.db").is_file()
