"""Programs killed by the system in the middle of their work: what was acknowledged stands, and nothing stands half."""

from __future__ import annotations

import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from random import Random
from typing import NamedTuple

import httpx2
from icalendar import Calendar

from carecal.collection.backup import restore
from carecal.errors import CarecalError
from tests.battery.house import copied, older, surroundings, unsound, until_up, written
from tests.roads.servers import free_port
from tests.web.pages_grower import Grower
from tests.web.visitors import PASSWORD, give_password

__all__ = ["KILLS", "Kill"]

PROGRAM = (sys.executable, "-m", "carecal")
KILLER = (sys.executable, "-m", "tests.battery.killer")
LONGEST_SECONDS = 60
Kill = Callable[[Path, Path, Random], tuple[str, str]]
"""What tries once, in a folder of its own: returns what happened and what broke the rule, '' where nothing did."""


class Usual(NamedTuple):
    """What a command takes when it is left alone: time [s], and how many things it does to files and database."""

    seconds: float
    steps: int


_usual: dict[str, Usual] = {}


def _measure(words: list[str], home: Path) -> None:
    """Learn what a command takes when it is left alone, in a folder that is thrown away."""
    if words[0] in _usual:
        return
    counted = home.with_name("steps")
    began = time.monotonic()
    subprocess.run(
        [*KILLER, "0", str(counted), *words],
        env=surroundings(home),
        capture_output=True,
        timeout=120,
        check=True,
    )
    _usual[words[0]] = Usual(time.monotonic() - began, int(counted.read_text(encoding="ascii")))
    counted.unlink()


def _killed(words: list[str], home: Path, chance: Random) -> tuple[int, str]:
    """Run a program, kill it at a step or at a moment, and return its exit code and what it had said."""
    usual = _usual[words[0]]
    is_step = chance.random() < 0.6
    late = str(chance.choice((0, 1, chance.randint(1, 3000))))  # [µs]
    program = [*KILLER, str(chance.randint(1, usual.steps)), late] if is_step else list(PROGRAM)
    after = LONGEST_SECONDS if is_step else chance.uniform(0.4 * usual.seconds, 1.1 * usual.seconds)
    with subprocess.Popen(
        [*program, *words],
        env=surroundings(home),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as running:
        with suppress(subprocess.TimeoutExpired):
            running.wait(after)
        if running.poll() is None:
            running.send_signal(signal.SIGKILL)
        said = running.stdout.read() if running.stdout is not None else ""
        running.wait(LONGEST_SECONDS)
    return running.returncode, said


def _traceback(said: str) -> str:
    return f"traceback: {said[-300:]}" if "Traceback" in said else ""


def command(stands: Path, work: Path, chance: Random) -> tuple[str, str]:
    """A command that writes one entry."""
    words = ["observe", "gull", "--note", "a look that was killed"]
    trial = work / "trial"
    shutil.copytree(stands / "quay", trial)
    _measure(words, trial)
    home = copied(stands, work)
    before = written(home)
    code, said = _killed(words, home, chance)
    is_acknowledged = code == 0 or said.startswith("entry ")
    gained = written(home) - before
    broken = "an acknowledged entry is lost" if is_acknowledged and gained != 1 else ""
    broken = broken or ("half a command stands there" if gained not in {0, 1} else "")
    return ("done" if gained else "nothing written"), broken or unsound(home) or _traceback(said)


def _calendar(file: Path) -> str:
    body = file.read_bytes()
    is_whole = body.startswith(b"BEGIN:VCALENDAR\r\n") and body.endswith(b"END:VCALENDAR\r\n")
    return "" if is_whole and Calendar.from_ical(body).events else "half a calendar stands there"


def publishing(stands: Path, work: Path, chance: Random) -> tuple[str, str]:
    """A calendar written over an older one."""
    home, file = copied(stands, work), work / "quay.ics"
    shutil.copyfile(stands / "quay.ics", file)
    words = ["calendar", "write", "-o", str(file)]
    _measure(words, home)
    old = file.read_bytes()
    code, said = _killed(words, home, chance)
    what = "done" if code == 0 else "old file" if file.read_bytes() == old else "new file"
    return what, _calendar(file) or unsound(home) or _traceback(said)


def backup(stands: Path, work: Path, chance: Random) -> tuple[str, str]:
    """A copy that replaces an older one."""
    home, file = copied(stands, work), work / "copy.zip"
    shutil.copyfile(stands / "copy.zip", file)
    words = ["backup", str(file), "--force"]
    _measure(words, home)
    code, said = _killed(words, home, chance)
    try:
        restore(file, work / "again")
    except CarecalError as error:
        return "lost", f"no whole copy stands there: {error}"
    lost = "" if written(work / "again") == written(home) else "the copy is of less"
    return ("done" if code == 0 else "cut off"), lost or _traceback(said)


def restoring(stands: Path, work: Path, chance: Random) -> tuple[str, str]:
    """A collection made from a copy."""
    home = work / "home"
    words = ["restore", str(stands / "copy.zip")]
    _measure(words, work / "trial")
    code, said = _killed(words, home, chance)
    if not home.exists():
        return "nothing there", "it said that it was done" if code == 0 else _traceback(said)
    whole = "" if written(home) == written(stands / "quay") else "half a collection stands there"
    return "whole", whole or unsound(home) or _traceback(said)


def migration(stands: Path, work: Path, chance: Random) -> tuple[str, str]:
    """A collection of an older format opened."""
    home = copied(stands, work)
    before = written(home)
    trial = work / "trial"
    shutil.copytree(home, trial)
    older(trial)
    _measure(["status", "--quiet"], trial)
    older(home)
    code, said = _killed(["status", "--quiet"], home, chance)
    lost = "" if written(home) == before else "entries are lost"
    return ("done" if code == 0 else "cut off"), lost or unsound(home) or _traceback(said)


def importing(stands: Path, work: Path, chance: Random) -> tuple[str, str]:
    """A whole journal read into a new collection, and read once more afterwards."""
    home, whole = work / "home", written(stands / "quay")
    words = ["import", str(stands / "quay.jsonl")]
    _measure(words, work / "trial")
    code, said = _killed(words, home, chance)
    found = written(home)
    if found not in {0, whole} or (code == 0 and found != whole):
        return "half", f"{found} of {whole} entries stand there"
    again = subprocess.run(
        [*PROGRAM, *words], env=surroundings(home), capture_output=True, text=True, check=False
    )
    if again.returncode or written(home) != whole:
        return "stuck", f"it cannot be read again: {again.stderr}"
    return ("whole" if found else "nothing there"), unsound(home) or _traceback(said)


def server(stands: Path, work: Path, chance: Random) -> tuple[str, str]:
    """The server, while somebody writes down what was seen; each answer is kept outside."""
    home = copied(stands, work)
    give_password(home)
    port = free_port()
    before, kept = written(home), 0
    base = f"http://127.0.0.1:{port}"
    with subprocess.Popen(
        [*PROGRAM, "serve", "--port", str(port)],
        env=surroundings(home),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as running:
        with httpx2.Client(base_url=base, timeout=20) as client:
            until_up(client, running)
            client.post("/login", data={"password": PASSWORD, "next": "/"})
            end = threading.Timer(chance.uniform(0.05, 1.5), running.send_signal, (signal.SIGKILL,))
            end.start()
            grower = Grower(client, home)  # type: ignore[arg-type]  # a real client in place of the stand-in
            with suppress(httpx2.HTTPError):
                while True:
                    answer = grower.send("/plants/tide", "observe", note=f"kept {kept}")
                    kept += answer.status_code == 303
        end.join()
        said = running.stdout.read() if running.stdout is not None else ""
    gained = written(home) - before
    broken = "" if kept <= gained <= kept + 1 else f"{kept} answered, {gained} written"
    return f"{'some' if kept else 'none'} answered", broken or unsound(home) or _traceback(said)


KILLS: dict[str, Kill] = {
    "a command": command,
    "a calendar's file": publishing,
    "backup --force": backup,
    "restore": restoring,
    "a migration": migration,
    "import": importing,
    "the server": server,
}
