"""Upkeep on the command line: plan, rounds, log, changes, import, export, backup, restore, verify, status."""

from __future__ import annotations

import json
import sqlite3
from datetime import date, timedelta
from pathlib import Path
from typing import Any, cast

import pytest
from icalendar import Calendar
from jsonschema import Draft202012Validator, FormatChecker

from carecal.app import Collection
from carecal.app.plan_schema import plan_schema
from tests.cli.cli_run import DAY, carecal, done, journal, refused, start, tide

pytestmark = pytest.mark.usefixtures("home")


def _quay() -> None:
    """Make a collection with two plants whose rhythm is known and one of which nothing is."""
    start()
    tide()
    done("plant", "add", "gull", "--medium", "moss", "--container", "clear-plastic", "--size", "9", "--place", "sill",
         "--stage", "new-tips", "--came", "2026-11-20", "--watered", "yesterday")  # fmt: skip
    done("plant", "add", "foundling")


@pytest.mark.parametrize("grouping", ["rounds", "each"])
@pytest.mark.parametrize("start_day", [None, "2026-11-01"])
def test_the_plan_holds_to_its_schema(grouping: str, start_day: str | None) -> None:
    """The document is valid by the schema that `--schema` prints, with no key more or less; oracle: jsonschema."""
    _quay()
    since = ("--from", start_day) if start_day else ()
    found = done("--json", "plan", "--grouping", grouping, *since).json
    schema = done("plan", "--schema").json
    Draft202012Validator.check_schema(schema)
    Draft202012Validator(schema, format_checker=FormatChecker()).validate(found)
    assert (found["carecal"], found["as_of"], found["until"], found["grouping"]) == (
        1,
        DAY,
        "2027-11-30",
        grouping,
    )
    assert found["from"] == (start_day or DAY)
    assert schema == plan_schema()


def test_the_schema_refuses_what_is_no_plan() -> None:
    """The schema can fail: a key more, a key less and a wrong status are found."""
    _quay()
    found = done("--json", "plan").json
    check = Draft202012Validator(plan_schema())
    assert not list(check.iter_errors(found))
    less = {key: value for key, value in found.items() if key != "rounds"}
    wrong = {**found, "tasks": [{**found["tasks"][0], "status": "forgotten"}]}
    for broken in ({**found, "more": 1}, less, wrong):
        assert list(check.iter_errors(broken))


def test_plants_are_named_by_their_ids_in_the_plan() -> None:
    """No plant number stands where an id belongs, and every task of a round is in the plan."""
    _quay()
    found = done("--json", "plan").json
    ids = {plant["id"] for plant in found["plants"]}
    assert ids == {"tide", "gull", "foundling"}
    tasks = {task["id"]: task for task in found["tasks"]}
    assert {row["plant"] for key in ("rhythms", "tasks", "gates") for row in found[key]} <= ids
    for one in found["rounds"]:
        assert {tasks[name]["on"] for name in one["tasks"]} == {one["on"]}


def test_series_carry_the_uid_of_the_nameless_whole_calendar() -> None:
    """`series[].uid` is that of the nameless whole `each` calendar (interface §4); oracle: that calendar."""
    _quay()
    series = done("--json", "plan", "--grouping", "each").json["series"]
    events = Calendar.from_ical(done("calendar", "write", "--grouping", "each").out).events
    rules: dict[str, Any] = {
        str(e["UID"]): cast("Any", e)["RRULE"]["INTERVAL"][0] for e in events if "RRULE" in e
    }
    assert {row["uid"]: row["every_days"] for row in series} == rules
    assert rules


def test_the_plan_is_narrowed_to_a_plant_and_a_span() -> None:
    """--plant and --until narrow it; a span that lies wrongly is refused."""
    _quay()
    found = done("--json", "plan", "--plant", "gull", "--until", "2026-12-31").json
    assert [plant["id"] for plant in found["plants"]] == ["gull"]
    assert found["until"] == "2026-12-31"
    assert all(task["on"] <= "2026-12-31" for task in found["tasks"])
    assert "--until 2026-11-01 lies behind" in refused("plan", "--until", "2026-11-01")
    assert "--from 2027-01-01 lies ahead" in refused("plan", "--from", "2027-01-01")
    assert "no plant named 'gul'; did you mean gull?" in refused("plan", "--plant", "gul")
    assert "gull" in done("plan").out


def test_rounds_show_the_coming_days() -> None:
    """One line a care day and one a task, looks joined to a wetting riding on it; oracle: the plan."""
    _quay()
    found = done("--json", "rounds", "--days", "30").json
    last = str(date.fromisoformat(DAY) + timedelta(days=29))
    planned = [one for one in done("--json", "plan").json["rounds"] if one["on"] <= last]
    assert [one["on"] for one in found] == [one["on"] for one in planned]
    assert "Tide: " in done("rounds", "--days", "30").out
    assert "0 days are out of range; allowed are 1 to 366" in refused("rounds", "--days", "0")


def test_a_round_is_done_on_another_day(home: Path) -> None:
    """`rounds move` moves that day's care; what would be late is named, what cannot be is refused."""
    _quay()
    rounds = done("--json", "plan").json["rounds"]
    first = rounds[1]["on"]
    late = str(date.fromisoformat(first) + timedelta(days=9))
    said = done("rounds", "move", first, late)
    assert "was to be done by" in said.out
    after = done("--json", "plan").json["rounds"]
    assert first not in {one["on"] for one in after}
    assert late in {one["on"] for one in after}
    assert journal(home)[-1].data == {"start": first, "to": late}
    assert f"no round on {first}" in refused("rounds", "move", first, late)
    assert "lies behind" in refused("rounds", "move", late, "2026-11-01")
    assert "is the same day" in refused("rounds", "move", late, late)


def test_weekdays_are_suggested_by_care_days_and_extra_wettings(monkeypatch: pytest.MonkeyPatch) -> None:
    """R2: of the sets tried the fewest care days whose extra wettings stay under 3 %; oracle: a plan of each set."""
    _quay()
    sets = (("mon",), ("wed", "sat"), ("tue", "thu", "sun"))
    monkeypatch.setattr("carecal.planning.suggest.SETS", sets)
    found = done("--json", "rounds", "suggest").json
    assert {row["weekdays"] for row in found["sets"]} == {",".join(days) for days in sets}
    for row in found["sets"]:
        done("settings", "weekdays", row["weekdays"])
        plan = done("--json", "plan").json
        wetted = {task["on"] for task in plan["tasks"] if task["care"] in {"watering", "feeding", "flushing"}}
        assert row["care_days"] == len(wetted)
        assert row["extra_wettings_percent"] == pytest.approx(plan["extra_wettings_percent"], abs=0.01)
    mild = [row for row in found["sets"] if row["extra_wettings_percent"] < 3]
    assert found["best"]["care_days"] == min(row["care_days"] for row in mild)
    assert "days with a wetting" in done("rounds", "suggest").out


def test_the_log_shows_what_was_written(home: Path) -> None:
    """All entries, those of one plant, those since a day; what was taken back is marked."""
    start(as_of="2026-11-01")
    tide(as_of="2026-11-01")
    done("done", "watering", "tide", "--felt", "right", "--on", "2026-11-20")
    done("plant", "add", "gull")
    done("undo")
    assert [entry["entry"] for entry in done("--json", "log").json] == [1, 2, 3, 4, 5, 6]
    assert [entry["kind"] for entry in done("--json", "log", "tide").json] == ["added", "done"]
    assert [entry["entry"] for entry in done("--json", "log", "--since", "2026-11-20").json] == [4, 5, 6]
    lines = done("log").out.splitlines()
    assert "tide  done: care watering, felt right" in lines[3]
    assert lines[4].endswith("(taken back)")
    assert "no plant named 'tdie'; did you mean tide?" in refused("log", "tdie")
    assert len(lines) == len(journal(home))


def test_changes_lay_todays_plan_against_an_earlier_one() -> None:
    """What was written since, and the rhythms and gates that differ; a day ahead is refused."""
    start(as_of="2026-11-01")
    tide(as_of="2026-11-01")
    done("pot", "tide", "--medium", "lava", "--container", "net", "--size", "9")
    found = done("--json", "changes", "--since", "2026-11-20").json
    assert [entry["kind"] for entry in found["entries"]] == ["potted"]
    assert any("watering every" in line and "was" in line for line in found["changes"])
    assert done("changes", "--since", DAY).out.splitlines()[-1] == "the plan has not changed"
    assert "lies ahead" in refused("changes", "--since", "tomorrow")


def test_a_journal_comes_back_whole_and_once(home: Path, tmp_path: Path) -> None:
    """Export and import of the journal give the same journal; a second import adds nothing (interface §7)."""
    _quay()
    file, other = tmp_path / "journal.jsonl", tmp_path / "other"
    done("export", "-o", file)
    assert file.read_text(encoding="utf-8") == done("export").out
    assert "would add 5 entries" in done("import", file, "--try", home=other).out
    assert not other.exists()
    assert done("import", file, home=other).out == "5 entries added from journal.jsonl, 0 were there\n"
    assert journal(other) == journal(home)
    assert done("--json", "import", file, home=other).json == {"written": False, "entries": 0, "known": 5}
    assert done("export", home=other).out == file.read_text(encoding="utf-8")
    done("done", "watering", "tide", home=other)
    done("export", "-o", file, home=other)
    assert done("import", file).out == "1 entries added from journal.jsonl, 5 were there\n"


def test_a_journal_of_another_collection_is_refused(home: Path, tmp_path: Path) -> None:
    """Entries that differ from ours are never mixed in."""
    _quay()
    other, file = tmp_path / "other", tmp_path / "j.jsonl"
    done("init", "Pier", "--latitude", "1", "--longitude", "103", "--timezone", "Asia/Singapore", home=other)
    done("export", "-o", file, home=other)
    before = journal(home)
    assert "is not entry 1 of this collection" in refused("import", file)
    assert journal(home) == before


def test_a_journal_that_makes_no_sense_is_refused_whole(tmp_path: Path) -> None:
    """Unknown media and entries before a plant was entered are named with their lines; nothing is made."""
    _quay()
    lines = [json.loads(line) for line in done("export").out.splitlines()]
    lines[2]["medium"] = "sawdust"
    lines.append({**lines[2], "entry": 6, "command": 6, "kind": "renamed", "plant": "tide", "to": "wave"})
    lines[-1] = {
        k: v
        for k, v in lines[-1].items()
        if k in {"entry", "command", "kind", "plant", "to", "written", "by", "on"}
    }
    lines[-1]["on"] = "2020-01-01"
    file, other = tmp_path / "j.jsonl", tmp_path / "other"
    file.write_text("".join(json.dumps(line) + "\n" for line in lines), encoding="utf-8")
    assert "line 3: medium 'sawdust' is in no table" in refused("import", file, home=other)
    assert not other.exists()
    lines[2]["medium"] = "bark"
    file.write_text("".join(json.dumps(line) + "\n" for line in lines), encoding="utf-8")
    assert "line 6: it lies before its plant was entered" in refused("import", file, home=other)
    assert not other.exists()


def test_a_start_file_makes_a_collection_that_stands_as_ours(tmp_path: Path) -> None:
    """Export as TOML and import into nothing give plants and places as they stand."""
    _quay()
    file, other = tmp_path / "start.toml", tmp_path / "other"
    done("export", "--format", "toml", "-o", file)
    assert "would add 5 entries" in done("import", file, "--try", home=other).out
    assert not other.exists()
    done("import", file, home=other)
    ours, theirs = (done("--json", "plant", "list", home=folder).json for folder in (None, other))
    assert theirs == ours
    assert done("export", "--format", "toml", home=other).out == file.read_text(encoding="utf-8")
    line = refused("import", file, home=other)
    assert line.startswith("start.toml: 3 plants are in the collection already, tide, gull, foundling")


def test_a_start_file_is_checked_whole(tmp_path: Path) -> None:
    """All faults of the file stand in the refusal, whatever the order of its tables; nothing is made."""
    file, other = tmp_path / "start.toml", tmp_path / "other"
    file.write_text(
        '[[plant]]\nid = "tide"\nmedium = "brak"\nplace = "sill"\nroots = -3\n'
        '[[plant]]\nid = "gull"\nmedium = "bark"\ncontainer = "mount"\nplace = "sil"\ncame = 2030-01-01\n'
        '[[place]]\nname = "Sill"\nkind = "warm-sill"\n[[place]]\nname = "Deck"\nkind = "patio"\n'
        '[collection]\nname = "Quay"\nlatitude = 54.3\nlongitude = 10\ntimezone = "Europe/Berlin"\n',
        encoding="utf-8",
    )
    line = refused("import", file, home=other)
    for part in (
        "plant.tide.roots",
        "plant.gull.place",
        "'sil'",
        "mount",
        "2030-01-01 lies ahead",
        "place.Deck.kind",
    ):
        assert part in line
    assert "plant.tide.place" not in line
    assert not other.exists()


def test_a_start_file_of_an_unknown_zone_is_refused(tmp_path: Path) -> None:
    """A zone that no clock knows is told with the near ones; nothing is made."""
    file, other = tmp_path / "start.toml", tmp_path / "other"
    text = '[collection]\nname = "Quay"\nlatitude = 54.3\nlongitude = 10\ntimezone = "Europe/Berln"\n'
    file.write_text(text, encoding="utf-8")
    line = refused("import", file, home=other)
    assert "collection" in line
    assert "timezone" in line
    assert "no time zone named 'Europe/Berln'; did you mean Europe/Berlin" in line
    assert not other.exists()


def test_a_start_file_without_a_collection_needs_one(tmp_path: Path) -> None:
    """Without [collection] and without a collection the refusal names both remedies."""
    file = tmp_path / "start.toml"
    file.write_text('[[plant]]\nid = "tide"\n', encoding="utf-8")
    assert "no [collection] in start.toml" in refused("import", file)
    start()
    done("import", file)
    file.write_text('[collection]\nname = "Pier"\nlatitude = 1\nlongitude = 2\n', encoding="utf-8")
    assert "[collection] is of 'Pier', but this is 'Quay'" in refused("import", file)


def test_a_plant_list_is_read_with_its_own_headings(home: Path, tmp_path: Path) -> None:
    """--map names our columns for theirs; a faulty list is refused whole, with lines; nothing is half written."""
    start()
    file = tmp_path / "plants.csv"
    file.write_text(
        "Pot name;Substrate;Pot;Remark;Shelf\nTide;bark;plastic;x;sill\nGull;moss;net;y;sill\n",
        encoding="utf-8",
    )
    maps = ("--map", "Pot name=name", "--map", "Substrate=medium", "--map", "Pot=container", "--map", "Remark=",
            "--map", "Shelf=place")  # fmt: skip
    assert "unknown column" in refused("import", file)
    assert "Gull joins the collection" in done("import", file, *maps, "--try").out
    assert len(journal(home)) == 2
    done("import", file, *maps)
    assert [row["id"] for row in done("--json", "plant", "list").json] == ["tide", "gull"]
    assert "2 plants are in the collection already, tide, gull" in refused("import", file, *maps)
    file.write_text("id,medium,place,size_cm\nnina,brak,sill,9\npinta,bark,attic,900\n", encoding="utf-8")
    line = refused("import", file)
    for part in ("line 2, medium", "'brak'", "line 3", "900"):
        assert part in line
    assert len(journal(home)) == 4


def test_an_exported_plant_list_runs_nothing_in_a_spreadsheet() -> None:
    """A name that begins like a formula is masked, and read back as it was."""
    start()
    done("plant", "add", "tide", "--name", "=HYPERLINK(1)")
    text = done("export", "--format", "csv").out
    assert "'=HYPERLINK(1)" in text
    assert text.startswith("id,name,profile,medium,container,size_cm,place,came,potted,stage,roots")


@pytest.mark.parametrize(
    ("words", "code", "expected"),
    [
        (("import", "nowhere.csv"), 4, "nowhere.csv"),
        (("import", "photo.png"), 3, "photo.png is of no known kind; allowed are .jsonl"),
        (("import", "start.toml", "--map", "a=b"), 3, "--map belongs to a plant list (.csv)"),
        (("import", "plants.csv", "--map", "ab"), 2, "'ab' is not THEIRS=OURS"),
        (("export", "--format", "xml"), 3, "format 'xml' is not known; allowed are jsonl, toml, csv"),
        (("export", "-o", "/nowhere/x.csv"), 4, "no such file or directory"),
    ],
)
def test_transfer_refuses_what_it_cannot_read(words: tuple[str, ...], code: int, expected: str) -> None:
    """Unknown kinds, missing files and wrong options are told in one line."""
    start()
    assert expected in refused(*words, code=code)


def test_a_backup_comes_back_with_new_names_for_its_events(home: Path, tmp_path: Path) -> None:
    """A restored collection has the same journal; its calendar events get names of a new generation (interface §5)."""
    _quay()
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
    _quay()
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
    _quay()
    done("calendar", "write")
    _break(home, statement, *values)
    said = carecal("verify")
    assert said.code == 1
    assert said.err == ""
    assert expected in said.out
    assert carecal("--json", "verify").json["sound"] is False


def test_verify_names_the_plant_whose_plan_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    """A plan that cannot be computed is told with its plant; the others are looked at all the same."""
    _quay()
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
    _quay()
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
