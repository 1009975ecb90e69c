"""What the round says to type once a step was done: it is a command, and it takes the step off the round."""

from __future__ import annotations

import re
import tomllib
from datetime import date, timedelta
from pathlib import Path

import pytest

from carecal.cli.table import COMMANDS
from carecal.wording.steps import told_by
from tests.cli.cli_run import done

JUNE = date(2026, 6, 1)
UNTOLD = {"first-feed", "hardening", "soaking-clay"}  # fed, moved or potted: that tells it
FOLDER = Path(__file__).parents[2] / "shared"
STEPS = [
    *tomllib.loads((FOLDER / "steps.toml").read_text(encoding="utf-8")),
    *tomllib.loads((FOLDER / "spike_steps.toml").read_text(encoding="utf-8")),
    "putting-up-shade",
    "taking-down-shade",
]


def said(*words: str, on: date = JUNE) -> str:
    """Say a command on a day and return what it prints."""
    return done(*words, as_of=on.isoformat()).out


@pytest.mark.parametrize("step", STEPS)
def test_every_step_names_the_command_that_ends_it(step: str) -> None:
    """Its first words are a command that there is; three steps end by another entry."""
    words = told_by(step, "tide", "sill").split()
    assert (not words) == (step in UNTOLD)
    assert not words or words[1] in COMMANDS


def test_what_is_printed_under_a_step_ends_it(home: object) -> None:
    """In June a south window asks for shade, a spike for a decision: each is typed as printed."""
    assert home
    said("init", "Quay", "--latitude", "52.5", "--longitude", "10", "--timezone", "Europe/Berlin")
    said("place", "add", "sill", "--kind", "warm-sill", "--aspect", "S")
    said("plant", "add", "tide", "--medium", "bark", "--container", "plastic", "--size", "12", "--place", "sill",
         "--roots", "6", "--leaves", "5", "--flowering", "in-spike", "--watered", "yesterday")  # fmt: skip
    later = JUNE + timedelta(days=3)
    before = said("today", on=later)
    told = re.findall(r"^    done: carecal (.*)$", before, re.MULTILINE)
    assert told == ["spike tide cut, or keep, or let-run", "place shade sill --up"]
    for words in told:
        said(*words.split(",")[0].split(), on=later)
    assert "    done: " not in said("today", on=later)
