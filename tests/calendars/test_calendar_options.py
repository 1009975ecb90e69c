"""Options of a calendar: their key, their JSON, what is refused. Oracle: the interface's rules, worked by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import time
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carecal.calendars.options import CalendarOptions
from carecal.errors import Refused

OPTIONS = st.builds(
    CalendarOptions,
    grouping=st.sampled_from(["rounds", "each"]),
    form=st.sampled_from(["events", "todos"]),
    plant=st.none() | st.integers(1, 99),
    place=st.none() | st.text(min_size=1, max_size=8),
    care=st.none() | st.sampled_from(["watering", "feeding"]),
    at=st.none() | st.builds(time, st.integers(0, 23), st.integers(0, 59)),
    alarm_minutes=st.none() | st.integers(0, 600),
    days=st.none() | st.integers(1, 400),
    name=st.text(max_size=8),
)


@given(OPTIONS)
def test_options_come_back_from_json(options: CalendarOptions) -> None:
    """Round trip of every field."""
    assert CalendarOptions.from_json(options.to_json()) == options


@given(OPTIONS, OPTIONS)
def test_each_combination_has_a_key_of_its_own(a: CalendarOptions, b: CalendarOptions) -> None:
    """Interface 5: equal keys mean equal options but for the name."""
    assert (a.key() == b.key()) == (replace(a, name="") == replace(b, name=""))


def test_the_key_of_a_plain_calendar_is_stable() -> None:
    """The ledger is found again after years: the text is pinned by hand."""
    assert CalendarOptions(name="Quay").key() == 'write/{"grouping": "rounds"}'
    timed = CalendarOptions(grouping="each", at=time(8), days=30)
    assert timed.key() == 'write/{"at": "08:00", "days": 30, "grouping": "each"}'


@pytest.mark.parametrize(
    ("values", "message"),
    [
        ({"grouping": "weeks"}, "grouping is 'weeks'; allowed: rounds or each"),
        ({"form": "journals"}, "form is 'journals'; allowed: events or todos"),
        ({"days": 0}, "days is '0'; allowed: 1 to 400 days"),
        ({"days": 401}, "days is '401'"),
        ({"alarm_minutes": -1}, "alarm is '-1'; allowed: 0 to 10080 minutes"),
        ({"alarm_minutes": 10081}, "alarm is '10081'"),
        ({"at": time(8, 0, 1)}, "time is '08:00:01'; allowed: hours and minutes"),
    ],
)
def test_options_out_of_range_are_refused(values: dict[str, Any], message: str) -> None:
    """One line: what, the value, what is allowed."""
    with pytest.raises(Refused, match=message):
        CalendarOptions(**values)


def test_unknown_options_are_refused() -> None:
    """A newer program's options are not dropped in silence."""
    with pytest.raises(Refused, match="'tint'; allowed: only the keys"):
        CalendarOptions.from_json('{"grouping": "each", "tint": "red"}')


def test_a_selection_is_told_from_a_whole() -> None:
    """Plant, place and care narrow a calendar; time and form do not."""
    assert not CalendarOptions(at=time(8), form="todos").is_filtered
    assert all(
        o.is_filtered
        for o in (CalendarOptions(plant=1), CalendarOptions(place="x"), CalendarOptions(care="y"))
    )
