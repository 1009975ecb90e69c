"""Conditional requests answered without the collection: only while nothing they rest on was written.

Oracle: RFC 9110 13.1.2, and what the collection itself says after each kind of writing.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from carecal.app import Collection
from carecal.app.publish import calendars, named_calendars
from carecal.collection.entries import Done
from tests.stories.quay import TODAY, moment
from tests.web.visitors import Clock, client_of

AGENT = {"user-agent": "QuayReader/3.1"}


class Phone:
    """A phone that holds the calendar's bytes and asks again; it knows how often the collection was opened."""

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self.folder, self.clock, self.opened = folder, Clock(), 0
        with Collection.open(folder) as collection:
            options = calendars.options_of(collection, moment(TODAY), name="Phone")
            self.path = named_calendars.add_calendar(collection, moment(TODAY), "Phone", options)
        self.client: TestClient = client_of(folder, self.clock)
        whole = Collection.open

        def counted(*words: Any, **more: Any) -> Collection:
            self.opened += 1
            return whole(*words, **more)

        monkeypatch.setattr(Collection, "open", counted)
        self.etag = self.client.get(self.path, headers=AGENT).headers["etag"]
        self.let_stand()

    def ask(self, **headers: str) -> tuple[int, bool]:
        """Return the status of a conditional request, and whether the collection was opened for it."""
        before = self.opened
        status = self.client.get(
            self.path, headers={"if-none-match": self.etag, **AGENT, **headers}
        ).status_code
        return status, self.opened > before

    def let_stand(self) -> None:
        """Let the files look as if nothing was written for an hour."""
        for file in self.folder.rglob("*"):
            then = file.stat().st_mtime - 3600
            os.utime(file, (then, then))

    def fetched(self) -> str:
        """Return when the calendar was last fetched and by whom, as the file has it."""
        with Collection.open(self.folder) as collection, closing(collection):
            (known,) = named_calendars.calendars_of(collection)
        return f"{known.fetched:%H:%M} {known.fetched_by}" if known.fetched else ""


@pytest.fixture
def phone(house: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Phone]:
    """Return a phone that has fetched the calendar once and holds its bytes."""
    made = Phone(house, monkeypatch)
    with made.client:
        yield made


def _water(folder: Path) -> None:
    with Collection.open(folder) as collection:
        plant = next(iter(collection.journal.ids()))
        collection.record(Done(on=TODAY, plant=plant, care="watering", felt="right"), now=moment(TODAY))


def _revoke(folder: Path) -> None:
    with Collection.open(folder) as collection:
        named_calendars.revoke_calendar(collection, moment(TODAY), "Phone")


def _own_table(folder: Path) -> None:
    (folder / "shared").mkdir(exist_ok=True)
    (folder / "shared" / "techniques.toml").write_text("", encoding="utf-8")


def test_a_second_look_opens_nothing(phone: Phone) -> None:
    """The first conditional request looks, the next ones do not; all say 304."""
    assert phone.ask() == (304, True)
    assert [phone.ask() for _ in range(3)] == [(304, False)] * 3


@pytest.mark.parametrize(
    ("write", "status"),
    [
        pytest.param(_water, 200, id="an entry makes new bytes"),
        pytest.param(_revoke, 410, id="a revoked calendar is gone"),
        pytest.param(_own_table, 304, id="a table of one's own is read, though it changes nothing"),
    ],
)
def test_whatever_was_written_is_looked_at(phone: Phone, write: Callable[[Path], None], status: int) -> None:
    """By another program, at once."""
    phone.ask()
    assert phone.ask() == (304, False)
    write(phone.folder)
    assert phone.ask() == (status, True)


def test_what_was_written_a_moment_ago_is_not_trusted(phone: Phone) -> None:
    """A file system that tells two seconds apart could hide a second writing; so the collection is opened."""
    os.utime(phone.folder / "collection.db")
    assert [phone.ask() for _ in range(2)] == [(304, True)] * 2


def test_a_new_day_is_planned_anew(phone: Phone) -> None:
    """What stood yesterday answers nobody today."""
    phone.ask()
    phone.clock.now = moment(date.fromordinal(TODAY.toordinal() + 1))
    assert phone.ask() == (200, True)


def test_other_bytes_and_other_addresses_are_not_answered_from_memory(phone: Phone) -> None:
    """Only who holds these bytes is; an address that never was is 404."""
    phone.ask()
    assert phone.ask(**{"if-none-match": '"other"'}) == (200, True)
    assert phone.client.get("/calendar/nobody.ics").status_code == 404


def test_a_fetch_is_noted_once_a_minute_and_each_kind_of_program(phone: Phone) -> None:
    """The note is at most a minute behind, and another program is never hidden."""
    first = phone.fetched()
    phone.ask()
    phone.clock.later(seconds=59)
    phone.ask()
    assert phone.fetched() == first
    phone.clock.later(seconds=1)
    phone.ask()
    assert phone.fetched() == f"{phone.clock.now.clock:%H:%M} QuayReader"
    phone.let_stand()
    assert [phone.ask() for _ in range(2)] == [(304, True), (304, False)]
    phone.ask(**{"user-agent": "Quayside/1"})
    assert phone.fetched() == f"{phone.clock.now.clock:%H:%M} Quayside"
