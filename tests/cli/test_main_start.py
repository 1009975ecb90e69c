"""How the program starts: shell completion, and what it imports for the everyday command."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from carecal.cli.table import COMMANDS
from tests.cli.cli_run import done, start, tide

FORBIDDEN = {
    "pydantic",
    "icalendar",
    "starlette",
    "jinja2",
    "PIL",
    "segno",
    "uvicorn",
    "argon2",
}  # ecosystem §11


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_sources_are_printed(shell: str) -> None:
    """Each shell gets its script, and nothing else is printed at start."""
    found = subprocess.run(
        [sys.executable, "-m", "carecal"],
        env={**os.environ, "_CARECAL_COMPLETE": f"{shell}_source"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert found.returncode == 0, found.stderr
    assert "_CARECAL_COMPLETE" in found.stdout
    assert found.stderr == ""


def _completions(words: str, at: int) -> list[str]:
    env = {**os.environ, "_CARECAL_COMPLETE": "bash_complete", "COMP_WORDS": words, "COMP_CWORD": str(at)}
    found = subprocess.run(
        [sys.executable, "-m", "carecal"], env=env, capture_output=True, text=True, check=False
    )
    assert (found.returncode, found.stderr) == (0, "")
    return [line.partition(",")[2] for line in found.stdout.splitlines() if line]


@pytest.mark.usefixtures("home")
def test_ids_are_completed_from_the_collection() -> None:
    """Plants and places are offered by their ids; commands by their names."""
    start()
    tide()
    assert _completions("carecal plant show ti", 3) == ["tide"]
    assert _completions("carecal place show s", 3) == ["sill"]
    assert "calendar" in _completions("carecal cal", 1)


def test_completion_never_fails_without_a_collection(home: Path) -> None:
    """Where nothing can be read, nothing is offered and nothing is made."""
    assert _completions("carecal plant show ti", 3) == []
    assert not home.exists()


def test_today_starts_without_heavy_modules(home: Path) -> None:
    """`carecal today` on a collection that was planned once imports none of the forbidden modules (ecosystem §11)."""
    start()
    tide()
    done("today")
    found = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "carecal", "--as-of", "2026-11-26", "today"],
        env={**os.environ, "CARECAL_HOME": str(home)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert found.returncode == 0, found.stderr
    imported = {line.rpartition("|")[2].strip().split(".")[0] for line in found.stderr.splitlines()}
    assert "click" in imported  # the report was read
    assert imported & FORBIDDEN == set()


def test_main_alone_imports_no_command() -> None:
    """Importing the frame loads no command and none of the heavy modules."""
    code = "import sys, carecal.cli.main; print(*sys.modules)"
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = found.stdout.split()
    assert {name.split(".")[0] for name in loaded} & FORBIDDEN == set()
    assert {row.module for row in COMMANDS.values()} & set(loaded) == set()
