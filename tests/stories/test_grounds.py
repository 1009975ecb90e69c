"""`why ID --all`: what a plan rests on, and that the command it prints takes the other side of a conflict."""

from __future__ import annotations

import shlex

import pytest

from tests.cli.cli_run import done, plant, start

DAY = "2026-11-25"

pytestmark = pytest.mark.usefixtures("home")


def test_our_choices_and_the_sides_that_this_plan_asked_about_are_said() -> None:
    """A plant in moss is asked about moss, one in bark not; mites and rot only where they are; oracle: sides.toml."""
    start()
    plant("tide", "--stage", "established", "--roots", 6, "--longest", 120, "--watered", "2026-11-20")
    plant("gull", "--stage", "established", "--watered", "2026-11-20", pair="moss/plastic")
    said = done("why", "tide", "--all").out
    assert "Our choice alone:\n  How air, warmth and light dry a pot: our choice, because nobody" in said
    assert "Feeding gate quarantine: our choice, because roots are looked at before they are fed" in said
    asked = {row["key"] for row in done("--json", "why", "tide").json["grounds"]["sides"]}
    of_moss = {row["key"] for row in done("--json", "why", "gull").json["grounds"]["sides"]}
    assert {"winter-feed", "light-yardstick"} <= asked
    assert of_moss - asked == {"moss-dryness", "moss-life"}
    assert not asked & {"mite-watch", "crown-water-days", "milt-night"}
    assert "Growers differ" not in done("why", "tide").out


def test_the_command_that_is_printed_takes_the_other_side_and_back() -> None:
    """It is typed as it stands: the plan of that plant alone differs; undo brings it back."""
    start()
    plant("tide", "--stage", "established", "--watered", "2026-11-20")
    done("observe", "tide", "--seen", "flat-mite")
    said = done("why", "tide", "--all").out
    assert "How long flat-mite is watched for: in part our choice" in said
    line = next(line for line in said.splitlines() if "How long is a plant watched for mites?" in line)
    command = line.partition("To change it: carecal ")[2]
    assert command == "side mite-watch a --plant tide"
    done(*shlex.split(command))
    assert "Here: one rule for all mites, 28 days (you chose it)" in done("why", "tide", "--all").out
    done("undo")
    assert "Here: web mites 28 days, flat mites 90, because" in done("why", "tide", "--all").out
