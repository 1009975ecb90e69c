"""Real programs of a grower's own: the server as it is started, vdirsyncer, and what reads its folder of files."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import icalendar

from tests.roads.servers import free_port, needs, running

__all__ = ["Khal", "Syncer", "Todoman", "serving"]

CLOCK = "%Y-%m-%d"


@contextmanager
def serving(folder: Path, *more: str, port: int = 0) -> Iterator[str]:
    """Run `carecal serve` on a house as a program of its own, and yield its address."""
    port = port or free_port()
    words = [sys.executable, "-m", "carecal", "--home", str(folder), "serve", "--port", str(port), *more]
    with running(words, port):
        yield f"http://127.0.0.1:{port}"


def _said(words: list[str], answer: bytes = b"", **environment: str) -> str:
    """Run a program that must succeed, and return what it prints."""
    told = subprocess.run(
        [sys.executable, "-m", *words],
        input=answer,
        capture_output=True,
        timeout=120,
        check=False,
        env={**os.environ, **environment},
    )
    assert told.returncode == 0, told.stderr.decode() + told.stdout.decode()
    return told.stdout.decode()


class Syncer:
    """vdirsyncer between an account and a folder of files.

    Args:
        folder: Where it keeps its files; `store` in it holds a folder for each calendar.
        address: Where the account is looked for.
        user: Who logs in.
        password: The password.
        more: Further lines of the account's part.
    """

    def __init__(self, folder: Path, address: str, user: str, password: str, more: str = "") -> None:
        needs("vdirsyncer")
        self.store, self._config = folder / "store", folder / "vdirsyncer.ini"
        self._is_new = True
        self._config.write_text(
            f'[general]\nstatus_path = "{folder / "status"}"\n'
            '[pair care]\na = "here"\nb = "there"\ncollections = ["from b"]\nconflict_resolution = "b wins"\n'
            'metadata = ["color", "displayname"]\n'
            f'[storage here]\ntype = "filesystem"\npath = "{self.store}"\nfileext = ".ics"\n'
            f'[storage there]\ntype = "caldav"\nurl = "{address}"\nusername = "{user}"\npassword = "{password}"\n{more}'
        )

    def sync(self) -> None:
        """Synchronise; the first time the calendars are found and made."""
        words = ["vdirsyncer", "-c", str(self._config)]
        if self._is_new:
            _said([*words, "discover", "care"], b"y\n" * 4)
            self._is_new = False
        _said([*words, "sync"])

    def todos(self) -> dict[str, Any]:
        """Synchronise and return the to-dos by UID: one file an object, none doubled."""
        self.sync()
        found: dict[str, Any] = {}
        for path in sorted((self.store / "todo").glob("*.ics")):
            (todo,) = icalendar.Calendar.from_ical(path.read_bytes()).walk("VTODO")
            assert str(todo["UID"]) not in found
            found[str(todo["UID"])] = todo
        return found


class Todoman:
    """todoman on the folder of files."""

    def __init__(self, folder: Path, store: Path) -> None:
        needs("todoman")
        self._config = folder / "todoman.py"
        self._config.write_text(
            f'path = "{store}/*"\ncache_path = "{folder / "todoman.sqlite"}"\ndate_format = "{CLOCK}"\n'
            'time_format = "%H:%M"\n'
        )

    def tasks(self) -> list[dict[str, Any]]:
        """Return each task, open or done."""
        words = ["todoman", "-c", str(self._config), "--porcelain", "list", "--status", "ANY"]
        return list(json.loads(_said(words)))

    def done(self, number: int) -> None:
        """Mark a task as done, by the number the program gives it."""
        _said(["todoman", "-c", str(self._config), "done", str(number)])


class Khal:
    """khal on the folder of files."""

    def __init__(self, folder: Path, store: Path) -> None:
        needs("khal")
        self._config = folder / "khal.conf"
        dates = "".join(f"{name} = {CLOCK}\n" for name in ("dateformat", "longdateformat"))
        instants = "".join(f"{name} = {CLOCK} %H:%M\n" for name in ("datetimeformat", "longdatetimeformat"))
        self._config.write_text(
            f"[calendars]\n[[care]]\npath = {store / 'care'}\n[locale]\ntimeformat = %H:%M\n{dates}{instants}"
            "local_timezone = Europe/Berlin\ndefault_timezone = Europe/Berlin\n"
            f"[sqlite]\npath = {folder / 'khal.sqlite'}\n[default]\ndefault_calendar = care\n"
        )

    def titles(self, first: str, days: int) -> list[str]:
        """Return day and title of each event from a day on."""
        words = [
            "khal",
            "-c",
            str(self._config),
            "list",
            "--format",
            "{start-date} {title}",
            first,
            f"{days}d",
        ]
        return [line for line in _said(words).splitlines() if line[:2] == "20"]
