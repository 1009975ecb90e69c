"""The journal, told as a grower's year: commands, undo, renaming, and what survives a kill."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from carecal.collection.database import FILE_NAME
from carecal.collection.entries import (
    Amended,
    CollectionStarted,
    Done,
    Entry,
    Paused,
    PlantAdded,
    Renamed,
    Retired,
    SideTaken,
    Undone,
    Weighed,
)
from carecal.collection.journal import Journal, stamp_of
from carecal.collection.records import Record, effective
from carecal.errors import Refused, StorageError, UnknownName

DAY = date(2026, 11, 25)
NOW = datetime(2026, 11, 25, 18, 3, tzinfo=UTC)


def write(journal: Journal, *entries: Entry, by: str = "owner") -> tuple[Record, ...]:
    """Write entries as one command."""
    return journal.append(entries, by=by, written=NOW, clock=NOW)


def added(name: str, **values: object) -> PlantAdded:
    """A plant's first entry."""
    return PlantAdded.model_validate({"on": DAY, "plant": name, **values})


def watered(name: str) -> Done:
    """A watering."""
    return Done(on=DAY, plant=name, care="watering")


@pytest.fixture
def journal(tmp_path: Path) -> Iterator[Journal]:
    """A collection with Tide (1) and her keiki Pebble (2)."""
    with Journal.create(tmp_path / "quay") as journal:
        write(journal, CollectionStarted(on=DAY, name="Quay", latitude=54.3, longitude=10.1))
        write(journal, added("tide"), added("pebble", on_mother="tide"))
        yield journal


def test_a_command_is_written_whole_with_numbers_author_and_instants(journal: Journal) -> None:
    """Numbers follow on; the real clock is kept only where it differs."""
    clock = NOW + timedelta(days=3)
    records = journal.append([watered("tide"), watered("pebble")], by="Winch", written=NOW, clock=clock)
    assert [(r.n, r.command, r.plant, r.by) for r in records] == [(4, 3, 1, "Winch"), (5, 3, 2, "Winch")]
    assert (records[0].written, records[0].clock) == ("2026-11-25T18:03:00Z", "2026-11-28T18:03:00Z")
    assert journal.records()[3:] == list(records)
    assert write(journal, watered("tide"))[0].clock == ""
    assert (journal.head(), journal.command_of(5)) == (6, 3)


def test_an_instant_is_written_in_utc_whatever_its_zone() -> None:
    """18:03 one hour east of Greenwich is 17:03."""
    assert (
        stamp_of(datetime(2026, 11, 25, 18, 3, tzinfo=timezone(timedelta(hours=1)))) == "2026-11-25T17:03:00Z"
    )
    with pytest.raises(ValueError, match="without a zone"):
        stamp_of(datetime(2026, 11, 25))  # noqa: DTZ001 - the refusal of just this


def test_a_trial_gives_the_same_records_and_writes_nothing(journal: Journal) -> None:
    """What --try shows is what writing then does, numbers included."""
    entries = [added("gable"), watered("gable"), Renamed(on=DAY, plant="tide", to="ebb")]
    before = (journal.records(), journal.ids())
    shown = journal.preview(entries, by="owner", written=NOW, clock=NOW)
    assert (journal.records(), journal.ids()) == before
    assert write(journal, *entries) == shown


def test_a_refused_command_leaves_nothing_behind(journal: Journal) -> None:
    """The first entry of a command is taken back when the second is refused."""
    before = journal.records()
    with pytest.raises(UnknownName, match="no plant named 'pebbel'; did you mean pebble"):
        write(journal, watered("tide"), watered("pebbel"))
    assert journal.records() == before


def test_a_plant_keeps_its_number_when_it_is_renamed(journal: Journal) -> None:
    """Ids are for people; entries that name plants hold numbers and so keep their meaning."""
    write(journal, Paused(on=DAY, care="feeding", plants=("tide",), start=DAY))
    write(journal, SideTaken(on=DAY, key="ice", side="a", plants=("pebble", "tide")))
    write(journal, Renamed(on=DAY, plant="tide", to="ebb"))
    write(journal, Retired(on=DAY, plant="pebble", because="merged", into="ebb"))
    write(journal, Amended(on=DAY, entry=7, changes={"into": "pebble", "plants": ["ebb"]}))
    data = [record.data for record in journal.records()]
    assert (data[2]["on_mother"], data[3]["plants"], data[4]["plants"]) == (1, [1], [2, 1])
    assert (data[6]["into"], data[7]["changes"]) == (1, {"into": 2, "plants": [1]})
    assert (journal.ids(), journal.id_of(1)) == ({"ebb": 1, "pebble": 2}, "ebb")
    assert journal.added_ids() == {1: "tide", 2: "pebble"}
    with pytest.raises(UnknownName, match="no plant named 'tide'"):
        journal.number_of("tide")


def test_an_id_names_one_plant_at_a_time(journal: Journal) -> None:
    """A taken id is refused, a freed one may be used again, and the undo that would double it is refused."""
    with pytest.raises(Refused, match="a plant 'tide' exists already"):
        write(journal, added("tide"))
    with pytest.raises(Refused, match="'pebble' would name two plants"):
        write(journal, Renamed(on=DAY, plant="tide", to="pebble"))
    renaming = write(journal, Renamed(on=DAY, plant="tide", to="ebb"))[0].command
    assert write(journal, added("tide"))[0].plant == 3
    with pytest.raises(Refused, match="'tide' would name two plants"):
        write(journal, Undone(on=DAY, command=renaming))
    assert journal.ids() == {"ebb": 1, "pebble": 2, "tide": 3}


def test_a_plant_number_is_never_used_again(journal: Journal) -> None:
    """Not even when the adding was taken back."""
    command = write(journal, added("gable"))[0].command
    write(journal, Undone(on=DAY, command=command))
    assert "gable" not in journal.ids()
    with pytest.raises(UnknownName, match="no plant number named '3'"):
        journal.id_of(3)
    assert write(journal, added("gable"))[0].plant == 4


def test_an_amended_renaming_names_the_plant_anew(journal: Journal) -> None:
    """A correction of an id counts like the id itself."""
    renaming = write(journal, Renamed(on=DAY, plant="tide", to="eb"))[0]
    write(journal, Amended(on=DAY, entry=renaming.n, changes={"to": "ebb"}))
    assert journal.ids() == {"ebb": 1, "pebble": 2}


def test_undo_takes_back_the_newest_command_that_still_counts(journal: Journal) -> None:
    """Undo by undo the journal goes back; an undo taken back lets its command count again."""
    first = write(journal, watered("tide"))[0].command
    second = write(journal, watered("pebble"))[0].command
    assert journal.last_command() == second
    undo = write(journal, Undone(on=DAY, command=second))[0].command
    assert journal.last_command() == first
    write(journal, Undone(on=DAY, command=undo))
    assert journal.last_command() == second
    kinds = [record.kind for record in effective(journal.records(), DAY)]
    assert kinds == ["collection", "added", "added", "done", "done"]


def test_an_empty_journal_has_no_last_command(tmp_path: Path) -> None:
    """There is nothing to take back."""
    with Journal.create(tmp_path) as journal:
        assert (journal.last_command(), journal.head(), journal.records()) == (None, 0, [])


def test_some_plants_are_read_with_what_is_of_the_whole_collection(journal: Journal) -> None:
    """Other plants' entries stay out."""
    write(journal, watered("tide"), watered("pebble"))
    assert [(r.n, r.plant) for r in journal.records([2])] == [(1, None), (3, 2), (5, 2)]
    assert [(r.n, r.plant) for r in journal.records([])] == [(1, None)]
    assert journal.records([1, 2, 2]) == journal.records()


@pytest.mark.parametrize(
    "statement",
    [
        "update entry set author = 'x' where n = 1",
        "delete from entry where n = 1",
        "insert or replace into entry select n, command, kind, plant, on_day, written, clock, 'x', data from entry",
        "insert or ignore into entry select n, command, kind, plant, on_day, written, clock, 'x', data from entry",
    ],
)
def test_the_database_itself_keeps_the_journal_append_only(journal: Journal, statement: str) -> None:
    """Also a program that goes past ours cannot rewrite an entry."""
    before = journal.records()
    with closing(sqlite3.connect(journal.folder / FILE_NAME)) as other:
        with pytest.raises(sqlite3.IntegrityError, match="the journal is append-only"):
            other.execute(statement)
        other.rollback()
    assert journal.records() == before


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("on_day", "25.11.2026"),
        ("data", "{"),
        ("written", "now"),
        ("command", 0),
        ("plant", "tide"),
        ("kind", ""),
    ],
)
def test_the_database_refuses_values_of_another_form(journal: Journal, column: str, value: object) -> None:
    """Each column is checked where it is kept."""
    row = {
        "n": 99,
        "command": 9,
        "kind": "done",
        "plant": 1,
        "on_day": "2026-11-25",
        "written": "2026-11-25T18:03:00Z",
        "clock": "2026-11-25T18:03:00Z",
        "author": "x",
        "data": "{}",
    }
    row[column] = value
    marks = ", ".join(f":{name}" for name in row)
    with pytest.raises(sqlite3.IntegrityError, match=r"constraint failed|cannot store TEXT"):
        journal.connection.execute(f"insert into entry ({', '.join(row)}) values ({marks})", row)  # noqa: S608 - our own column names


@pytest.mark.parametrize("by", ["", " ", "a\nb", "x" * 81, "a\x00"])
def test_who_signs_has_a_name_on_one_line(journal: Journal, by: str) -> None:
    """A signature stands on pages and in exports."""
    with pytest.raises(Refused, match="cannot sign an entry"):
        write(journal, watered("tide"), by=by)


def test_a_collection_is_not_made_over_another(journal: Journal) -> None:
    """The folder says so."""
    with pytest.raises(Refused, match=r"stands in .*quay already; choose another folder"):
        Journal.create(journal.folder)


def test_every_collection_has_a_namespace_of_its_own(tmp_path: Path) -> None:
    """Two collections never share names of events; both begin with generation 1."""
    found = []
    for name in ("a", "b"):
        with Journal.create(tmp_path / name) as journal:
            found.append(dict(journal.connection.execute("select key, value from secret").fetchall()))
    assert found[0]["namespace"] != found[1]["namespace"]
    assert found[0]["generation"] == found[1]["generation"] == "1"


def test_a_reader_sees_what_was_written_and_writes_nothing(journal: Journal) -> None:
    """A read-only journal stands beside a writing one."""
    with Journal.open(journal.folder, readonly=True) as reader:
        write(journal, watered("tide"))
        assert reader.records() == journal.records()
        with pytest.raises(StorageError, match="is read-only"):
            write(reader, watered("tide"))


def test_two_writers_take_turns(journal: Journal) -> None:
    """Numbers are given inside the transaction, so none is given twice."""
    with Journal.open(journal.folder) as other:
        numbers = [write(each, watered("tide"))[0].n for each in (journal, other, other, journal)]
        assert numbers == [4, 5, 6, 7]
        assert other.records() == journal.records()


def test_reading_a_journal_needs_no_models() -> None:
    """A round is shown without loading what only writing needs."""
    code = "import sys, carecal.collection.journal; sys.exit('pydantic' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


WRITER = """
import sys
from datetime import UTC, date, datetime
from pathlib import Path
from carecal.collection.entries import Weighed
from carecal.collection.journal import Journal

now = datetime(2026, 11, 25, 18, 3, tzinfo=UTC)
entries = [Weighed(on=date(2026, 11, 25), plant=plant, weight_g=300) for plant in ("tide", "pebble")]
with Journal.open(Path(sys.argv[1])) as journal:
    while True:
        print(*(record.n for record in journal.append(entries, by="owner", written=now, clock=now)), flush=True)
"""


def test_a_kill_at_any_moment_loses_nothing_that_was_acknowledged(journal: Journal) -> None:
    """Ten writers are killed at different moments; each command they told of is there, and whole."""
    told: list[int] = []
    for lines in range(1, 11):
        with subprocess.Popen(
            [sys.executable, "-c", WRITER, str(journal.folder)], stdout=subprocess.PIPE, text=True
        ) as writer:
            assert writer.stdout is not None
            told += [int(number) for _ in range(lines * 3) for number in writer.stdout.readline().split()]
            os.kill(writer.pid, signal.SIGKILL)
            told += [int(number) for line in writer.stdout if line.endswith("\n") for number in line.split()]
    records = journal.records()
    assert len(told) >= 2 * 3 * 55
    assert set(told) <= {record.n for record in records}
    assert [record.n for record in records] == list(range(1, len(records) + 1))
    written = [record.command for record in records if record.kind == Weighed.kind]
    assert all(written.count(command) == 2 for command in set(written))
    assert journal.connection.execute("pragma integrity_check").fetchone()[0] == "ok"


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.sampled_from(["add", "rename", "water", "undo"]), max_size=12),
    st.randoms(use_true_random=False),
)
def test_ids_kept_step_by_step_equal_those_of_the_whole_journal(
    tmp_path_factory: pytest.TempPathFactory, steps: list[str], chance: object
) -> None:
    """Whatever is added, renamed and undone: the table of ids equals the fold, and undoing restores it."""
    pick = chance.choice  # type: ignore[attr-defined]  # hypothesis gives a random.Random
    with Journal.create(tmp_path_factory.mktemp("ids") / "c") as journal:
        for number, step in enumerate(steps):
            ids, names = journal.ids(), sorted(journal.ids())
            if step == "add":
                write(journal, added(f"p{number}"))
            elif step == "rename" and names:
                write(journal, Renamed(on=DAY, plant=pick(names), to=f"q{number}"))
            elif step == "water" and names:
                write(journal, watered(pick(names)))
            elif step == "undo" and (last := journal.last_command()) is not None:
                undo = write(journal, Undone(on=DAY, command=last))[0].command
                write(journal, Undone(on=DAY, command=undo))
                assert journal.ids() == ids
                write(journal, Undone(on=DAY, command=last))
        whole = {
            r.plant: r.data["id"] for r in effective(journal.records(), DAY) if r.kind == "added" and r.plant
        }
        for record in effective(journal.records(), DAY):
            if record.kind == "renamed" and record.plant in whole:
                whole[record.plant] = record.data["to"]
        assert journal.ids() == {name: number for number, name in whole.items()}
