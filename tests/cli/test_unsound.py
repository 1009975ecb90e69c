"""What no way in lets through: refused before a line is written, and told in a sentence where it stands already."""

from __future__ import annotations

import json
import re
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.cli.cli_run import carecal, done, quay, refused

pytestmark = pytest.mark.usefixtures("home")

COLLECTION = {
    "entry": 1, "command": 1, "kind": "collection", "on": "2026-11-20", "written": "2026-11-20T18:03:00Z",
    "by": "owner", "name": "Quay", "latitude": 54.3, "longitude": 10.1, "timezone": "Europe/Berlin",
}  # fmt: skip
PLACE = {**COLLECTION, "kind": "place", "place": "sill", "place_kind": "warm-sill"}
for _key in ("name", "latitude", "longitude", "timezone"):
    del PLACE[_key]
SETTING = {**PLACE, "kind": "setting", "key": "weekdays", "value": "wed"}
for _key in ("place", "place_kind"):
    del SETTING[_key]
PAUSE = {**SETTING, "kind": "paused", "care": "feeding", "start": "2026-11-20"}
READINGS = {**SETTING, "kind": "readings", "place": "sill"}
for _key in ("key", "value"):
    del PAUSE[_key], READINGS[_key]

WAYS_IN = [
    ({**COLLECTION, "timezone": "Mars/Sea"}, "no time zone named 'Mars/Sea'", "a zone that is none"),
    ({**COLLECTION, "timezone": "../etc"}, "no time zone named '../etc'", "a way out of the folder of zones"),
    ({**COLLECTION, "latitude": 400}, "latitude: 400 is not a number from -90 to 90", "no latitude"),
    ({**COLLECTION, "elevation_m": 1e999}, "not JSON|not a number", "no height"),
    ({**COLLECTION, "on": "9999-12-31"}, "on: 9999-12-31 is too far away", "the last day of all"),
    ({**COLLECTION, "on": "0001-01-01"}, "on: 0001-01-01 is too far away", "the first day of all"),
    (
        {**COLLECTION, "written": "2026-99-99T99:99:99Z"},
        "written: '2026-99-99T99:99:99Z' is not",
        "no instant",
    ),
    (
        {**COLLECTION, "clock": "9999-12-31T23:59:59Z"},
        "clock: 9999-12-31T23:59:59Z is too far",
        "a far instant",
    ),
    ({**COLLECTION, "name": "Qu\u0007ay"}, "control character U.0007", "a bell"),
    ({**COLLECTION, "by": "ow\nner"}, "cannot sign an entry", "a line break in a name"),
    ({**COLLECTION, "name": "\ud800"}, "U.D800 alone is half a character", "half a character"),
    ({**SETTING, "value": "moonday"}, "weekday 'moonday' is not known", "no weekday"),
    ({**SETTING, "key": "tides"}, "no setting named 'tides'", "no setting"),
    ({**PLACE, "place_kind": "ship"}, "place_kind 'ship' is in no table", "no kind of place"),
    ({**PAUSE, "until": "0"}, "until: '0' is not a date as 2026-11-25", "seconds for a day"),
    (
        {**READINGS, "days": [{"day": "86400", "temp_min_c": 18}]},
        "days.0.day: '86400' is not a date",
        "a row's seconds",
    ),
]


@pytest.mark.parametrize(("line", "message", "reason"), WAYS_IN)
def test_a_journal_is_checked_as_typed_entries_are_before_its_first_line_is_written(
    home: Path, tmp_path: Path, line: dict[str, object], message: str, reason: str
) -> None:
    """One line says what is wrong, and no collection stands there afterwards."""
    first = [] if line["kind"] == "collection" else [COLLECTION]
    lines = [*first, {**line, "entry": len(first) + 1, "command": len(first) + 1}]
    file = tmp_path / "quay.jsonl"
    file.write_text("".join(json.dumps(one) + "\n" for one in lines), encoding="utf-8")
    said = refused("import", file)
    assert re.search(message, said), (reason, said)
    assert not (home / "collection.db").exists()


def test_a_journal_whose_amendment_breaks_an_entry_is_refused(home: Path, tmp_path: Path) -> None:
    """An amendment is held against the entry that it changes."""
    amended = {key: COLLECTION[key] for key in ("on", "written", "by")}
    amended |= {
        "entry": 2,
        "command": 2,
        "kind": "amended",
        "of_entry": 1,
        "changes": {"timezone": "Mars/Sea"},
    }
    file = tmp_path / "quay.jsonl"
    file.write_text("".join(json.dumps(one) + "\n" for one in (COLLECTION, amended)), encoding="utf-8")
    assert "no time zone named 'Mars/Sea'" in refused("import", file)
    assert not (home / "collection.db").exists()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('timezone = "Mars/Sea"', "no time zone named"),
        ('[[plant]]\nid = "tide"\ncame = 9999-01-01', "too far away"),
        ('[[plant]]\nid = "tide"\nname = "t\\u0007"', "control character"),
    ],
)
def test_a_start_file_with_a_fault_begins_no_collection(
    home: Path, tmp_path: Path, text: str, message: str
) -> None:
    """Neither the collection nor a part of it is made."""
    file = tmp_path / "start.toml"
    file.write_text(
        f'[collection]\nname = "Quay"\nlatitude = 54.3\nlongitude = 10.1\n{text}\n', encoding="utf-8"
    )
    assert message in refused("import", file)
    assert not (home / "collection.db").exists()


def _behind_its_back(home: Path, statement: str) -> None:
    with closing(sqlite3.connect(home / "collection.db")) as connection:
        for name in ("entry_kept_whole", "entry_kept"):
            connection.execute(f"drop trigger if exists {name}")
        connection.execute(statement)
        connection.commit()


UNSOUND = [
    ("data = json_set(data, '$.timezone', 'Mars/Sea') where n = 1", "entry 1: timezone: no time zone named"),
    ("data = json_set(data, '$.timezone', '../x') where n = 1", "entry 1: timezone: no time zone named"),
    ("on_day = '0001-01-01' where n = 4", "entry 4: on: 0001-01-01 is too far away"),
    ("on_day = '2026-13-45' where n = 4", "entry 4 is of 2026-13-45, which is no day"),
    ("written = '2026-99-99T99:99:99Z' where n = 5", "entry 5: written: '2026-99-99T99:99:99Z' is not"),
    ("data = '{}' where n = 3", "entry 3: plant: None is not an id"),
    ("data = '[1]' where n = 3", "entry 3: its fields are no table of values"),
    ("data = '{}' where n = 1", "entry 1: name: missing"),
    ("data = json_set(data, '$.latitude', 400) where n = 1", "entry 1: latitude: 400 is not"),
    ("data = json_set(data, '$.size_cm', 'wide') where n = 3", "entry 3: size_cm: 'wide' is not a number"),
    ("kind = 'future' where n = 4", "entry 4: kind 'future' is not known"),
    (
        "data = json_set(data, '$.place_kind', 'ship') where n = 2",
        "entry 2: place_kind 'ship' is in no table",
    ),
]
COMMANDS = (
    ("status",), ("verify",), ("export",), ("export", "--format", "toml"), ("amend", "4", "note=x", "--try"),
    ("today",), ("calendar", "write"), ("log",), ("plant", "list"), ("refresh",),
)  # fmt: skip


@pytest.mark.parametrize(("change", "found"), UNSOUND)
def test_a_collection_that_holds_such_a_thing_answers_in_a_sentence(
    home: Path, change: str, found: str
) -> None:
    """No command ends in a traceback, and verify names the entry."""
    quay()
    done("calendar", "add", "Phone")
    _behind_its_back(home, f"update entry set {change}")  # noqa: S608 - our own rows
    for words in COMMANDS:
        said = carecal(*words)
        assert said.code in {0, 1, 3, 4}, words
        assert said.err.count("\n") <= 1, words
    said = carecal("verify")
    assert found in said.out + said.err


def test_an_unknown_zone_is_told_by_status_and_put_right_by_amend(home: Path) -> None:
    """The way out of the worst case, from end to end."""
    quay()
    _behind_its_back(home, "update entry set data = json_set(data, '$.timezone', 'Mars/Sea') where n = 1")
    assert "no time zone named 'Mars/Sea'" in carecal("status").out
    assert len(carecal("export").out.splitlines()) == 5
    assert "no time zone named" in refused("amend", "1", "timezone=Moon/Sea")
    assert "stays" in refused("amend", "1", "on=2026-11-20")
    done("amend", "1", "timezone=Europe/Berlin")
    assert done("--json", "status").json["collection"]["timezone"] == "Europe/Berlin"
    done("undo")
    assert done("--json", "status").json["collection"]["timezone"] == "Mars/Sea"


def test_a_mistake_of_the_program_is_not_laid_on_the_collection(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where every entry is sound the error itself is shown, so that it can be reported."""
    quay()

    def wrong(*_: object, **__: object) -> None:
        raise RuntimeError("a mistake of ours")

    monkeypatch.setattr("carecal.cli.upkeep.status_of", wrong)
    with pytest.raises(RuntimeError, match="a mistake of ours"):
        carecal("status")


@pytest.mark.parametrize(
    ("name", "content", "message"),
    [
        ("deep.toml", "a = " + "[" * 3000 + "]" * 3000, "nested too deeply"),
        ("deep2.toml", "a = " + "[" * 200 + "]" * 200, "nested too deeply"),
        ("tables.toml", "a = " + "{b = " * 200 + "1" + "}" * 200, "nested too deeply"),
        ("digits.toml", "[collection]\nlatitude = " + "9" * 5000, "a number cannot be read"),
        ("large.toml", "#" + "x" * 5_000_001, "the file is too large"),
        (
            "half.jsonl",
            '{"entry": 1, "command": 1, "kind": "\\ud800", "on": "\\udfff"}',
            "U+D800 alone is half a character",
        ),
        ("deep.jsonl", "[" * 100_000, "not JSON"),
        ("digits.jsonl", '{"entry": ' + "9" * 5000 + "}", "not JSON"),
    ],
)
def test_a_hostile_file_is_one_line(
    home: Path, tmp_path: Path, name: str, content: str, message: str
) -> None:
    """Each of these ended in a traceback once, or took the memory of the machine."""
    (tmp_path / name).write_text(content, encoding="utf-8")
    assert message in refused("import", tmp_path / name)
    assert not (home / "collection.db").exists()


def test_what_was_worked_out_before_is_made_anew_where_the_disk_changed_it(home: Path) -> None:
    """A flipped digit in a kept catalog would change every plan in silence; it is not taken for what was kept."""
    quay()
    before = done("--json", "plan").json
    with closing(sqlite3.connect(home / "collection.db")) as connection:
        rows = connection.execute("select key, value from cache").fetchall()
        assert rows
        for key, value in rows:
            changed = bytes(57 if sign == 49 else sign for sign in value[:-1]) + value[-1:]  # each 1 is a 9
            connection.execute("update cache set value = ? where key = ?", (changed, key))
        connection.commit()
    assert done("--json", "plan").json == before
    assert done("verify").out == "all is sound\n"


def test_an_entry_whose_fields_are_damaged_is_named(home: Path) -> None:
    """Fields that are no JSON any more, as after a flipped bit within the file."""
    quay()
    with closing(sqlite3.connect(home / "collection.db")) as connection:
        connection.execute("drop trigger entry_kept_whole")
        connection.execute("pragma ignore_check_constraints=on")
        connection.execute("update entry set data = replace(data, ':', char(1)) where n = 3")
        connection.commit()
    for words in COMMANDS:
        said = carecal(*words)
        assert said.code in {0, 1, 3, 4}, words
        assert said.err.count("\n") <= 1
    assert "entry 3 is damaged" in refused("export", code=4)


def test_a_damaged_page_is_told_by_verify_and_nothing_else_of_it_is_believed(home: Path) -> None:
    """Where SQLite finds its file damaged, that is the finding; no command ends in a traceback."""
    quay()
    done("calendar", "write")
    file = home / "collection.db"
    content = file.read_bytes()
    for page in range(1, len(content) // 4096):
        broken = content[: page * 4096] + content[4096:8192] + content[(page + 1) * 4096 :]
        file.write_bytes(broken)
        said = carecal("verify")
        assert said.code in {0, 1, 4}, page
        assert said.err.count("\n") <= 1
        if broken != content and said.code == 0:
            assert carecal("export").code == 0
