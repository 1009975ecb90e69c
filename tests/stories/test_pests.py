"""Pests: mealybugs on Tide are wiped off, again every so many days by their row, until the watch ends."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from carecal.app import Collection
from carecal.cli.main import run
from tests.stories.conftest import Say
from tests.stories.quay import TIDE, TODAY

TREAT = ("treat", TIDE, "--did", "wiped", "--against", "mealybug")
EVERY_COOL, EVERY_WARM = 10, 7  # rescue facts: 10 days cool (common practice), weekly warm (SAOS-QA)


def again_on(folder: Path, day: date) -> list[date]:
    """Return the days on which Tide's looks say that it is wiped again."""
    with Collection.open(folder) as collection:
        plan = collection.plan(day)
    mine = next(view.number for view in plan.plants if view.id == TIDE)
    return sorted(
        t.on for t in plan.tasks if t.plant == mine and "again, as last time" in t.asks and t.on > day
    )


def test_wiping_comes_again_until_the_watch_ends(quay: Path, say: Say) -> None:
    """Nothing is asked before it was done; then within ten days; weekly clean looks end it after the days apart.

    At about 20 °C a generation takes 58 days (KARACA2017) and a week is added: still on after 8 weeks, over after 13.
    """
    say("--as-of", str(TODAY), "observe", TIDE, "--seen", "mealybug")
    assert not again_on(quay, TODAY)
    say("--as-of", str(TODAY), *TREAT)
    first = again_on(quay, TODAY)[0]
    assert TODAY + timedelta(EVERY_WARM) <= first <= TODAY + timedelta(EVERY_COOL + 3)
    day = TODAY
    for week in range(1, 14):
        day += timedelta(7)
        say("--as-of", str(day), "done", "inspection", TIDE)
        if week == 8:
            assert again_on(quay, day)
    assert not again_on(quay, day)


def test_a_cut_is_not_repeated_and_soaking_is_refused(
    quay: Path, say: Say, capsys: pytest.CaptureFixture[str]
) -> None:
    """A cut for scale is done once; a soak is for snails alone, and the refusal names what it is for."""
    say("--as-of", str(TODAY), "observe", TIDE, "--seen", "scale")
    say("--as-of", str(TODAY), "treat", TIDE, "--did", "cut", "--against", "scale")
    assert not again_on(quay, TODAY)
    assert run(["--as-of", str(TODAY), "treat", TIDE, "--did", "soaked", "--against", "scale"]) != 0
    assert "snail-or-slug" in capsys.readouterr().err


def test_no_advice_how_to_feed_it_all_the_same(quay: Path, say: Say) -> None:
    """A shut gate may be held open by hand; with rot or without roots nobody is told how."""
    assert quay.is_dir()
    say(
        "--as-of",
        str(TODAY),
        "pot",
        "gable",
        "--medium",
        "bark",
        "--container",
        "plastic",
        "--size",
        "9",
        "--yes",
    )
    assert "to feed all the same" in "\n".join(say("--as-of", str(TODAY), "why", "gable"))
    say("--as-of", str(TODAY), "observe", "gable", "--seen", "rot", "--where", "leaf")
    for plant in ("gable", "winch"):
        told = "\n".join(say("--as-of", str(TODAY), "why", plant))
        assert "SHUT" in told
        assert "to feed all the same" not in told
