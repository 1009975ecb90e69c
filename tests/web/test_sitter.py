"""The sitter's sheet over HTTP: those days alone, what not to do first, ticks in the sitter's name, its end."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from carecal.app import Collection
from carecal.app.people.sitters import add_sitter, end_sitter
from carecal.collection.entries import Paused, ReservoirSet
from tests.stories.quay import TODAY, moment
from tests.web.visitors import HOUSE, Clock, client_of, entries_of


def _address(folder: Path, days: int = 6, start: int = 0, name: str = "Robin") -> str:
    with Collection.open(folder) as collection:
        first = TODAY + timedelta(days=start)
        return add_sitter(collection, moment(TODAY), name, first, first + timedelta(days=days))


def _row(text: str, plant: str) -> dict[str, str]:
    found = re.search(rf'data-plant="{plant}".*?</form>', text, re.DOTALL)
    assert found is not None
    return dict(re.findall(r'name="(task|care|on|entry)" value="([^"]*)"', found[0]))


def _tick(client: TestClient, path: str, plant: str, **more: str) -> int:
    return client.post(path, data={**_row(client.get(path).text, plant), "do": "done", **more}).status_code


def test_do_not_comes_first(folder: Path) -> None:
    """An empty reservoir, a rootless plant and a pause stand in the list of what not to do, before anything else."""
    with Collection.open(folder) as collection:
        collection.record(ReservoirSet(on=TODAY, plant="pebble", to="empty"), now=moment(TODAY))
        collection.record(Paused(on=TODAY, care="feeding", start=TODAY), now=moment(TODAY))
    path = _address(folder)
    with client_of(folder) as client:
        text = client.get(path).text
    head, _, rest = text.partition('id="list"')
    assert "EMPTY ON PURPOSE" in head
    assert "Do not water the pot of Winch" in head
    assert "Do not feed any plant" in head
    assert "data-plant" not in head
    assert "EMPTY ON PURPOSE" in rest


def test_only_the_days_asked_for_are_shown(folder: Path) -> None:
    """Days after the last one do not stand on the sheet; the owner's pages are not linked."""
    path = _address(folder, days=3)
    with client_of(folder) as client:
        text = client.get(path).text
    days = re.findall(r"<h2>(\w+ \d+ \w+ \d{4})", text)
    assert days[0] == "Wednesday 21 October 2026"
    assert "24 October" in days[-1]
    assert 'href="/plants' not in text
    assert 'href="/settings' not in text


def test_a_tick_is_written_in_the_sitters_name_and_taken_back(folder: Path) -> None:
    """The entry's author is the sitter; taking it back is the sitter's, too."""
    path = _address(folder)
    with client_of(folder) as client:
        assert _tick(client, path, "gable") == 303
        assert entries_of(folder)[-1] == ("done", "Robin")
        row = _row(client.get(path).text, "gable")
        assert client.post(path, data={**row, "do": "undo"}).status_code == 303
        assert entries_of(folder)[-1] == ("undone", "Robin")


def test_a_sitter_takes_back_no_entry_of_the_owner(folder: Path) -> None:
    """What somebody else wrote stays."""
    path, before = _address(folder), entries_of(folder)
    with client_of(folder) as client:
        for entry in ("1", "5", str(len(before))):
            assert client.post(path, data={"do": "undo", "entry": entry}).status_code == 422
    assert entries_of(folder) == before


def test_a_second_tick_is_answered_by_whom_and_when(folder: Path) -> None:
    """The sitter's second tap writes nothing and is told of the first (design rule 19)."""
    path = _address(folder)
    with client_of(folder) as client:
        sent = {**_row(client.get(path).text, "gable"), "do": "done"}
        client.post(path, data=sent)
        before = entries_of(folder)
        again = client.post(path, data=sent)
    assert "lready done 09:00 by Robin" in again.text
    assert entries_of(folder) == before


@pytest.mark.parametrize(
    ("reason", "fields"),
    [
        ("a wetting weeks ahead", {"task": "task/1/1/wetting/9", "care": "watering", "do": "done"}),
        ("a day before", {"task": "task/2/1/wetting/6", "care": "feeding", "do": "done", "on": "2026-10-14"}),
        ("a day ahead", {"task": "task/2/1/wetting/6", "care": "feeding", "do": "done", "on": "2026-10-22"}),
        ("the whole round", {"do": "round"}),
        ("another care", {"task": "task/2/1/wetting/5", "care": "moistening", "do": "done"}),
    ],
)
def test_a_sitter_writes_nothing_but_the_days_list(folder: Path, reason: str, fields: dict[str, str]) -> None:
    """Whatever is sent to the sheet's address, only what stands in it is taken."""
    path, before = _address(folder), entries_of(folder)
    with client_of(folder) as client:
        assert client.post(path, data=fields).status_code == 422, reason
    assert entries_of(folder) == before


def test_the_address_ends_by_itself_and_by_hand(folder: Path) -> None:
    """On the last day it answers, the day after it is gone; an ended one is gone at once; a made-up one is unknown."""
    path, clock = _address(folder, days=2), Clock()
    with client_of(folder, clock) as client:
        clock.now = moment(TODAY + timedelta(days=2))
        assert client.get(path).status_code == 200
        clock.now = moment(TODAY + timedelta(days=3))
        assert client.get(path).status_code == 410
        assert client.post(path, data={"do": "done"}).status_code == 410
        assert client.get("/sitter/" + "x" * 32).status_code == 404
    other = _address(folder, name="Wren")
    with Collection.open(folder) as collection:
        end_sitter(collection, moment(TODAY), "wren")
    with client_of(folder) as client:
        assert client.get(other).status_code == 410


def test_before_the_first_day_it_may_be_read_and_not_ticked(folder: Path) -> None:
    """The sheet can be looked at beforehand; a tick is refused."""
    path, before = _address(folder, start=3), entries_of(folder)
    with client_of(folder) as client:
        assert "Do not" in client.get(path).text
        fields = {"task": "task/2/1/wetting/6", "care": "feeding", "do": "done"}
        assert client.post(path, data=fields).status_code == 422
    assert entries_of(folder) == before


def test_the_sheet_answers_without_a_password_and_carries_the_policy(folder: Path) -> None:
    """Interface, HTTP: sitters' sheets answer though every page is forbidden."""
    path = _address(folder)
    with client_of(folder, host=HOUSE) as client:
        assert client.get("/").status_code == 403
        answer = client.get(path)
    assert answer.status_code == 200
    assert "default-src 'none'" in answer.headers["content-security-policy"]
    assert answer.headers["referrer-policy"] == "no-referrer"
