"""Pushing into an account on a calendar server; the oracle is what two real servers hold and two readers read."""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from datetime import date
from http.client import HTTPConnection
from pathlib import Path
from typing import Any, cast
from urllib.parse import urlsplit

import pytest
from icalendar import Calendar

from carecal.app import Collection
from carecal.app.publish import named_calendars, publications
from carecal.calendars.caldav_objects import objects_of
from carecal.calendars.web_client import Client
from tests.cli.cli_run import done, quay, refused
from tests.roads.readers import days_by_both, planned_days
from tests.roads.servers import USER, WORD, radicale, xandikos

pytestmark = [pytest.mark.usefixtures("home"), pytest.mark.servers]

UNTIL = "2026-12-31"  # the end of the month that holds the 30th day
SERVERS: dict[str, Callable[[Path], AbstractContextManager[str]]] = {
    "radicale": radicale,
    "xandikos": xandikos,
}


class Account:
    """A calendar on a real server, as another program of the same user sees it."""

    def __init__(self, target: str) -> None:
        self.target = target
        self.parts = urlsplit(target.removeprefix("caldav+"))

    def ask(
        self, method: str, name: str = "", body: bytes | None = None, **headers: str
    ) -> tuple[int, bytes]:
        """Send a request about the calendar, or about one object of it."""
        connection = HTTPConnection("127.0.0.1", self.parts.port or 0, timeout=20)
        login = base64.b64encode(f"{USER}:{WORD}".encode()).decode()
        sent = {
            "Authorization": f"Basic {login}",
            "Content-Type": "text/calendar",
            **{key.replace("_", "-"): value for key, value in headers.items()},
        }
        connection.request(method, self.parts.path + name, body, sent)
        answer = connection.getresponse()
        found = answer.read()
        connection.close()
        return answer.status, found

    def names(self) -> set[str]:
        """Return the names of the objects that the server holds."""
        asked = b'<propfind xmlns="DAV:"><prop><getetag/></prop></propfind>'
        _, body = self.ask("PROPFIND", body=asked, Depth="1", Content_Type="application/xml")
        return {
            word.split("<")[0].rsplit("/", 1)[-1] for word in body.decode().split("href>") if ".ics<" in word
        }

    def part(self, name: str) -> Any:
        """Return the event or to-do of an object."""
        (found,) = [
            p for p in Calendar.from_ical(self.ask("GET", name)[1]).subcomponents if p.name != "VTIMEZONE"
        ]
        return found

    def whole(self) -> bytes:
        """Return all objects as one calendar."""
        whole = Calendar()
        whole.add("VERSION", "2.0")
        whole.add("PRODID", "-//test//test//EN")
        for name in sorted(self.names()):
            whole.subcomponents += Calendar.from_ical(self.ask("GET", name)[1]).subcomponents
        return bytes(whole.to_ical())

    def rewrite(self, name: str, old: bytes, new: bytes) -> None:
        """Change an object as another program would."""
        _, body = self.ask("GET", name)
        assert old in body
        assert self.ask("PUT", name, body.replace(old, new))[0] in {200, 201, 204}


@pytest.fixture(scope="module", params=sorted(SERVERS))
def calendars_at(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Return the address of what holds a user's calendars on each of two servers, which run for all tests here."""
    with SERVERS[request.param](tmp_path_factory.mktemp("server")) as address:
        yield address


@pytest.fixture
def account(calendars_at: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Account:
    """Return an account with a calendar that is not there yet, and a collection with events and one with to-dos."""
    quay()
    done("calendar", "add", "Phone", "--days", "30")
    done("calendar", "add", "Chores", "--as", "todos", "--grouping", "each")
    monkeypatch.setenv("CARECAL_PASSWORD", WORD)
    return Account(f"{calendars_at}/{tmp_path.name}/")


def _push(account: Account, name: str = "Phone", *more: str, as_of: str = "2026-11-25") -> dict[str, int]:
    words = ("--json", "calendar", "publish", name, account.target, "--private", "--user", USER, *more)
    return cast("dict[str, int]", done(*words, as_of=as_of).json["objects"] or {})


def _uids(home: Path, name: str = "Phone") -> set[str]:
    """Return the UIDs of what subscribers of the calendar get."""
    with Collection.open(home) as collection:
        known = named_calendars.calendar_named(collection, name)
        body = collection.journal.connection.execute(
            "select body from published where calendar = ?", (known.id,)
        ).fetchone()[0]
    return set(objects_of(body))


def _count_requests(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    asked: list[str] = []
    send = Client.send

    def counted(self: Client, method: str, *rest: Any) -> Any:
        asked.append(method)
        return send(self, method, *rest)

    monkeypatch.setattr(Client, "send", counted)
    return asked


def test_the_account_holds_one_object_a_uid(account: Account, home: Path) -> None:
    """A calendar that is not there is made; each event stands in it once, and two readers read the plan."""
    counts = _push(account)
    assert account.names() == {f"{uid}.ics" for uid in _uids(home)}
    assert counts == {"created": len(account.names())}
    assert days_by_both(account.whole()) == planned_days(until=UNTIL)


def test_nothing_is_sent_when_nothing_has_changed(account: Account, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second run, and the refresh, ask the server nothing at all."""
    _push(account)
    asked = _count_requests(monkeypatch)
    assert _push(account) == {}
    done("refresh")
    assert asked == []


def test_a_tick_changes_creates_and_deletes_only_what_it_moved(account: Account, home: Path) -> None:
    """After an entry the account holds the new plan, objects that did not change were not sent."""
    _push(account)
    before = {name: account.ask("GET", name)[1] for name in account.names()}
    done("done", "watering", "tide")
    counts = _push(account)
    assert account.names() == {f"{uid}.ics" for uid in _uids(home)}
    assert counts.get("created", 0) == len(account.names() - before.keys())
    assert counts.get("deleted", 0) == len(before.keys() - account.names())
    after = {name: account.ask("GET", name)[1] for name in account.names()}
    assert counts.get("changed", 0) == sum(
        after[name] != before[name] for name in after.keys() & before.keys()
    )
    assert sum(counts.values()) < len(before)
    assert days_by_both(account.whole()) == planned_days(until=UNTIL)


def test_a_refresh_pushes_what_changed(account: Account) -> None:
    """The timer brings the account up to the plan, with the password of the environment."""
    _push(account)
    done("done", "watering", "tide")
    assert f"Phone at {account.target}: fresh" in done("refresh").out
    assert days_by_both(account.whole()) == planned_days(until=UNTIL)


def test_what_is_not_ours_is_never_touched(account: Account) -> None:
    """An event of somebody else in the same calendar stays to the byte, also when all of ours are taken away."""
    _push(account)
    theirs = (
        b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//x//y//EN\r\nBEGIN:VEVENT\r\nUID:own-1\r\n"
        b"DTSTAMP:20261101T000000Z\r\nDTSTART;VALUE=DATE:20261201\r\nSUMMARY:Market\r\nEND:VEVENT\r\n"
        b"END:VCALENDAR\r\n"
    )
    assert account.ask("PUT", "own-1.ics", theirs)[0] == 201
    stored = account.ask("GET", "own-1.ics")
    done("done", "watering", "tide")
    _push(account)
    done("calendar", "publish", "Phone", account.target, "--stop")
    assert account.names() == {"own-1.ics"}
    assert account.ask("GET", "own-1.ics") == stored


def test_what_somebody_added_to_an_object_is_kept(account: Account, home: Path) -> None:
    """Where the ETag no longer fits, our properties win and an alarm and X- property of another program stay."""
    _push(account)
    name = _moved_by_a_tick(account, home)
    alarm = b"BEGIN:VALARM\r\nACTION:DISPLAY\r\nDESCRIPTION:x\r\nTRIGGER:-PT15M\r\nEND:VALARM\r\nEND:VEVENT"
    account.rewrite(name, b"END:VEVENT", b"X-OTHER-COLOUR:blue\r\n" + alarm)
    done("done", "watering", "tide")
    _push(account)
    found = account.part(name)
    assert str(found["X-OTHER-COLOUR"]) == "blue"
    assert len(found.walk("VALARM")) == 1
    assert days_by_both(account.whole()) == planned_days(until=UNTIL)


def _moved_by_a_tick(account: Account, home: Path) -> str:
    """Return the name of an object that a wetting of Tide changes, found by trying."""
    with Collection.open(home) as collection:
        before = publications.publications(collection)[0].sent
    done("done", "watering", "tide")
    _push(account)
    with Collection.open(home) as collection:
        after = publications.publications(collection)[0].sent
    done("undo")
    _push(account)
    changed = [uid for uid in before.keys() & after.keys() if before[uid].digest != after[uid].digest]
    assert changed
    return f"{min(changed)}.ics"


def test_an_object_that_somebody_deleted_comes_back_only_when_it_changes(
    account: Account, home: Path
) -> None:
    """Deleted in the account means not here, not done: it stays away until the plan moves it."""
    _push(account)
    name = _moved_by_a_tick(account, home)
    account.ask("DELETE", name)
    _push(account)
    assert name not in account.names()
    done("done", "watering", "tide")
    _push(account)
    assert name in account.names()


def test_a_to_do_that_was_ticked_in_the_account_is_not_overwritten(account: Account, home: Path) -> None:
    """A tick made on the phone is read first: the object stays as it is, and the grower is told."""
    _push(account, "Chores")
    with Collection.open(home) as collection:
        sent = publications.publications(collection)[0].sent
    todo = next(n for n in sorted(account.names()) if account.part(n).name == "VTODO")
    assert todo.removesuffix(".ics") in sent
    account.rewrite(todo, b"STATUS:NEEDS-ACTION", b"STATUS:COMPLETED")
    with Collection.open(home) as collection:
        (found,) = publications.publications(collection)
        old = found.sent[todo.removesuffix(".ics")]
        found.sent[todo.removesuffix(".ics")] = old._replace(digest="changed since")
        publications.keep_publication(collection, found)
    said = done("refresh").out
    assert f"Chores at {account.target}: fresh; '" in said
    assert "' was ticked there and was left alone; enter it here with carecal done" in said
    assert str(account.part(todo)["STATUS"]) == "COMPLETED"


def test_what_was_sent_before_a_break_is_found_again(account: Account, home: Path) -> None:
    """Where the memory of a push was lost, the objects are found by If-None-Match, none is doubled or sent again."""
    _push(account)
    names = account.names()
    with Collection.open(home) as collection:
        (found,) = publications.publications(collection)
        found.sent.clear()
        publications.keep_publication(collection, found)
    assert _push(account) == {"found": len(names)}
    assert account.names() == names


def test_a_calendar_that_was_deleted_in_the_account_is_made_anew(account: Account) -> None:
    """All of it is sent again as soon as something changes."""
    _push(account)
    account.ask("DELETE")
    done("done", "watering", "tide")
    _push(account)
    assert days_by_both(account.whole()) == planned_days(until=UNTIL)


def test_every_day_of_a_month_the_account_holds_the_plan(account: Account, home: Path) -> None:
    """Day after day the push sends what changed and leaves nothing behind."""
    for day in ("2026-11-25", "2026-11-26", "2026-11-30", "2026-12-01", "2026-12-07"):
        _push(account, as_of=day)
        assert account.names() == {f"{uid}.ics" for uid in _uids(home)}, date.fromisoformat(day)


def test_a_wrong_password_is_refused_in_one_line(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The login's refusal says where to look; the password is not shown, nothing is remembered."""
    quay()
    done("calendar", "add", "Phone")
    monkeypatch.setenv("CARECAL_PASSWORD", "wrong-word")
    folder = home.parent / "server"
    folder.mkdir()
    with radicale(folder) as target:
        said = refused("calendar", "publish", "Phone", f"{target}/care/", "--private", "--user", USER)
    assert "refuses the login (401); check user and password" in said
    assert "wrong-word" not in said
    with Collection.open(home) as collection:
        assert publications.publications(collection) == []
