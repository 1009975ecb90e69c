"""Entries that carry what neighbours have taught: comings, pottings and moves alone, and only where three taught."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from carecal.app.priors import with_priors
from carecal.catalog.load import load_catalog
from carecal.collection.entries import Done, Entry, Left, Moved, PlantAdded, Potted
from carecal.errors import UnknownName
from tests.bench import Bench, demo_climates

if TYPE_CHECKING:
    from carecal.planning.planner import Planner

START = date(2025, 3, 1)
DAY = START + timedelta(days=40)


@pytest.fixture
def bench() -> Bench:
    """Return three plants in bark on a sill that each said 'right' thrice, and a fourth one on a shelf."""
    found = Bench(load_catalog(), START)
    for place in ("bedroom-sill", "living-room"):
        found.place(place, demo_climates()[place], START)
    for name, place in (
        ("a", "bedroom-sill"),
        ("b", "bedroom-sill"),
        ("c", "bedroom-sill"),
        ("d", "living-room"),
    ):
        found.write(
            PlantAdded(
                on=START,
                plant=name,
                medium="bark",
                container="plastic",
                size_cm=12,
                place=place,
                stage="established",
                watered=START,
            )
        )
        for n in (1, 2, 3):
            found.write(Done(on=START + timedelta(days=12 * n), plant=name, care="watering", felt="right"))
    return found


def prior(bench: Bench, entry: Entry) -> Any:
    """Return the mean and deviation that an entry is given."""

    def planner(day: date) -> Planner:
        return bench.planner(day)

    def number_of(plant: str) -> int:
        if plant not in "abcd":
            raise UnknownName("plant", plant, [])
        return "abcd".index(plant) + 1

    (found,) = with_priors([entry], planner, number_of)
    return getattr(found, "prior_mean", None), getattr(found, "prior_sd", None)


def newcomer(**more: Any) -> PlantAdded:
    """Return the coming of a fifth plant."""
    values = {
        "on": DAY,
        "plant": "e",
        "medium": "bark",
        "container": "plastic",
        "size_cm": 12,
        "place": "bedroom-sill",
        **more,
    }
    return PlantAdded.model_validate(values)


def test_a_newcomer_and_a_mover_are_taught(bench: Bench) -> None:
    """Both start with the sill's mean; the mover keeps half of its own beside it (models K4)."""
    mean, sd = prior(bench, newcomer())
    assert (mean > 0, sd) == (True, 0.25)
    moved, sd = prior(bench, Moved(on=DAY, plant="d", place="bedroom-sill"))
    assert (moved > mean, sd) == (True, 0.25)


@pytest.mark.parametrize(
    ("entry", "reason"),
    [
        (newcomer(medium="moss"), "nobody stands in moss"),
        (newcomer(medium=None), "its medium is unknown"),
        (newcomer(place="living-room"), "one neighbour is no place"),
        (
            Potted(on=DAY, plant="a", medium="bark", container="plastic", size_cm=12),
            "two others are no place",
        ),
        (Moved(on=DAY, plant="z", place="bedroom-sill"), "the plant is unknown: refused elsewhere"),
        (Left(on=DAY, plant="a", care="watering"), "a look sets no prior"),
    ],
)
def test_others_are_left_as_they_are(bench: Bench, entry: Entry, reason: str) -> None:
    """No prior is written where nobody, too few, or nothing could teach."""
    assert prior(bench, entry) == (None, None), reason


def test_a_prior_that_is_there_stays(bench: Bench) -> None:
    """An imported entry keeps what was written into it."""
    assert prior(bench, newcomer(prior_mean=0.3, prior_sd=0.4)) == (0.3, 0.4)
