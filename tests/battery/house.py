"""The collection that is killed and damaged: begun today by the real clock, with a plant and a calendar."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import threading
import time
from contextlib import closing, suppress
from pathlib import Path

import httpx2

from carecal.app import Collection
from carecal.collection.chain import ledger_faults, link_faults
from carecal.collection.record_faults import record_faults
from tests.cli.cli_run import done

__all__ = ["begin", "copied", "older", "surroundings", "unsound", "until_up", "written"]


def begin(folder: Path) -> Path:
    """Make the collection, a copy of it, its journal as a file and as a start file; return the folder of all."""
    home = folder / "quay"

    def say(*words: object) -> None:
        done(*words, as_of=None, home=home)

    say("init", "Quay", "--latitude", "54.3", "--longitude", "10.1", "--timezone", "Europe/Berlin")
    say("place", "add", "sill", "--kind", "warm-sill", "--aspect", "E")
    for plant, medium in (("tide", "bark"), ("gull", "moss"), ("ebb", "bark")):
        say(
            "plant",
            "add",
            plant,
            "--medium",
            medium,
            "--container",
            "plastic",
            "--size",
            "12",
            "--place",
            "sill",
            "--watered",
            "yesterday",
        )
    for number in range(30):
        say("observe", "tide", "--roots", str(3 + number % 3), "--note", f"look {number}")
    say("calendar", "add", "Phone")
    say("calendar", "write", "-o", folder / "quay.ics")
    say("backup", folder / "copy.zip")
    say("export", "-o", folder / "quay.jsonl")
    return folder


def older(home: Path) -> None:
    """Turn a collection into one of the first format, as a program of then would have left it."""
    with closing(sqlite3.connect(home / "collection.db")) as connection:
        for statement in (
            "drop table sensor_line",
            "drop table sensor",
            "drop table entry_link",
            "drop table ledger_seal",
            "alter table ledger drop column seal",
            "delete from migration where number > 1",
            "pragma user_version=1",
        ):
            connection.execute(statement)
        connection.commit()


def surroundings(home: Path) -> dict[str, str]:
    """Return the surroundings of a program that works on a collection."""
    return {**os.environ, "CARECAL_HOME": str(home), "PYTHONDONTWRITEBYTECODE": "1"}


def copied(stands: Path, work: Path) -> Path:
    """Copy a collection into a folder to work in, and return the copy."""
    home = work / "home"
    shutil.copytree(stands / "quay", home)
    return home


def until_up(client: httpx2.Client, running: subprocess.Popen[str]) -> None:
    """Wait until a server answers.

    Raises:
        RuntimeError: It ended or stays silent.
    """
    until = time.monotonic() + 30
    while time.monotonic() < until and running.poll() is None:
        with suppress(httpx2.HTTPError):
            if client.get("/healthz").status_code == 200:
                return
        threading.Event().wait(0.05)
    raise RuntimeError("the server did not come up")


def written(home: Path) -> int:
    """Return how many entries stand in a collection, 0 where there is none."""
    if not (home / "collection.db").is_file():
        return 0
    with Collection.open(home) as collection:
        return len(collection.journal.records())


def unsound(home: Path) -> str:
    """Return what is wrong with a collection's file, entries and ledgers; '' where nothing is."""
    with Collection.open(home) as collection:
        connection = collection.journal.connection
        found = [str(row[0]) for row in connection.execute("pragma integrity_check") if row[0] != "ok"]
        found += [f"entry {n}: {text}" for n, text in link_faults(connection)]
        found += [f"entry {n}: {text}" for n, text in record_faults(collection.journal.records())]
        found += ledger_faults(connection)
    return "; ".join(found)
