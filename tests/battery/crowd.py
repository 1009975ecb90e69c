"""Several programs at one collection at once: writers, the server, copies; each acknowledged entry stands, once."""

from __future__ import annotations

import subprocess
import sys
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path
from random import Random
from threading import Barrier
from typing import TYPE_CHECKING

import httpx2

from carecal.app import Collection
from carecal.collection.backup import restore
from tests.battery.house import copied, surroundings, unsound, until_up, written
from tests.roads.servers import free_port
from tests.web.pages_grower import Grower
from tests.web.visitors import PASSWORD, give_password

if TYPE_CHECKING:
    from carecal.collection.records import Record

__all__ = ["crowd", "twice"]

PROGRAM = (sys.executable, "-m", "carecal")
WRITERS, NOTES, COPIES = 4, 2, 2
LONGEST_SECONDS = 120


def _run(home: Path, *words: object) -> tuple[int, str]:
    """Run a command and return its exit code and all that it said."""
    found = subprocess.run(
        [*PROGRAM, *map(str, words)],
        env=surroundings(home),
        capture_output=True,
        text=True,
        check=False,
        timeout=LONGEST_SECONDS,
    )
    return found.returncode, found.stdout + found.stderr


def _records(home: Path) -> list[Record]:
    with Collection.open(home) as collection:
        return collection.journal.records()


def twice(stands: Path, work: Path, chance: Random) -> tuple[str, str]:
    """Two commands that water one plant, begun together: one is written, the other told."""
    home = copied(stands, work)
    plant, before = chance.choice(("tide", "gull", "ebb")), written(home)
    start = Barrier(2)

    def one(_: int) -> tuple[int, str]:
        start.wait(LONGEST_SECONDS)
        return _run(home, "done", "watering", plant)

    with ThreadPoolExecutor(2) as pool:
        said = list(pool.map(one, range(2)))
    new = _records(home)[before:]
    codes = sorted(code for code, _ in said)
    told = "told by the transaction" if any("already done" in text for _, text in said) else "told before"
    is_right = codes == [0, 3] and [record.kind for record in new] == ["done"]
    return told, ("" if is_right else f"{codes}, {len(new)} written: {said}") or unsound(home)


def _write(home: Path, writer: int) -> list[str]:
    """Write some notes by commands and return which were acknowledged, and '' for a tick that was."""
    notes = [f"seen by {writer}, {number}" for number in range(NOTES)]
    kept = [""] if _run(home, "done", "watering", "ebb")[0] == 0 else []
    return kept + [note for note in notes if _run(home, "observe", "gull", "--note", note)[0] == 0]


def _send(base: str, home: Path) -> list[str]:
    """Write notes by the page until the writers are done, and return which were acknowledged."""
    kept = []
    with httpx2.Client(base_url=base, timeout=LONGEST_SECONDS) as client:
        client.post("/login", data={"password": PASSWORD, "next": "/"})
        grower = Grower(client, home)  # type: ignore[arg-type]  # a real client in place of the stand-in
        for number in range(2 * NOTES):
            note = f"seen on the page, {number}"
            if grower.send("/plants/tide", "observe", note=note).status_code == 303:
                kept.append(note)
    return kept


def crowd(stands: Path, work: Path, _: Random) -> tuple[str, str]:
    """Four writers, a server and copies at once: what was acknowledged stands once, each copy is whole."""
    home, port = copied(stands, work), free_port()
    give_password(home)
    before, copies = written(home), [work / f"copy-{number}.zip" for number in range(COPIES)]
    with subprocess.Popen(
        [*PROGRAM, "serve", "--port", str(port)],
        env=surroundings(home),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as running:
        base = f"http://127.0.0.1:{port}"
        with httpx2.Client(base_url=base) as client:
            until_up(client, running)
        with ThreadPoolExecutor(WRITERS + 1 + COPIES) as pool:
            writers: list[Future[list[str]]] = [pool.submit(_write, home, n) for n in range(WRITERS)]
            writers.append(pool.submit(_send, base, home))
            made = [pool.submit(_run, home, "backup", file) for file in copies]
            kept = [note for writer in writers for note in writer.result()]
            copied_well = [copy.result() for copy in made]
        running.terminate()
        said = running.stdout.read() if running.stdout is not None else ""
    new = _records(home)[before:]
    notes = sorted(str(r.data["note"]) for r in new if r.kind == "observed")
    ticks = sum(r.kind == "done" for r in new)
    broken = (
        ""
        if notes == sorted(note for note in kept if note)
        else f"{len(kept)} acknowledged, {len(notes)} there"
    )
    broken = broken or (
        "" if ticks == kept.count("") == 1 else f"watered {ticks} times, acknowledged {kept.count('')}"
    )
    broken = (
        broken or ("traceback" if "Traceback" in said else "") or _whole(copied_well, copies, work, before)
    )
    return f"{len(notes)} notes", broken or unsound(home)


def _whole(made: list[tuple[int, str]], copies: list[Path], work: Path, least: int) -> str:
    """Return what is wrong with copies made meanwhile; '' where nothing is."""
    for number, ((code, text), file) in enumerate(zip(made, copies, strict=True)):
        if code:
            return f"a copy was refused: {text}"
        restore(file, work / f"again-{number}")
        if written(work / f"again-{number}") < least:
            return "a copy is of less than there was"
    return ""
