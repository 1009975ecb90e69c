"""Stages by counts, and whom an entry concerns; oracle: stages.toml and models G6 by hand, the kinds of entries."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from carecal.catalog.load import load_catalog
from carecal.collection.concerns import concerned, mothers_of
from carecal.collection.records import Record
from carecal.collection.stages import StageRules, next_stage

DAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def rules() -> StageRules:
    """Return the stages in the order of recovery."""
    return sorted(load_catalog().stages.values(), key=lambda stage: stage.order)


@pytest.mark.parametrize(
    ("now", "roots", "longest_mm", "leaves", "stage", "why"),
    [
        (None, None, None, None, None, "nothing was counted"),
        (None, 3, None, 4, None, "roots without a length tell no stage"),
        (None, None, 80, 4, None, "nor does a length without roots"),
        (None, 0, None, None, "rootless", "no roots is rootless, whatever else is missing"),
        (None, 1, 4, None, "rootless", "a root of 4 mm is none to speak of: 5 are asked for"),
        (None, 1, 5, None, "new-tips", "from 5 mm on"),
        (None, 2, 50, None, "rooting-in", "two roots, the longest of 50 mm"),
        (None, 1, 120, 5, "new-tips", "one root is too few for more"),
        (None, 4, 100, None, "rooting-in", "established asks for leaves too"),
        (None, 4, 100, 3, "established", "4 roots, 100 mm and 3 leaves"),
        ("rootless", 4, 100, 3, "established", "several stages at once upwards"),
        ("new-tips", 2, 49, None, "new-tips", "49 mm are not 50"),
        ("rooting-in", 2, 40, None, "rooting-in", "once in, it stays down to 40 mm"),
        ("rooting-in", 2, 39, None, "new-tips", "and leaves under it"),
        ("established", 3, 80, 2, "established", "all at their lower ends"),
        ("established", 2, 80, 2, "rooting-in", "a root fewer"),
        ("established", 3, 79, 2, "rooting-in", "a millimetre shorter"),
        ("established", 3, 80, 1, "rooting-in", "a leaf fewer"),
        ("established", 0, 0, 0, "rooting-in", "downwards one stage at a time"),
        ("established", None, None, None, "established", "a missing count keeps the stage"),
        ("rootless", 0, 0, 0, "rootless", "there is none below"),
    ],
)
def test_the_stage_that_counts_give(
    rules: StageRules,
    now: str | None,
    roots: int | None,
    longest_mm: float | None,
    leaves: int | None,
    stage: str | None,
    why: str,
) -> None:
    """Upwards by all thresholds of a row, downwards by any of the lower ones."""
    assert next_stage(rules, now, roots, longest_mm, leaves) == stage, why


def record(n: int, kind: str, plant: int | None = None, **data: Any) -> Record:
    """Return an entry that is a command of its own."""
    return Record(n, n, kind, plant, DAY, "2026-11-25T09:00:00Z", "owner", data)


EARLIER = [
    record(1, "done", 3, care="watering"),
    record(2, "paused", plants=[4, 5]),
    record(3, "place", place="sill"),
    record(4, "clock-confirmed"),
    record(5, "added", 6, on_mother=3),
]


@pytest.mark.parametrize(
    ("told", "plants"),
    [
        (record(9, "done", 3, care="watering"), {3}),
        (record(9, "added", 7, on_mother=3), {3, 7}),
        (record(9, "paused", plants=[4, 5]), {4, 5}),
        (record(9, "clock-confirmed"), set()),
        (record(9, "place", place="sill"), None),
        (record(9, "rounds-taken", plants=[4], days=[]), None),
        (record(9, "undone", command=1), {3}),
        (record(9, "undone", command=2), {4, 5}),
        (record(9, "undone", command=3), None),
        (record(9, "undone", command=99), None),
        (record(9, "amended", entry=5, changes={"on_mother": 8}), {3, 6, 8}),
        (record(9, "amended", entry=99, changes={}), None),
    ],
)
def test_whom_an_entry_concerns(told: Record, plants: set[int] | None) -> None:
    """Its own plant and those it names; None: everybody, as what is told of a place or not known to be taken back."""
    found = concerned(
        [told],
        lambda command: [each for each in EARLIER if each.command == command],
        lambda entry: [each for each in EARLIER if each.n == entry],
    )
    assert found == plants


def test_every_mother_a_keiki_ever_sat_on_is_known() -> None:
    """By its coming and by what was put right afterwards."""
    told = [*EARLIER, record(6, "amended", entry=5, changes={"on_mother": 8}), record(7, "added", 9)]
    assert mothers_of(told) == {6: {3, 8}}
