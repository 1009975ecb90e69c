"""Many collections published by real workers to a real store on loopback, one worker killed in the middle."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import icalendar
import pytest

from carecal.app.many.jobs import Job
from carecal.app.many.workers import UNDER_WAY, run_jobs
from tests.app.test_many import DAY, start
from tests.roads.servers import needs
from tests.roads.test_publish_stores import Space, _s3

pytestmark = pytest.mark.servers
MANY = 12
COMMAND = [sys.executable, "-m", "carecal", "--as-of", DAY.isoformat(), "--json", "many"]


def _grown(root: Path) -> list[str]:
    """Make many collections of one: what is copied here is one that nobody has opened since."""
    first = start(root / "n00")
    names = [f"n{number:02}" for number in range(MANY)]
    for name in names[1:]:
        shutil.copytree(first, root / name)
    return names


def _workers(parent: int) -> list[int]:
    psutil = needs("psutil")
    children = psutil.Process(parent).children(recursive=True)
    return [child.pid for child in children if "spawn_main" in " ".join(child.cmdline())]


@pytest.mark.filterwarnings(
    "ignore::ResourceWarning", "ignore::DeprecationWarning", "ignore::pytest.PytestUnraisableExceptionWarning"
)
def test_a_worker_that_is_killed_loses_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every collection stands in the store once, the broken one is told; a second run only looks."""
    needs("distributed")
    root = tmp_path / "growers"
    names = _grown(root)
    (root / "wreck").mkdir()
    (root / "wreck" / "collection.db").write_bytes(b"no database" * 900)
    opened = _s3(tmp_path, monkeypatch)
    with opened as space:
        monkeypatch.setenv("AWS_ACCESS_KEY_ID", "keeper")
        monkeypatch.setenv("AWS_SECRET_ACCESS_KEY", "a word for tests")
        words = [*COMMAND, str(root), "publish", space.target, "--private", "--workers", "2"]
        with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as running:
            _kill_one(running, space)
            out, err = running.communicate(timeout=120)
        told = json.loads(out)
        rows = {row["collection"]: row for row in told["collections"]}
        faults = {name: row["text"] for name, row in rows.items() if row["outcome"] == "failed"}
        assert list(faults) == ["wreck"], (faults, err)
        assert "not a database" in faults["wreck"]
        assert (running.returncode, told["done"] + told["unchanged"]) == (3, MANY)
        files = space.read()
        assert set(files) == {f"care/{rows[name]['data']['file']}" for name in names}
        for content in files.values():
            assert icalendar.Calendar.from_ical(content).walk("VEVENT")
        again = subprocess.run([*words, "--quiet"], capture_output=True, timeout=120, check=False)
        told = json.loads(again.stdout)
        assert (told["unchanged"], told["failed"], space.read()) == (MANY, 1, files)


def _kill_one(running: subprocess.Popen[bytes], space: Space) -> None:
    """Kill a worker as soon as the first calendar stands in the store."""
    until = time.monotonic() + 60
    while time.monotonic() < until and not space.read():
        time.sleep(0.05)
    os.kill(_workers(running.pid)[0], signal.SIGKILL)


def test_a_cluster_that_is_not_there_is_told(tmp_path: Path) -> None:
    """One line, exit code 3, and nothing is written."""
    needs("distributed")
    start(tmp_path / "quay")
    words = [*COMMAND, str(tmp_path), "verify", "--scheduler", "nowhere"]
    told = subprocess.run(words, capture_output=True, timeout=60, check=False, text=True)
    assert (told.returncode, told.stdout) == (3, "")
    assert "no cluster answers at 'nowhere'" in told.stderr


@pytest.mark.filterwarnings(
    "ignore::ResourceWarning", "ignore::DeprecationWarning", "ignore::pytest.PytestUnraisableExceptionWarning"
)
def test_a_cluster_that_runs_already_does_the_same(tmp_path: Path) -> None:
    """The scheduler is named; there are more collections than are given out at once."""
    distributed = needs("distributed")
    names = [f"n{number:02}" for number in range(2 * UNDER_WAY + 3)]
    for name in names[:2]:
        start(tmp_path / name)
    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, processes=False, dashboard_address="127.0.0.1:0"
    ) as cluster:
        job = Job("verify", as_of=DAY)
        told = list(run_jobs(str(tmp_path), names, job, scheduler=cluster.scheduler_address))
    outcomes = {result.collection: result.outcome for result in told}
    assert len(told) == len(names)
    assert outcomes == {name: "done" if name in names[:2] else "failed" for name in names}
