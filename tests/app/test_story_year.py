"""A plant's story and a year's balance: what they tell, against the journal and against a second library's numbers."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from types import SimpleNamespace

import pytest

from carecal.app import Collection
from carecal.app.documents.story import story_lines, story_of
from carecal.app.documents.year import _survival, year_lines, year_of
from carecal.collection.entries import Observed, Potted, Retired
from carecal.errors import UnknownName
from tests.stories.quay import TODAY, make_quay, moment

DAYS = (400, 120, 365, 30, 500, 90, 720, 250, 365, 610, 45, 800)
LOST = (0, 1, 0, 1, 0, 0, 0, 1, 0, 1, 1, 0)


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the house with a plant that was repotted, counted, and one that was lost."""
    folder = tmp_path_factory.mktemp("story") / "home"
    make_quay(folder)
    with Collection.open(folder) as collection:
        day = date(2026, 10, 1)
        collection.record(
            Potted(on=day, plant="gable", medium="bark", container="clear-plastic", size_cm=11),
            now=moment(day),
        )
        later = date(2026, 10, 15)
        collection.record(Observed(on=later, plant="gable", roots=6, leaves=5), now=moment(later))
        collection.record(
            Retired(on=later, plant="winch", because="lost", note="no root came"), now=moment(later)
        )
    return folder


def test_a_story_tells_pots_counts_and_cares_in_order(house: Path) -> None:
    """Moss, then bark since 1 October; the counted roots; no care one by one; the journal's days."""
    with Collection.open(house, readonly=True) as collection:
        story = story_of(collection, moment(TODAY), "gable")
    assert [(p["from"], p["what"]) for p in story["pots"]] == [
        ("2026-09-01", "moss in 9 cm clear plastic"),
        ("2026-10-01", "bark in 11 cm clear plastic"),
    ]
    assert [e["kind"] for e in story["events"]] == ["added", "potted", "observed"]
    assert story["events"][-1]["text"] == "6 living roots, 5 leaves"
    assert ("2026-10-15", "roots", 6) in [(c["on"], c["what"], c["value"]) for c in story["counts"]]
    assert story["cares"] == [{"care": "watering", "times": 1}]  # of the round of 3 October
    assert story["days"] == 50
    assert "Potted into bark in 11 cm clear plastic" in "\n".join(story_lines(story))


def test_a_story_of_one_that_left_ends_on_its_day(house: Path) -> None:
    """It is told up to the loss, with the reason; an unknown plant has none."""
    with Collection.open(house, readonly=True) as collection:
        story = story_of(collection, moment(TODAY), "winch")
        assert (story["until"], story["left_because"]) == ("2026-10-15", "lost")
        assert story["events"][-1]["text"] == "Left the collection, lost: no root came"
        assert "left 15 October 2026 (lost)" in next(iter(story_lines(story)))
        with pytest.raises(UnknownName, match="kraken"):
            story_of(collection, moment(TODAY), "kraken")


def test_a_year_counts_who_came_lives_and_was_lost(house: Path) -> None:
    """Five came, four are here, one was lost, with its reason; counted by hand from the story."""
    with Collection.open(house, readonly=True) as collection:
        found = year_of(collection, moment(TODAY), 2026)
    assert (len(found["came"]), found["living"], len(found["lost"])) == (5, 4, 1)
    assert found["lost"][0]["note"] == "no root came"
    by_stage = {
        row["what"]: (row["lost"], row["of"], row["few"]) for row in found["shares"]["stage on arrival"]
    }
    assert by_stage == {"established": (0, 2, True), "rooting in": (0, 2, True), "rootless": (1, 1, True)}
    assert found["care"]["days"] == 6
    said = "\n".join(year_lines(found))
    assert "too few to say anything" in said
    assert "Winch on 15 October: no root came" in said


def test_a_year_before_anything_is_empty(house: Path) -> None:
    """No plant, no share, no survival."""
    with Collection.open(house, readonly=True) as collection:
        found = year_of(collection, moment(TODAY), 2020)
    assert (found["there"], found["survival"]) == (0, None)


def test_survival_is_that_of_a_second_library() -> None:
    """Twelve plants, five lost: share and interval at 365 days as lifelines 0.30.3 gives them (run)."""
    entered = date(2020, 1, 1).toordinal()
    today = date.fromordinal(entered + 900)
    lines = [
        SimpleNamespace(
            entered=entered, retired=entered + days, retired_because="lost" if lost else "given-away"
        )
        for days, lost in zip(DAYS, LOST, strict=True)
    ]
    found = _survival(lines, today)  # type: ignore[arg-type]
    assert found is not None
    assert found["share"] == pytest.approx(0.6481481481, abs=1e-9)
    assert found["low"] == pytest.approx(0.309662, abs=1e-6)
    assert found["high"] == pytest.approx(0.851798, abs=1e-6)
