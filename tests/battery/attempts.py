"""One broken file handed in by one way, and whether the rule held: one line, code 3 or 4, nothing written, in time."""

from __future__ import annotations

import shutil
import time
import traceback
from pathlib import Path

import pytest

from tests.battery.mutations import Way
from tests.cli.cli_run import DAY, carecal, done, quay

__all__ = ["LONGEST_SECONDS", "attempt", "standing"]

LONGEST_SECONDS = 5.0


def standing(folder: Path) -> Path:
    """Make a collection and a copy of it in a folder, and return the folder."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("CARECAL_HOME", str(folder / "quay"))
        quay()
        done("backup", folder / "copy.zip")
    return folder


def _state(home: Path) -> str:
    """Return the whole journal of a collection; '' where there is none."""
    return carecal("export", home=home).out if (home / "collection.db").exists() else ""


def attempt(way: Way, content: bytes, stands: Path, work: Path) -> tuple[int, str]:
    """Hand a file in and return the exit code and what broke the rule; '' where nothing did.

    Args:
        way: The way in.
        content: The file.
        stands: What `standing` made.
        work: A folder to work in.
    """
    home, file = work / "home", work / f"file{way.suffix}"
    shutil.rmtree(home, ignore_errors=True)
    if not way.is_new:
        shutil.copytree(stands / "quay", home)
    before = _state(home)
    file.write_bytes(content)
    began = time.monotonic()
    try:
        said = carecal(*[str(file) if word == "FILE" else word for word in way.words], home=home, as_of=DAY)
    except Exception as error:  # noqa: BLE001 - what it is stands in the table
        return -1, f"traceback: {traceback.format_exception_only(error)[-1].strip()}"
    seconds = time.monotonic() - began
    if seconds > LONGEST_SECONDS:
        return said.code, f"it took {seconds:.1f} s"
    if said.code not in {0, 3, 4}:
        return said.code, f"exit code {said.code}: {said.err}"
    if said.code == 0:
        return 0, _unsound(home)
    if said.err.count("\n") != 1 or said.out or not said.err.startswith("carecal: "):
        return said.code, f"not one line: {said.err[:200]!r} {said.out[:200]!r}"
    return said.code, "" if _state(home) == before else "something was written"


def _unsound(home: Path) -> str:
    """Return what is wrong with a collection that took a file in; '' where nothing is."""
    for words in (("today",), ("verify",), ("export",)):
        try:
            said = carecal(*words, home=home)
        except Exception as error:  # noqa: BLE001 - what it is stands in the table
            return f"{words[0]} afterwards: {traceback.format_exception_only(error)[-1].strip()}"
        if said.code:
            return f"{words[0]} afterwards: {said.out or said.err}"
    return ""
