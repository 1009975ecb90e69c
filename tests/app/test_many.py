"""Many collections: which are found, what is done with each, what a run remembers; the oracle is each one by itself."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from carecal.app import Collection, Now
from carecal.app.many.jobs import Job, JobResult, run_job
from carecal.app.many.runs import run_all
from carecal.app.many.tree import collections_below
from carecal.app.publish.publications import publications
from carecal.collection.database import FILE_NAME
from carecal.collection.entries import CollectionStarted, Done, PlaceAdded, PlantAdded
from carecal.errors import Refused, StorageError

DAY = date(2026, 3, 2)
NOW = Now(DAY, datetime(2026, 3, 2, 9, tzinfo=UTC), datetime(2026, 3, 2, 9, tzinfo=UTC), is_given=True)


def start(folder: Path) -> Path:
    """Make a collection with one plant on a sill."""
    started = CollectionStarted(on=DAY, name="Quay", latitude=54.3, longitude=10, timezone="Europe/Berlin")
    with closing(Collection.start(folder, started, NOW)) as collection:
        collection.record(PlaceAdded(on=DAY, place="sill", place_kind="warm-sill", aspect="E"), now=NOW)
        collection.record(
            PlantAdded(
                on=DAY,
                plant="tide",
                medium="bark",
                container="plastic",
                size_cm=12,
                place="sill",
                watered=DAY,
                stage="established",
            ),
            now=NOW,
        )
    return folder


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    """Return a folder with two collections below it, one of them deeper, and a third that is broken."""
    root = tmp_path / "growers"
    start(root / "anchor")
    start(root / "north" / "bight")
    (root / "wreck").mkdir()
    (root / "wreck" / FILE_NAME).write_bytes(b"no database at all, whatever its name says" * 200)
    return root


def job(kind: str, target: Path | str = "") -> Job:
    """Return a job of the day."""
    return Job(kind, str(target), as_of=DAY)  # type: ignore[arg-type]  # one of the kinds


def test_collections_are_found_in_order_and_not_looked_into(tree: Path) -> None:
    """What lies in a collection, begins with a dot or is a link is no collection of the tree."""
    start(tree / "anchor" / "photos" / "inner")
    start(tree / ".kept" / "old")
    (tree / "again").symlink_to(tree / "north")
    assert list(collections_below(tree)) == ["anchor", "north/bight", "wreck"]
    assert list(collections_below(tree / "anchor")) == ["."]
    with pytest.raises(StorageError, match="cannot be read"):
        list(collections_below(tree / "nowhere"))


@pytest.mark.skipif(os.geteuid() == 0, reason="needs a user whom modes stop")
def test_a_folder_that_may_not_be_read_is_told_by_its_job(tree: Path) -> None:
    """It is not passed over in silence."""
    (tree / "north").chmod(0)
    assert "north" in list(collections_below(tree))
    (tree / "north").chmod(0o700)


def test_publishing_again_only_looks(tree: Path, tmp_path: Path) -> None:
    """One file for each, of a name that stays; a second time nothing is sent; after an entry that one alone."""
    out = tmp_path / "out"
    out.mkdir()
    first = [run_job(str(tree), name, job("publish", out)) for name in ("anchor", "north/bight")]
    assert [result.outcome for result in first] == ["done", "done"]
    files = {path.name for path in out.iterdir()}
    assert files == {result.data["file"] for result in first}
    assert all(len(name) == 2 * 24 + len(".ics") for name in files)
    again = [run_job(str(tree), name, job("publish", out)) for name in ("anchor", "north/bight")]
    assert [result.outcome for result in again] == ["unchanged", "unchanged"]
    with closing(Collection.open(tree / "anchor")) as collection:
        collection.record(Done(on=DAY, plant="tide", care="watering"), now=NOW)
    third = [run_job(str(tree), name, job("publish", out)) for name in ("anchor", "north/bight")]
    assert [result.outcome for result in third] == ["done", "unchanged"]
    assert {path.name for path in out.iterdir()} == files


def test_a_broken_one_is_told_and_raises_nothing(tree: Path, tmp_path: Path) -> None:
    """Each kind of job says what is wrong in one line."""
    for kind in ("publish", "refresh", "verify", "status", "backup"):
        result = run_job(str(tree), "wreck", job(kind, tmp_path))
        assert (result.outcome, result.text.count("\n")) == ("failed", 0)
        assert "not a database" in result.text


def test_a_bug_in_one_is_told_too(tree: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever breaks in one collection stops none of the others."""

    def broken(*_: object) -> list[str]:
        raise ZeroDivisionError("by nought")

    monkeypatch.setattr("carecal.app.many.jobs.findings", broken)
    result = run_job(str(tree), "anchor", job("verify"))
    assert (result.outcome, result.text) == ("failed", "cannot be worked on: ZeroDivisionError: by nought")


def test_verify_status_and_refresh_say_what_each_command_says(tree: Path, tmp_path: Path) -> None:
    """Sound, counted, and published again wherever it stands."""
    assert run_job(str(tree), "anchor", job("verify")).text == "all is sound"
    assert run_job(str(tree), "anchor", job("status")).text == "Quay: 1 plants, 3 entries"
    assert run_job(str(tree), "anchor", job("refresh")).text == "no calendar has an address"
    run_job(str(tree), "anchor", job("publish", tmp_path))
    assert run_job(str(tree), "anchor", job("refresh")).outcome == "unchanged"
    with closing(Collection.open(tree / "anchor")) as collection:
        collection.record(Done(on=DAY, plant="tide", care="watering"), now=NOW)
        (where,) = publications(collection)
    before = (tmp_path / where.file_name).read_bytes()
    assert run_job(str(tree), "anchor", job("refresh")).outcome == "done"
    assert (tmp_path / where.file_name).read_bytes() != before
    (tmp_path / where.file_name).unlink()
    tmp_path.joinpath("gone").mkdir()
    with closing(Collection.open(tree / "anchor")) as collection:
        collection.journal.connection.execute(
            "update secret set value = replace(value, ?, ?)", (str(tmp_path), "/no")
        )
        collection.journal.connection.commit()
    assert "everyone at " in run_job(str(tree), "anchor", job("refresh")).text


def test_a_collection_with_faults_is_no_failure(tree: Path) -> None:
    """The work was done; what it found is told."""
    with closing(Collection.open(tree / "anchor")) as collection:
        for (name,) in collection.journal.connection.execute(
            "select name from sqlite_master where type = 'trigger'"
        ):
            collection.journal.connection.execute(f"drop trigger {name}")
        collection.journal.connection.execute("update entry set data = replace(data, '12', '13') where n = 3")
        collection.journal.connection.commit()
    result = run_job(str(tree), "anchor", job("verify"))
    assert result.outcome == "faults"
    assert "entry 3" in result.text


def test_a_copy_is_made_once_and_again_after_an_entry(tree: Path, tmp_path: Path) -> None:
    """A copy that is newer than all it would hold stays; each lies where its collection lies in the tree."""
    copies = tmp_path / "copies"
    assert run_job(str(tree), "north/bight", job("backup", copies)).outcome == "done"
    assert (copies / "north" / "bight.zip").is_file()
    assert run_job(str(tree), "north/bight", job("backup", copies)).outcome == "unchanged"
    later = (copies / "north" / "bight.zip").stat().st_mtime + 5
    os.utime(tree / "north" / "bight" / FILE_NAME, (later, later))
    assert run_job(str(tree), "north/bight", job("backup", copies)).outcome == "done"


def spread(results: dict[str, str]) -> Callable[[list[str]], Iterator[JobResult]]:
    """Return what does the work of a run: it only says what was asked for."""

    def doing(names: list[str]) -> Iterator[JobResult]:
        for name in names:
            if results[name] == "stop":
                raise KeyboardInterrupt
            yield JobResult(name, results[name], "")  # type: ignore[arg-type]  # one of the outcomes

    return doing


def test_a_run_that_was_stopped_goes_on_where_it_was(tmp_path: Path) -> None:
    """What went well on the same day is left out; what failed is done again; a line cut off counts for nothing."""
    log, names = tmp_path / "run.jsonl", ["a", "b", "c", "d"]
    seen: list[str] = []

    def run(results: dict[str, str], day: date = DAY) -> object:
        seen.clear()
        return run_all(
            names,
            job("verify"),
            spread(results),
            log,
            day,
            lambda result, _: seen.append(result.collection),
        )

    first = run({"a": "done", "b": "failed", "c": "stop"})
    assert str(first) == "2 collections: 1 sound, 1 failed; stopped, the rest is still to be done"
    with log.open("a") as file:
        file.write('{"job": {"kind": "ver')
    second = run({"b": "done", "c": "unchanged", "d": "faults"})
    assert (seen, str(second)) == (
        ["b", "c", "d"],
        "4 collections: 1 sound, 1 unchanged, 1 with faults, 1 done before",
    )
    run(dict.fromkeys(names, "done"), date(2026, 3, 3))
    assert seen == names
    assert [json.loads(line)["collection"] for line in log.read_text().splitlines() if line.endswith("}")][
        :2
    ] == ["a", "b"]


def test_a_store_of_fsspec_is_reached_only_by_a_word(tree: Path) -> None:
    """Where such a store leads cannot be checked; read back by fsspec itself."""
    fsspec = pytest.importorskip("fsspec")
    refused = run_job(str(tree), "anchor", Job("publish", "memory://quay/care", as_of=DAY))
    assert "cannot be checked" in refused.text
    result = run_job(str(tree), "anchor", Job("publish", "memory://quay/care", private=True, as_of=DAY))
    assert result.outcome == "done", result.text
    content = fsspec.filesystem("memory").cat_file(f"quay/care/{result.data['file']}")
    assert content.startswith(b"BEGIN:VCALENDAR")


def test_without_the_extra_it_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """One line, and what to install."""
    import sys  # noqa: PLC0415 - for this test alone

    from carecal.app.many.workers import run_jobs  # noqa: PLC0415 - likewise

    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(Refused, match=r"carecal\[many\]"):
        list(run_jobs(".", ["a"], job("verify")))
