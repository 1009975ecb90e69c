"""The house by the harbour, told to the command line by CARECAL_HOME."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from carecal.cli.main import run

Say = Callable[..., list[str]]


@pytest.fixture
def quay(quay_once: Path, home: Path) -> Path:
    """Return a copy of the house's folder, which CARECAL_HOME names."""
    shutil.copytree(quay_once, home)
    return home


@pytest.fixture
def say(quay: Path, capsys: pytest.CaptureFixture[str]) -> Say:
    """Return a function that says a command as on the command line and returns the lines printed; it must succeed."""
    assert quay.is_dir()

    def said(*words: str) -> list[str]:
        capsys.readouterr()
        code = run(list(words))
        out, err = capsys.readouterr()
        assert (code, err) == (0, "")
        return out.splitlines()

    return said
