"""Listening to accounts elsewhere; oracle: the journal, and what Radicale holds as the caldav library reads it."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from carecal.app import Collection
from carecal.app.publish import listening, publications
from carecal.calendars.addresses import parse_address
from carecal.calendars.caldav_listing import ASK_LISTING, etags_in
from carecal.calendars.web_client import Client, Login, Unreachable
from carecal.cli import context
from carecal.collection.records import Record
from carecal.errors import Refused
from tests.cli.cli_run import DAY, carecal, done, journal, plant, start
from tests.roads.servers import USER, WORD, needs, radicale

pytestmark = [
    pytest.mark.servers,
    pytest.mark.usefixtures("home"),
    pytest.mark.filterwarnings("ignore::ResourceWarning", "ignore::DeprecationWarning"),
]


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Return what holds a user's calendars on a server that runs for all tests here."""
    with radicale(tmp_path_factory.mktemp("server")) as address:
        yield address


WETTINGS = {"WATERING", "FEEDING", "FLUSHING"}


class Elsewhere:
    """A calendar of to-dos on a server elsewhere, as a task program of the same user sees it."""

    def __init__(self, target: str) -> None:
        address = target.removeprefix("caldav+")
        self.target = target
        self.client = needs("caldav").DAVClient(address, username=USER, password=WORD)
        self.calendar = self.client.calendar(url=address)
        self.names: dict[str, str] = {}

    def all(self) -> list[Any]:
        """Return every to-do that stands there."""
        return list(self.calendar.todos(include_completed=True))

    def wettings(self, name: str) -> list[Any]:
        """Return the open wettings of a plant."""
        found = [(todo, todo.icalendar_component) for todo in self.all()]
        return [
            todo
            for todo, part in found
            if name in part["SUMMARY"]
            and part["STATUS"] != "COMPLETED"
            and WETTINGS & {str(word) for word in part["CATEGORIES"].cats}
        ]

    def todo(self, name: str) -> Any:
        """Return the to-do that was an open wetting of a plant when it was first asked for."""
        if name not in self.names:
            self.names[name] = str(self.wettings(name)[0].icalendar_component["UID"])
        (found,) = [todo for todo in self.all() if todo.icalendar_component["UID"] == self.names[name]]
        return found

    def state(self, name: str) -> tuple[str, str]:
        """Return status and title of a plant's wetting."""
        part = self.todo(name).icalendar_component
        return str(part.get("STATUS", "")), str(part["SUMMARY"])

    def change(self, name: str, **properties: Any) -> None:
        """Write properties into a plant's wetting."""
        todo = self.todo(name)
        with todo.edit_icalendar_component() as part:
            for key, value in properties.items():
                part.pop(key.replace("_", "-"), None)
                part.add(key.replace("_", "-"), value)
        todo.save()


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of a house with two plants and to-dos that have an address, to copy from."""
    folder = tmp_path_factory.mktemp("house") / "home"
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("CARECAL_HOME", str(folder))
        start()
        plant("rose", "--stage", "established", "--came", "2025-06-01", "--watered", "20 days ago")
        plant("dory", "--stage", "established", "--came", "2025-06-01", "--watered", "yesterday")
        done("calendar", "add", "Chores", "--as", "todos", "--grouping", "each", "--days", "30")
        done("calendar", "add", "Rounds")
        done("refresh")
    return folder


@pytest.fixture
def phone(
    house: Path, home: Path, shelf: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Elsewhere]:
    """The house, its to-dos published in an account elsewhere."""
    shutil.copytree(house, home)
    monkeypatch.setenv("CARECAL_PASSWORD", WORD)
    target = f"{shelf}/{tmp_path.name}/"
    done("calendar", "publish", "Chores", target, "--private", "--user", USER)
    found = Elsewhere(target)
    yield found
    found.client.close()


OWN = (
    "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//x//y//EN\r\nBEGIN:VTODO\r\nUID:own-1\r\nDTSTAMP:20261101T000000Z\r\n"
    "SUMMARY:Buy bark\r\nSTATUS:COMPLETED\r\nEND:VTODO\r\nEND:VCALENDAR\r\n"
)


def _told(home: Path) -> list[Record]:
    return [record for record in journal(home) if record.by == "Chores"]


def _listened(**words: Any) -> dict[str, Any]:
    rows = done("--json", "refresh", "--listen", **words).json
    return next(row for row in rows if row["target"])


def test_what_is_completed_there_is_done_here_once(phone: Elsewhere, home: Path) -> None:
    """The caldav library completes "Rose"; the log says so by the calendar's name, and it stands there as done."""
    phone.todo("Rose").complete()
    assert "1 tick from there entered" in done("refresh", "--listen").out
    (entry,) = _told(home)
    assert (entry.kind, entry.on.isoformat()) == ("done", DAY)
    assert "rose" in done("log", "rose").out.splitlines()[-1]
    assert phone.state("Rose")[0] == "COMPLETED"
    assert _listened()["entries"] == 0
    assert len(_told(home)) == 1
    uids = [str(todo.icalendar_component["UID"]) for todo in phone.all()]
    assert len(uids) == len(set(uids))


def test_nothing_is_heard_unless_it_is_asked_for(phone: Elsewhere, home: Path) -> None:
    """A refresh without --listen enters nothing, as before."""
    phone.todo("Rose").complete()
    done("refresh")
    assert _told(home) == []


def test_what_is_taken_back_there_is_undone(phone: Elsewhere, home: Path) -> None:
    """Opened again in the program, the entry is taken back, and the to-do is open at its next look."""
    phone.todo("Rose").complete()
    _listened()
    phone.todo("Rose").uncomplete()
    assert _listened()["entries"] == 1
    assert [entry.kind for entry in _told(home)] == ["done", "undone"]
    assert phone.state("Rose")[0] == "NEEDS-ACTION"


def test_done_here_and_written_to_there_is_not_taken_back(phone: Elsewhere, home: Path) -> None:
    """A to-do that stands open there because nobody has told yet says nothing about what was done here."""
    done("done", "watering", "rose")
    phone.change("Rose", location="sill")
    assert _listened()["entries"] == 0
    assert [entry.kind for entry in _told(home)] == []
    assert phone.state("Rose")[0] == "COMPLETED"


def test_a_later_wetting_that_is_ticked_first_is_the_care_that_was_given(
    phone: Elsewhere, home: Path
) -> None:
    """Feeding due after a watering, ticked today: she fed it today, once however often it is looked at."""
    first, *_, later = sorted(phone.wettings("Rose"), key=lambda todo: todo.icalendar_component["DUE"].dt)
    care, other = (str(todo.icalendar_component["CATEGORIES"].cats[0]).lower() for todo in (later, first))
    assert care != other
    later.complete()
    assert [_listened()["entries"] for _ in range(2)] == [1, 0]
    assert [(entry.kind, entry.data["care"]) for entry in _told(home)] == [("done", care)]


def test_a_note_typed_there_comes_along_clean(phone: Elsewhere, home: Path) -> None:
    """What stood in the description already does not; control characters go."""
    before = str(phone.todo("Rose").icalendar_component["DESCRIPTION"])
    phone.change("Rose", description=f"{before}\nquite \ufeff dry\a", status="COMPLETED")
    _listened()
    assert [entry.data.get("note") for entry in _told(home)] == ["quite dry"]


def test_all_else_is_put_right_and_means_nothing(phone: Elsewhere, home: Path) -> None:
    """Another title is put right, a deleted to-do comes back, somebody's own to-do and alarm stay."""
    title = phone.state("Rose")[1]
    phone.change("Rose", summary="not Rose any more, Rose")
    phone.todo("Dory").delete()
    phone.calendar.save_todo(OWN)
    assert _listened()["entries"] == 0
    assert (_told(home), phone.state("Rose")) == ([], ("NEEDS-ACTION", title))
    assert phone.state("Dory")[0] == "NEEDS-ACTION"
    (mine,) = [t.icalendar_component for t in phone.all() if t.icalendar_component["UID"] == "own-1"]
    assert (mine["SUMMARY"], mine["STATUS"]) == ("Buy bark", "COMPLETED")


def test_what_a_program_adds_is_looked_at_once_and_kept(
    phone: Elsewhere, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An X- property of another program stays; the next refresh asks for the list alone."""
    phone.change("Rose", X_OTHER_COLOUR="blue")
    _listened()
    asked: list[str] = []
    send = Client.send

    def counted(self: Client, method: str, *rest: Any) -> Any:
        asked.append(method)
        return send(self, method, *rest)

    monkeypatch.setattr(Client, "send", counted)
    _listened()
    assert asked == ["PROPFIND"]
    assert str(phone.todo("Rose").icalendar_component["X-OTHER-COLOUR"]) == "blue"


def test_ticked_there_after_it_was_repotted_here_is_named(phone: Elsewhere, home: Path) -> None:
    """What is no longer to do is told and not entered: the pot it was about is gone."""
    phone.todo("Rose").complete()
    done("pot", "rose", "--medium", "lava", "--container", "net", "--size", "9", "--yes")
    said = done("refresh", "--listen").out
    assert "Rose" in said
    assert "was ticked there, is no longer to do and is not entered" in said
    assert _told(home) == []


@pytest.mark.parametrize("answer", ["nothing", "refused"])
def test_a_tick_that_is_no_entry_is_named_and_open_again(
    phone: Elsewhere, home: Path, monkeypatch: pytest.MonkeyPatch, answer: str
) -> None:
    """A step is not ticked there, and what the journal refuses is told with the reason; the next look shows it open."""

    def made(*_: Any) -> list[Any]:
        if answer == "refused":
            raise Refused("the day does not fit")
        return []

    monkeypatch.setattr(listening, "entries_of", made)
    phone.todo("Rose").complete()
    (note,) = _listened()["notes"]
    assert ("is not entered: the day does not fit" if answer == "refused" else "is open again") in note
    assert (_told(home), phone.state("Rose")[0]) == ([], "NEEDS-ACTION")


@pytest.mark.usefixtures("phone")
def test_a_server_that_is_away_is_told_and_stops_nobody(monkeypatch: pytest.MonkeyPatch) -> None:
    """The calendar itself is fresh, the target's row has the fault, the exit code says that something is wrong."""
    monkeypatch.setenv("CARECAL_PASSWORD", "another word")
    said = carecal("refresh", "--listen")
    assert said.code == 3
    assert "Chores: fresh" in said.out
    assert "refuses the login (401)" in said.out


KILLED = """
import os, sys
from carecal.calendars.web_client import Client
from carecal.cli.main import cli
send, left = Client.send, [int(sys.argv.pop(1))]
def dying(self, *rest):
    left[0] -= 1
    if left[0] < 0:
        os._exit(9)
    return send(self, *rest)
Client.send = dying
cli(sys.argv[1:])
"""


@pytest.mark.usefixtures("phone")
def test_a_push_that_is_killed_goes_on_where_it_stood(
    home: Path, shelf: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Killed after 40 requests: what was remembered is not asked about again, the rest is found or sent, none twice."""
    target = f"{shelf}/{tmp_path.name}-rounds/"
    words = ["--as-of", DAY, "calendar", "publish", "Rounds", target, "--private", "--user", USER]
    ended = subprocess.run(
        [sys.executable, "-c", KILLED, "40", *words], capture_output=True, timeout=60, check=False
    )
    assert ended.returncode == 9, ended.stderr.decode()
    with Collection.open(home) as collection:
        kept = next(p for p in publications.publications(collection) if p.address.endswith("-rounds/"))
    assert len(kept.sent) >= 25
    asked: list[str] = []
    send = Client.send

    def counted(self: Client, method: str, address: Any, *rest: Any) -> Any:
        asked.append(f"{method} {address.path.rsplit('/', 1)[-1]}")
        return send(self, method, address, *rest)

    monkeypatch.setattr(Client, "send", counted)
    monkeypatch.setattr(context, "PROGRESS_AFTER", 0)
    monkeypatch.setattr(context, "PROGRESS_EVERY", 0)
    monkeypatch.setattr(context.Session, "shows_progress", property(lambda _: True))
    said = carecal("--json", *words[2:])
    uids = [line.split()[-1].removesuffix(".ics") for line in asked if line.startswith("PUT")]
    assert not set(uids) & kept.sent.keys()
    left = len(uids)
    assert f"sending {left} of {left}" in said.err.split("\r")
    assert said.json["objects"] == {"found": 13, "created": left - 13}
    client = Client(Login(USER, WORD), private=True)
    answer = client.send(
        "PROPFIND", parse_address(target.removeprefix("caldav+")), ASK_LISTING, {"Depth": "1"}
    )
    assert len(etags_in(answer.body)) == left + len(kept.sent)


def test_a_list_with_a_document_type_is_not_read() -> None:
    """No entity is expanded, whatever the encoding; what is no XML is told."""
    bomb = '<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "c">]><multistatus xmlns="DAV:">&b;</multistatus>'
    for body in (bomb.encode(), bomb.encode("utf-16")):
        with pytest.raises(Unreachable, match="document type"):
            etags_in(body)
    with pytest.raises(Unreachable, match="cannot be read"):
        etags_in(b"<multistatus")


def test_a_list_is_read_whatever_its_prefixes() -> None:
    """RFC 4918 14.24: one response an href; names may be percent-encoded, other files are left out."""
    row = "<x:response><x:href>{}</x:href><x:prop><x:getetag>{}</x:getetag></x:prop></x:response>"
    rows = (
        row.format("/a/", "") + row.format("/a/one%2D1.ics", "W/&quot;7&quot;") + row.format("/a/b.txt", "9")
    )
    assert etags_in(f'<x:multistatus xmlns:x="DAV:">{rows}</x:multistatus>'.encode()) == {"one-1": 'W/"7"'}
