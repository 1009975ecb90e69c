"""`many` on the command line, with the work done in this process: what it says, its exit codes and its one document."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from carecal.app.many.jobs import Job, JobResult, run_job
from tests.app.test_many import start
from tests.cli.cli_run import carecal, done, refused


@pytest.fixture(autouse=True)
def _in_this_process(monkeypatch: pytest.MonkeyPatch) -> None:
    def run(root: str, names: list[str], job: Job, **_: Any) -> Iterator[JobResult]:
        return (run_job(root, name, job) for name in names)

    monkeypatch.setattr("carecal.cli.many.run_jobs", run)


@pytest.fixture
def growers(tmp_path: Path) -> Path:
    """Two collections below a folder."""
    for name in ("anchor", "bight"):
        start(tmp_path / "growers" / name)
    return tmp_path / "growers"


def test_each_collection_has_a_line_and_all_have_one(growers: Path, tmp_path: Path) -> None:
    """What nothing was done with is only counted."""
    (tmp_path / "out").mkdir()
    lines = done("many", growers, "publish", tmp_path / "out").out.splitlines()
    assert [line.split(": published")[0] for line in lines[:2]] == ["anchor", "bight"]
    assert lines[2:] == ["2 collections: 2 published"]
    assert done("many", growers, "publish", tmp_path / "out").out == "2 collections: 2 unchanged\n"
    assert done("many", growers, "refresh").out == "2 collections: 2 unchanged\n"
    assert done("many", growers, "verify").out.splitlines()[-1] == "2 collections: 2 sound"


def test_one_document_holds_all(growers: Path, tmp_path: Path) -> None:
    """With --json the counts and a row a collection, in their order."""
    told = done("--json", "many", growers, "backup", tmp_path / "copies").json
    assert (told["command"], told["done"], told["failed"], told["stopped"]) == ("backup", 2, 0, False)
    assert [row["collection"] for row in told["collections"]] == ["anchor", "bight"]
    assert all(Path(row["data"]["file"]).is_file() for row in told["collections"])


def test_the_worst_gives_the_exit_code(growers: Path) -> None:
    """3 where one could not be worked on, 130 where it was stopped; the others are done all the same."""
    (growers / "wreck").mkdir()
    (growers / "wreck" / "collection.db").write_bytes(b"")
    said = carecal("many", growers, "status")
    assert said.code == 3
    assert said.out.splitlines()[-1] == "3 collections: 2 looked at, 1 failed"


def test_a_run_is_stopped_and_taken_up_again(
    growers: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ctrl-C leaves what is done; the same command with the same log does the rest."""

    def stop_after_one(root: str, names: list[str], job: Job, **_: Any) -> Iterator[JobResult]:
        yield run_job(root, names[0], job)
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr("carecal.cli.many.run_jobs", stop_after_one)
        said = carecal("many", growers, "verify", "--log", tmp_path / "log")
    assert (said.code, said.out.splitlines()[-1]) == (
        130,
        "1 collection: 1 sound; stopped, the rest is still to be done",
    )
    lines = done("many", growers, "verify", "--log", tmp_path / "log").out.splitlines()
    assert lines == ["bight: all is sound", "2 collections: 1 sound, 1 done before"]


def test_what_cannot_be_is_refused_in_a_line(growers: Path, tmp_path: Path) -> None:
    """A tree without collections, an account for all."""
    assert "lies no collection" in refused("many", tmp_path / "growers" / "anchor" / "photos", "verify")
    assert "cannot share one calendar" in refused("many", growers, "publish", "caldav+https://cal.example/a/")
