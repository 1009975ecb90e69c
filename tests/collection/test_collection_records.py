"""What counts of a journal on a day: undo, amendments and dates, worked by hand."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carecal.collection.records import Record, effective, taken_back


def record(n: int, kind: str = "done", day: int = 1, command: int | None = None, **data: Any) -> Record:
    """An entry of a command of its own, on a day of November."""
    on = date(2026, 11, day)
    return Record(n, command or n, kind, 1, on, "2026-11-30T00:00:00Z", "owner", data)


COUNTED = [
    ([record(1), record(2)], [1, 2], "everything"),
    ([record(1, day=3), record(2, day=2)], [2, 1], "by day, then by number"),
    ([record(1), record(2, "undone", command_=0)], [1], "an undo itself is no event"),
    ([record(1), record(2, "undone", day=2)], [], "a command taken back"),
    ([record(1), record(2, command=1), record(3, "undone")], [], "all entries of a command"),
    ([record(1), record(2, "undone"), record(3, "undone", of=2)], [1], "an undo taken back"),
    ([record(1), record(2, "undone"), record(3, "undone", of=2), record(4, "undone", of=3)], [], "thrice"),
    ([record(1), record(2, day=26)], [1], "what is dated later than the day"),
    ([record(1), record(2, "undone", day=26)], [1], "an undo dated later than the day"),
]


def undoing(records: list[Record]) -> list[Record]:
    """Give each undo of the table its command: the one named, else the first."""
    undone: list[Record] = []
    for one in records:
        data: Mapping[str, Any] = one.data
        if one.kind == "undone":
            data = {"command": 99 if "command_" in data else data.get("of", 1)}
        undone.append(one._replace(data=data))
    return undone


@pytest.mark.parametrize(("records", "numbers", "reason"), COUNTED)
def test_what_counts_on_the_25th(records: list[Record], numbers: list[int], reason: str) -> None:
    """Undone commands and later days are left out; the rest stands in the order of its days."""
    assert [r.n for r in effective(undoing(records), date(2026, 11, 25))] == numbers, reason


def test_an_amendment_replaces_fields_and_the_day() -> None:
    """What is not named stays; the newest amendment of a field wins."""
    records = [
        record(1, care="watering", felt="damp"),
        record(2, "amended", entry=1, changes={"felt": "right"}),
        record(3, "amended", entry=1, changes={"felt": None}, on_day="2026-11-07"),
    ]
    found = effective(records, date(2026, 11, 25))
    assert [(r.n, r.on, r.data) for r in found] == [
        (1, date(2026, 11, 7), {"care": "watering", "felt": None})
    ]


def test_an_amendment_taken_back_or_of_an_undone_entry_changes_nothing() -> None:
    """The entry is again what it was; an entry taken back stays so."""
    records = [record(1, felt="damp"), record(2, "amended", entry=1, changes={"felt": "right"})]
    undo_of_2 = record(3, "undone", command=3)._replace(data={"command": 2})
    undo_of_1 = undo_of_2._replace(data={"command": 1})
    assert effective([*records, undo_of_2], date(2026, 11, 25))[0].data == {"felt": "damp"}
    assert effective([*records, undo_of_1], date(2026, 11, 25)) == []


def test_an_entry_amended_to_a_later_day_does_not_count_yet() -> None:
    """The day that counts is the amended one."""
    records = [record(1), record(2, "amended", entry=1, changes={}, on_day="2026-11-28")]
    assert effective(records, date(2026, 11, 25)) == []
    assert [r.n for r in effective(records, date(2026, 11, 28))] == [1]


@given(
    st.permutations(
        [record(1), record(2), record(3, "undone"), record(4, "undone", of=3), record(5, "undone", of=2)]
    )
)
def test_the_order_in_which_records_are_given_does_not_matter(records: list[Record]) -> None:
    """Numbers, not places, say what came first: 4 takes back 3, so 1 counts; 5 takes back 2."""
    given_so = undoing(records)
    assert taken_back(given_so) == {3, 2}
    assert [r.n for r in effective(given_so, date(2026, 11, 25))] == [1]
