"""Every way in, with a bounded count of files that somebody broke: one line, code 3 or 4, nothing written, in time."""

from __future__ import annotations

import shutil
from pathlib import Path
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.battery.attempts import attempt, standing
from tests.battery.house import unsound
from tests.battery.mutations import WAYS, Way, mutated, seed_of
from tests.cli.cli_run import done

TRIES = {"absences": 12}  # starts a process of its own each time
USUAL_TRIES = 40


@pytest.fixture(scope="module")
def stands(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A collection and a copy of it, beside each other."""
    return standing(tmp_path_factory.mktemp("battery"))


@pytest.mark.parametrize("way", WAYS, ids=lambda way: way.name)
def test_a_sound_file_comes_in(way: Way, stands: Path, tmp_path: Path) -> None:
    """What is broken below was whole before."""
    home, file = tmp_path / "home", tmp_path / f"file{way.suffix}"
    if not way.is_new:
        shutil.copytree(stands / "quay", home)
    file.write_bytes(seed_of(way, stands / "copy.zip"))
    told = done(*[str(file) if word == "FILE" else word for word in way.words], home=home)
    assert told.code == 0
    assert unsound(home) == ""


@pytest.mark.parametrize("way", WAYS, ids=lambda way: way.name)
def test_a_broken_file_is_refused_in_a_line_or_comes_in_sound(
    way: Way, stands: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """What comes in all the same can be planned and verified."""
    work = tmp_path_factory.mktemp("way")
    seed = seed_of(way, stands / "copy.zip")

    @settings(
        max_examples=TRIES.get(way.name, USUAL_TRIES),
        suppress_health_check=list(HealthCheck),
        deadline=None,
    )
    @given(st.integers(0, 2**32 - 1))
    def tries(number: int) -> None:
        content = mutated(seed, Random(number))  # noqa: S311 - places to damage, no secret
        assert attempt(way, content, stands, work)[1] == ""

    tries()
