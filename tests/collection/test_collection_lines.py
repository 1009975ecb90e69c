"""The journal as JSON Lines: there and back again, over journals of every kind of entry."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from carecal.collection.entries import (
    Amended,
    AwayAdded,
    AwayEnded,
    CollectionStarted,
    Done,
    Entry,
    Observed,
    Paused,
    PlaceAdded,
    PlantAdded,
    Potted,
    Readings,
    ReadingsDay,
    Renamed,
    Retired,
    SideTaken,
    Undone,
)
from carecal.collection.journal import Journal
from carecal.collection.journal_lines import journal_lines, read_journal
from carecal.errors import DataFault, Refused

DAY = date(2026, 11, 25)
NOW = datetime(2026, 11, 25, 18, 3, tzinfo=UTC)


def write(journal: Journal, *entries: Entry, clock: datetime = NOW) -> None:
    """Write entries as one command."""
    journal.append(entries, by="owner", written=NOW, clock=clock)


def export(journal: Journal, path: Path) -> Path:
    """Write a journal's lines to a file."""
    path.write_text("".join(line + "\n" for line in journal_lines(journal.records())), encoding="utf-8")
    return path


def filled(folder: Path) -> Journal:
    """A journal in which ids change, commands are undone and words are odd."""
    journal = Journal.create(folder)
    write(journal, CollectionStarted(on=DAY, name="Quay “Süd”", latitude=54.3, longitude=10.1))
    write(
        journal,
        PlantAdded(on=DAY, plant="tide", size_cm=9),
        PlantAdded(on=DAY, plant="pebble", on_mother="tide"),
    )
    write(
        journal,
        Paused(on=DAY, care="feeding", plants=("pebble", "tide"), start=DAY, every_year=True, until=DAY),
    )
    write(journal, Renamed(on=DAY, plant="tide", to="ebb"), clock=NOW + timedelta(days=1))
    write(journal, Observed(on=DAY, plant="ebb", note='two\nlines, "quoted"\u2028 and more'))
    write(journal, PlantAdded(on=DAY, plant="tide"))
    write(journal, Retired(on=DAY, plant="ebb", because="merged", into="tide"))
    write(journal, Amended(on=DAY, entry=9, changes={"into": "pebble"}))
    write(journal, Undone(on=DAY, command=6))
    write(journal, AwayAdded(on=DAY, start=DAY, until=DAY), AwayEnded(on=DAY, entry=3))
    return journal


def test_a_line_holds_the_entry_as_people_read_it(tmp_path: Path) -> None:
    """The keys of the interface come first; plants have the id they had then; fields that share a name get 'of_'."""
    with filled(tmp_path / "a") as journal:
        lines = [json.loads(line) for line in journal_lines(journal.records())]
    assert list(lines[2])[:7] == ["entry", "command", "kind", "on", "written", "by", "plant"]
    assert lines[1] == {
        "entry": 2,
        "command": 2,
        "kind": "added",
        "on": "2026-11-25",
        "written": "2026-11-25T18:03:00Z",
        "by": "owner",
        "plant": "tide",
        "size_cm": 9.0,
        "aids": [],
    }
    assert (lines[2]["on_mother"], lines[3]["plants"]) == ("tide", ["pebble", "tide"])
    assert (lines[4]["plant"], lines[4]["to"], lines[4]["clock"]) == ("tide", "ebb", "2026-11-26T18:03:00Z")
    assert (lines[5]["plant"], lines[7]["into"], lines[8]["changes"]) == ("ebb", "tide", {"into": "pebble"})
    assert (lines[8]["entry"], lines[8]["of_entry"]) == (9, 9)
    assert (lines[9]["command"], lines[9]["of_command"], lines[11]["of_entry"]) == (9, 6, 3)


def test_an_import_gives_the_same_journal_and_a_second_one_adds_nothing(tmp_path: Path) -> None:
    """Records, ids and the next export are the same, byte for byte."""
    with filled(tmp_path / "a") as journal, Journal.create(tmp_path / "b") as copy:
        file = export(journal, tmp_path / "a.jsonl")
        assert copy.restore_records(read_journal(file)) == 12
        assert (copy.records(), copy.ids()) == (journal.records(), journal.ids())
        assert export(copy, tmp_path / "b.jsonl").read_bytes() == file.read_bytes()
        assert copy.restore_records(read_journal(file)) == 0
        write(journal, Done(on=DAY, plant="pebble", care="watering"))
        assert copy.restore_records(read_journal(export(journal, file))) == 1
        assert copy.records() == journal.records()


def test_a_journal_that_went_another_way_is_refused(tmp_path: Path) -> None:
    """The first entry that differs is named, and nothing is added."""
    with filled(tmp_path / "a") as journal, Journal.create(tmp_path / "b") as other:
        write(other, CollectionStarted(on=DAY, name="Mole", latitude=54.3, longitude=10.1))
        with pytest.raises(Refused, match="entry 1 of the file is not entry 1 of this collection"):
            other.restore_records(read_journal(export(journal, tmp_path / "a.jsonl")))
        assert other.head() == 1


def test_an_older_file_of_the_same_journal_adds_nothing(tmp_path: Path) -> None:
    """What we have beyond it stays."""
    with filled(tmp_path / "a") as journal:
        file = export(journal, tmp_path / "a.jsonl")
        write(journal, Done(on=DAY, plant="pebble", care="watering"))
        assert journal.restore_records(read_journal(file)) == 0
        assert journal.head() == 13


START = (
    '{"entry":1,"command":1,"kind":"added","on":"2026-11-25",'
    '"written":"2026-11-25T18:03:00Z","by":"x","plant":"tide"}'
)
NEXT = '{"entry":2,"command":2,"on":"2026-11-25","written":"2026-11-25T18:03:00Z","by":"x","kind":'

FAULTS = [
    (["{"], "line 1: not JSON", "cut off"),
    (["[1]"], "line 1: [1] is not an object", "a list"),
    (['{"entry":1}'], "line 1: missing command, kind, on, written, by", "half a head"),
    ([START, START], "line 2: entry 1 is out of order; allowed is 2", "a number twice"),
    ([START.replace('"command":1', '"command":2')], "command 2 is out of order; allowed is 1", "a gap"),
    ([START, NEXT + '"wilted","plant":"tide"}'], "line 2: unknown kind 'wilted'; known are", "a kind"),
    ([START, NEXT + '"done","plant":"tide","care":"watering","colour":1}'], "colour: unknown key", "a key"),
    ([START, NEXT + '"done","plant":"tide"}'], "line 2: care: missing; give 'watering'", "a missing key"),
    ([START, NEXT + '"done","plant":"ebb","care":"watering"}'], "no plant named 'ebb' by then", "a plant"),
    ([START, NEXT + '"done","plant":5,"care":"watering"}'], "plant: 5 is not an id", "a number for a plant"),
    (
        [START, NEXT + '"weighed","plant":"tide","weight_g":"300"}'],
        "weight_g: '300' is not a number",
        "a text",
    ),
    ([START, NEXT + '"weighed","plant":"tide","weight_g":NaN}'], "NaN is not a number", "not JSON's number"),
    ([START.replace("18:03:00Z", "18:03")], "written: '2026-11-25T18:03' is not an instant", "no zone"),
    ([START.replace('2026-11-25"', '25.11.2026"')], "on: '25.11.2026' is not a date", "a date"),
    ([START.replace('"x"', "7")], "by: 7 is not a name", "a signature"),
    ([START, NEXT + '"added","plant":"tide"}'], "line 2: 'tide' would name two plants", "an id twice"),
    ([""], "line 1: the file is empty", "nothing"),
]


@pytest.mark.parametrize(("lines", "message", "reason"), FAULTS)
def test_a_broken_journal_is_refused_with_its_line(
    tmp_path: Path, lines: list[str], message: str, reason: str
) -> None:
    """What is wrong, the value and what is allowed, by line."""
    path = tmp_path / "a.jsonl"
    path.write_text("\n".join(lines), encoding="utf-8")
    with pytest.raises(DataFault, match=re.escape(message)) as caught:
        read_journal(path)
    assert message in str(caught.value), reason


def test_all_faults_of_a_journal_are_told_at_once(tmp_path: Path) -> None:
    """A broken line hides none of the others."""
    path = tmp_path / "a.jsonl"
    path.write_text("\n".join(["{", START, "7"]), encoding="utf-8")
    with pytest.raises(DataFault, match="line 1") as caught:
        read_journal(path)
    assert [fault.key for fault in caught.value.faults] == ["line 1", "line 3"]


IDS = ("tide", "pebble", "gable")
DAYS = st.dates(date(2024, 1, 1), date(2028, 12, 31))
NOTES = st.text(max_size=20)
MEANS = st.builds(ReadingsDay, day=DAYS, temp_mean_c=st.floats(-30, 55))
PLANTS = st.sampled_from(IDS)


def entries_of(plant: str) -> st.SearchStrategy[Entry]:
    """Any entry that names plants, places or odd texts."""
    return st.one_of(
        st.builds(Observed, on=DAYS, plant=st.just(plant), note=NOTES, roots=st.integers(0, 400) | st.none()),
        st.builds(
            Potted,
            on=DAYS,
            plant=st.just(plant),
            medium=st.just("bark"),
            container=st.just("net"),
            size_cm=st.floats(3, 60),
        ),
        st.builds(
            Paused,
            on=DAYS,
            care=st.just("feeding"),
            start=DAYS,
            plants=st.lists(PLANTS).map(tuple) | st.none(),
        ),
        st.builds(
            SideTaken, on=DAYS, key=st.just("ice"), side=st.just("a"), plants=st.lists(PLANTS).map(tuple)
        ),
        st.builds(Retired, on=DAYS, plant=st.just(plant), because=st.just("merged"), into=PLANTS, note=NOTES),
        st.builds(
            PlaceAdded,
            on=DAYS,
            place=st.just("sill"),
            place_kind=st.just("sill"),
            winter_day_c=st.floats(-30, 55),
        ),
        st.builds(Readings, on=DAYS, place=st.just("sill"), days=st.lists(MEANS, max_size=2).map(tuple)),
        st.builds(
            Amended,
            on=DAYS,
            entry=st.integers(1, 3),
            changes=st.fixed_dictionaries({"note": NOTES}),
            on_day=DAYS,
        ),
        st.builds(Undone, on=DAYS, command=st.integers(2, 6)),
    )


@settings(max_examples=15, deadline=None)
@given(st.lists(PLANTS.flatmap(entries_of), max_size=12), st.data())
def test_any_journal_comes_back_the_same(
    tmp_path_factory: pytest.TempPathFactory, entries: list[Entry], data: st.DataObject
) -> None:
    """Export, import, export: equal records, equal ids, equal bytes, over random commands."""
    folder = tmp_path_factory.mktemp("lines")
    with Journal.create(folder / "a") as journal, Journal.create(folder / "b") as copy:
        write(journal, *(PlantAdded(on=DAY, plant=name) for name in IDS))
        for command in _commands(entries, data):
            try:
                write(journal, *command)
            except Refused:
                continue  # a plant whose adding was undone
        file = export(journal, folder / "a.jsonl")
        assert copy.restore_records(read_journal(file)) == journal.head()
        assert copy.records() == journal.records()
        assert copy.ids() == journal.ids()
        assert export(copy, folder / "b.jsonl").read_bytes() == file.read_bytes()


def _commands(entries: list[Entry], data: st.DataObject) -> Iterable[list[Entry]]:
    while entries:
        size = data.draw(st.integers(1, len(entries)))
        yield entries[:size]
        entries = entries[size:]
