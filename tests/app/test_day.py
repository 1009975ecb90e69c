"""The round as it stood in the morning, and what was answered since; oracle: what was ticked, named in each test."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from carecal.app import Collection, Now
from carecal.app.actions.care import WETTINGS, done, leave
from carecal.app.actions.corrections import undo
from carecal.app.actions.whole_round import done_round
from carecal.app.documents.day import day_round
from carecal.collection.entries import Observed
from tests.stories.quay import TODAY, moment


def _later(minutes: int) -> Now:
    now = moment(TODAY)
    later = now.written + timedelta(minutes=minutes)
    return replace(now, written=later, clock=later)


@pytest.fixture
def collection(quay_copy: Path) -> Iterator[Collection]:
    """Return the five plants by the harbour on a care day."""
    with Collection.open(quay_copy) as opened:
        yield opened


def _rows(collection: Collection, day: date = TODAY) -> list[dict[str, Any]]:
    document, _ = day_round(collection, moment(day))
    return [row for found in document["rounds"] if found["on"] == document["as_of"] for row in found["tasks"]]


def _first(collection: Collection) -> dict[str, Any]:
    return next(row for row in _rows(collection) if row["care"] in WETTINGS)


def test_a_tick_leaves_every_row_in_its_place(collection: Collection) -> None:
    """The list after a tick is the list before it; the row's task is answered by the entry that was written."""
    before, row = _rows(collection), _first(collection)
    made = collection.record(
        *done(collection, _later(10), row["care"], [row["plant"]], task=row["task"]), now=_later(10)
    ).records[0]
    document, answers = day_round(collection, moment(TODAY))
    assert _rows(collection) == before
    assert (answers[row["task"]].entry, answers[row["task"]].kind) == (made.n, "done")
    assert (answers[row["task"]].at, answers[row["task"]].by) == ("09:10", "owner")
    assert document["as_of"] == TODAY.isoformat()


def test_a_tick_without_a_task_answers_the_row_all_the_same(collection: Collection) -> None:
    """`done CARE ID` on the command line takes the slot that stands open, so its row is answered."""
    row = _first(collection)
    collection.record(*done(collection, _later(1), row["care"], [row["plant"]]), now=_later(1))
    assert day_round(collection, moment(TODAY))[1][row["task"]].kind == "done"


def test_taking_back_opens_the_row_again(collection: Collection) -> None:
    """An answer that was taken back is none."""
    row, before = _first(collection), _rows(collection)
    former = day_round(collection, moment(TODAY))[1]
    entry = collection.record(
        *leave(collection, _later(1), row["care"], [row["plant"]], task=row["task"]), now=_later(1)
    )
    assert day_round(collection, moment(TODAY))[1][row["task"]].kind == "left"
    collection.record(*undo(collection, _later(2), entry.records[0].n), now=_later(2))
    assert day_round(collection, moment(TODAY))[1] == former
    assert _rows(collection) == before


def test_a_whole_round_answers_every_row_but_the_excepted(collection: Collection) -> None:
    """What was excepted says so; everything else is done."""
    rows = _rows(collection)
    out = rows[0]["plant"]
    collection.record(*done_round(collection, _later(5), excepted=[out]), now=_later(5))
    answers = day_round(collection, moment(TODAY))[1]
    kinds = {row["task"]: answers[row["task"]].kind for row in _rows(collection)}
    assert kinds == {row["task"]: "excepted" if row["plant"] == out else "done" for row in rows}


def test_what_is_no_tick_moves_the_morning(collection: Collection) -> None:
    """An observation counts at once: the look it makes is not asked for any more."""
    day = TODAY + timedelta(days=7)  # Lantern's spike is measured on a day without water for it
    look = next(row for row in _rows(collection, day) if row["care"] == "inspection")
    collection.record(Observed(on=day, plant=look["plant"], tips=1), now=moment(day))
    assert look["task"] not in {row["task"] for row in _rows(collection, day)}
