"""Sitters and what they are told; oracle: the plants, and that a sheet shows only its days and ends by itself."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from carecal.app import Collection, Now
from carecal.app.actions.care import done
from carecal.app.actions.spans import pause
from carecal.app.actions.states import aid, reservoir
from carecal.app.people.sitter_sheet import sheet_lines, sitter_sheet
from carecal.app.people.sitters import Sitter, add_sitter, end_sitter, find_sitter, sitters_of
from carecal.errors import Refused, UnknownName
from tests.stories.quay import TODAY, moment

WETTINGS = {"watering", "refilling", "feeding", "flushing", "moistening"}
LAST = TODAY + timedelta(days=9)


@pytest.fixture
def collection(quay_copy: Path) -> Iterator[Collection]:
    """Return the five plants by the harbour on a care day."""
    with Collection.open(quay_copy) as opened:
        yield opened


def _on(day: date) -> Now:
    return moment(day)


def _added(collection: Collection, start: date = TODAY, until: date = LAST) -> Sitter:
    token = add_sitter(collection, moment(TODAY), "Ada", start, until).rpartition("/")[2]
    found = find_sitter(collection, token)
    assert found is not None
    return found


def test_an_address_ends_by_itself_after_its_last_day(collection: Collection) -> None:
    """The last day is included; the day after, it is over."""
    sitter = _added(collection, TODAY + timedelta(days=2))
    assert [sitter.is_over(LAST), sitter.is_over(LAST + timedelta(days=1))] == [False, True]
    assert [s.name for s in sitters_of(collection, _on(LAST))] == ["Ada"]
    assert sitters_of(collection, _on(LAST + timedelta(days=1))) == []


def test_an_address_is_ended_by_hand(collection: Collection) -> None:
    """It is known still, so that who asks is told that it is over."""
    token = add_sitter(collection, moment(TODAY), "Ada", TODAY, LAST).rpartition("/")[2]
    end_sitter(collection, moment(TODAY), "ada")
    found = find_sitter(collection, token)
    assert found is not None
    assert found.is_over(TODAY)
    with pytest.raises(UnknownName, match="no sitter named 'Ada'"):
        end_sitter(collection, moment(TODAY), "Ada")


def test_no_token_stands_in_the_file(collection: Collection) -> None:
    """Only its digest is kept; a token that never was is of nobody."""
    token = add_sitter(collection, moment(TODAY), "Ada", TODAY, LAST).rpartition("/")[2]
    assert token not in "\n".join(collection.journal.connection.iterdump())
    assert len(token) == 32  # 192 bits
    assert find_sitter(collection, "x" * 32) is None


@pytest.mark.parametrize(
    ("name", "start", "until", "match"),
    [
        ("", TODAY, LAST, "has no name that fits"),
        ("owner", TODAY, LAST, "has no name that fits"),
        ("<b>Ada", TODAY, LAST, "has no name that fits"),
        ("Ada\nBo", TODAY, LAST, "has no name that fits"),
        ("Ada", LAST, TODAY, "is before the first"),
        ("Ada", TODAY - timedelta(days=9), TODAY - timedelta(days=1), "is past"),
        ("Ada", TODAY, TODAY + timedelta(days=120), "allowed are up to 120"),
    ],
    ids=["no name", "the owner's name", "a tag", "two lines", "backwards", "behind", "too long"],
)
def test_a_sitter_that_cannot_be_is_refused(
    collection: Collection, name: str, start: date, until: date, match: str
) -> None:
    """In one line, and nothing is kept."""
    with pytest.raises(Refused, match=match):
        add_sitter(collection, moment(TODAY), name, start, until)
    assert sitters_of(collection, moment(TODAY)) == []


def test_two_sitters_of_one_name_are_refused(collection: Collection) -> None:
    """Ticks are told by name, so a name is one person's."""
    _added(collection)
    with pytest.raises(Refused, match="'ADA' has an address already"):
        add_sitter(collection, moment(TODAY), "ADA", TODAY, LAST)


def _visited(sheet: dict[str, Any]) -> list[date]:
    return [date.fromisoformat(found["on"]) for found in sheet["days"]]


def test_the_sheet_shows_only_those_days(collection: Collection) -> None:
    """The first is the first care day of the plan, then nobody comes oftener than every third day."""
    sitter = _added(collection, TODAY + timedelta(days=1), TODAY + timedelta(days=12))
    days = _visited(sitter_sheet(collection, moment(TODAY), sitter))
    wettings = [t.on for t in collection.plan(TODAY).tasks if t.care in WETTINGS and t.on >= sitter.start]
    assert days[0] == min(wettings)
    assert len(days) > 2
    assert all(later - earlier >= timedelta(days=3) for earlier, later in pairwise(days))
    assert days[-1] <= sitter.until


def test_a_visit_that_was_made_moves_the_next_one(collection: Collection) -> None:
    """Who came on the first day comes again on the third after it at the soonest; the day itself stays on the sheet."""
    sitter = _added(collection)
    first = _visited(sitter_sheet(collection, moment(TODAY), sitter))[0]
    assert first == TODAY
    collection.record(*done(collection, moment(TODAY), "watering", ["tide"]), now=moment(TODAY), by="Ada")
    assert _visited(sitter_sheet(collection, moment(TODAY), sitter))[0] == TODAY
    later = moment(TODAY + timedelta(days=1))
    assert _visited(sitter_sheet(collection, later, sitter))[0] >= TODAY + timedelta(days=3)


def test_what_not_to_do_stands_first_and_names_the_plants(collection: Collection) -> None:
    """A reservoir emptied on purpose, a wrapped plant, one without roots, a paused care."""
    collection.record(*reservoir(collection, moment(TODAY), "pebble", "empty"), now=moment(TODAY))
    collection.record(*aid(collection, moment(TODAY), "gable", "wrap"), now=moment(TODAY))
    collection.record(*pause(collection, moment(TODAY), "feeding", until=LAST), now=moment(TODAY))
    sheet = sitter_sheet(collection, moment(TODAY), _added(collection))
    told = sheet["do_not"]
    assert told[0] == "Do not fill the reservoir of Pebble (East sill): it is EMPTY ON PURPOSE."
    assert any("Do not water Gable" in line and "wrap" in line for line in told)
    assert any("Do not water the pot of Winch" in line for line in told)
    assert f"Do not feed any plant: that is paused until {LAST.day} October." in told
    lines = list(sheet_lines(sheet))
    assert lines.index("DO NOT") < lines.index("WHERE THINGS STAND")
    assert lines.index("DO NOT") == 2


def test_the_sheet_says_where_everything_stands(collection: Collection) -> None:
    """Each living plant stands under the name of its place, once."""
    sheet = sitter_sheet(collection, moment(TODAY), _added(collection))
    found = {place["name"]: [plant["plant"] for plant in place["plants"]] for place in sheet["places"]}
    assert found == {"Bathroom shelf": ["gable", "winch"], "East sill": ["tide", "pebble", "lantern"]}


def test_a_sheet_of_days_ahead_ticks_nothing_today(collection: Collection) -> None:
    """Today's answers belong to today's list alone."""
    later = replace(moment(TODAY), day=TODAY)
    sheet = sitter_sheet(collection, later, _added(collection, TODAY + timedelta(days=3)))
    assert sheet["answers"] == {}
