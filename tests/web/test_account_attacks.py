"""The attack table of calendar accounts: what a stranger or another account's holder sends comes to nothing."""

from __future__ import annotations

import base64
import shutil
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from carecal.app import Collection
from carecal.app.people.accounts import add_account
from carecal.collection.database import FILE_NAME
from tests.stories.quay import TODAY, moment
from tests.web.phones import HEAD, NAME, NAMESPACES, Phone
from tests.web.visitors import client_of

pytest.importorskip("radicale", reason="radicale is not installed (extra 'account')")
pytest.importorskip("a2wsgi", reason="a2wsgi is not installed (extra 'account')")

OTHER = "tablet"
SAID = [b"nocolon", b"\xff\xfe:x", b"a\0b:x", b"*:x", b":", b"x" * 4000]
SECONDS = 5  # the longest that any of it may take; what is refused costs hundredths
MULTIGET = f"<C:calendar-multiget {NAMESPACES}><prop><C:calendar-data/></prop><href>{{}}</href></C:calendar-multiget>"


@pytest.fixture(scope="module")
def phone(quay_once: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Phone]:
    """Return who attacks: a phone with an account at a house where another holds one too; nothing of it may write."""
    folder = tmp_path_factory.mktemp("besieged") / "home"
    shutil.copytree(quay_once, folder)
    with Collection.open(folder) as collection:
        password, other = (add_account(collection, moment(TODAY), name) for name in (NAME, OTHER))
    with client_of(folder) as client:
        listed = client.request(
            "PROPFIND", f"/dav/{OTHER}/todo/", headers={"Depth": "1"}, auth=(OTHER, other)
        ).text
        found = Phone(client, folder, password)
        found.others = next(part for part in listed.split("href>") if ".ics" in part).split("<")[0]
        yield found
        assert found.entries() == []


@pytest.mark.parametrize(
    "method",
    ["PROPFIND", "REPORT", "GET", "HEAD", "PUT", "DELETE", "PROPPATCH", "MKCALENDAR", "MKCOL", "MOVE", "COPY", "LOCK",
     "UNLOCK", "ACL", "POST", "PATCH", "TRACE", "SEARCH", "BIND"],
)  # fmt: skip
def test_anothers_calendar_is_answered_by_no_method(phone: Phone, method: str) -> None:
    """RFC 3744: whatever is asked of another's principal, calendar or to-do, none of its text comes back."""
    for path in (f"/dav/{OTHER}/", f"/dav/{OTHER}/todo/", phone.others):
        answer = phone.ask(method, path, Destination=f"http://127.0.0.1/dav/{NAME}/todo/x.ics")
        assert answer.status_code in {403, 404, 405}, path
        assert "BEGIN:" not in answer.text


@pytest.mark.parametrize(
    "method", ["PROPPATCH", "MKCALENDAR", "MKCOL", "MOVE", "COPY", "LOCK", "ACL", "POST", "PATCH", "BIND"]
)
def test_what_would_change_ones_own_calendars_is_refused(phone: Phone, method: str) -> None:
    """RFC 4918 9, RFC 4791 5.3.1, RFC 3744 8.1, RFC 6638 (no outbox): 403 or 405, never an error of the server."""
    for path in (
        f"/dav/{NAME}/",
        f"/dav/{NAME}/todo/",
        phone.others.replace(OTHER, NAME),
        f"/dav/{NAME}/outbox/",
    ):
        answer = phone.ask(method, path, Destination=f"http://127.0.0.1/dav/{NAME}/care/x.ics")
        assert answer.status_code in {403, 405}, path


@pytest.mark.parametrize(
    "href",
    ["{}", "/dav/kitchen-phone/todo/../../{}", "/dav/kitchen-phone/todo/%2e%2e/%2e%2e/tablet/todo/x.ics", "../../..",
     "/dav/kitchen-phone/todo/../../../etc/passwd", "http://evil.example/x.ics", "//evil.example/dav/", "/etc/passwd",
     f"/dav/kitchen-phone/../../{FILE_NAME}", "/dav/kitchen-phone/todo/..\\..\\x", "/dav/kitchen-phone/todo/%00.ics"],
)  # fmt: skip
def test_no_href_leads_out_of_ones_own_calendars(phone: Phone, href: str) -> None:
    """RFC 4791 7.9: what is asked for in a multiget or by GET and is not one's own is not found."""
    asked = href.format(phone.others.removeprefix("/dav/") if href.startswith("/dav") else phone.others)
    answer = phone.ask("REPORT", f"/dav/{NAME}/todo/", MULTIGET.format(asked))
    assert answer.status_code in {207, 400}
    assert "BEGIN:" not in answer.text
    assert "root:" not in answer.text
    if asked.startswith("/dav"):
        read = phone.ask("GET", asked)
        assert (read.status_code in {400, 403, 404}, "SQLite" in read.text) == (True, False)


BOMB = "".join(
    f'<!ENTITY {name} "{f"&{before};" * 10}">' for before, name in zip("abcdefgh", "bcdefghi", strict=True)
)
ASKED = f"]><propfind {NAMESPACES}><prop><x>"
BROKEN = {
    "entities in entities": f'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa">{BOMB}{ASKED}&i;</x></prop></propfind>',
    "a file as entity": f'<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">{ASKED}&a;</x></prop></propfind>',
    "elements within elements": "<a>" * 14_000 + "</a>" * 14_000,
    "no end": "<propfind",
    "attributes": "<propfind" + "".join(f' a{number}="1"' for number in range(9_000)),
}


@pytest.mark.parametrize("kind", BROKEN)
def test_broken_xml_is_refused_at_once(phone: Phone, kind: str) -> None:
    """400 within seconds: no entity is expanded, no file read, no stack overrun."""
    for method, path in (("PROPFIND", f"/dav/{NAME}/"), ("REPORT", f"/dav/{NAME}/todo/")):
        begun = time.process_time()
        answer = phone.ask(method, path, BROKEN[kind])
        assert (answer.status_code, time.process_time() - begun < SECONDS) == (400, True)
        assert "root:" not in answer.text


@pytest.mark.parametrize("method", ["PUT", "PROPFIND", "REPORT"])
def test_a_body_beyond_any_task_is_refused_unread(phone: Phone, method: str) -> None:
    """RFC 9110 15.5.14: 413 by the length alone; one of unknown length is not read to its end."""
    path = f"/dav/{NAME}/todo/"
    assert phone.ask(method, path, "x" * 100_001).status_code == 413
    taken = []

    def endless() -> Iterator[bytes]:
        for number in range(300):
            taken.append(number)
            yield b"x" * 1000

    answer = phone.client.request(method, path, content=endless(), auth=(NAME, phone.password))
    assert answer.status_code in {207, 400, 403, 413}


def test_depth_infinity_ends_at_ones_own_calendars(phone: Phone) -> None:
    """RFC 4918 9.1: of the house nobody's name is told, of one's own the two calendars and no object."""
    asked = f"<propfind {NAMESPACES}><prop><resourcetype/></prop></propfind>"
    for path, most in (("/dav/", 1), (f"/dav/{NAME}/", 3)):
        answer = phone.ask("PROPFIND", path, asked, Depth="infinity")
        assert answer.text.count("<response>") <= most
        assert OTHER not in answer.text


def test_questions_over_all_times_are_answered_soon(phone: Phone) -> None:
    """RFC 4791 7.8, 9.6.5, 7.10: a range of ten thousand years, expanded, and busy times cost no more than others."""
    span = 'start="00010101T000000Z" end="99991231T000000Z"'
    data = f"<C:calendar-data><C:expand {span}/></C:calendar-data>"
    kind = f'<C:comp-filter name="VEVENT"><C:time-range {span}/></C:comp-filter>'
    query = f'<C:filter><C:comp-filter name="VCALENDAR">{kind}</C:comp-filter></C:filter>'
    begun = time.process_time()
    for body in (
        f"<C:calendar-query {NAMESPACES}><prop>{data}</prop>{query}</C:calendar-query>",
        f"<C:free-busy-query {NAMESPACES}><C:time-range {span}/></C:free-busy-query>",
    ):
        assert phone.ask("REPORT", f"/dav/{NAME}/care/", body, Depth="1").status_code in {200, 207, 400, 403}
    assert time.process_time() - begun < SECONDS


@pytest.mark.parametrize(
    "header",
    ["Basic", "Basic !!!", "basic", "Bearer x", "x" * 5000, "Digest username=kitchen-phone",
     *(f"Basic {base64.b64encode(said).decode()}" for said in SAID)],
)  # fmt: skip
def test_a_login_that_cannot_be_read_is_none(phone: Phone, header: str) -> None:
    """RFC 7617 2, RFC 9110 11.6.1: 401 and how to log in, never an error of the server."""
    with client_of(phone.folder) as client:
        answer = client.request("PROPFIND", f"/dav/{NAME}/", headers={"Authorization": header})
        assert (answer.status_code, answer.headers["www-authenticate"][:5]) == (401, "Basic")


def test_nothing_sent_between_guesses_makes_them_count_anew(phone: Phone) -> None:
    """After three wrong ones the next waits, though what needs no password was asked for in between."""
    with client_of(phone.folder) as client:
        for number in range(3):
            last = client.request("PROPFIND", f"/dav/{NAME}/", auth=(NAME, f"guess {number}")).status_code
            client.get("/dav/", headers={"Authorization": "Bearer x"})
            client.request("OPTIONS", "/dav/")
        assert last == 401
        assert client.request("PROPFIND", f"/dav/{NAME}/", auth=(NAME, "guess")).status_code == 429
        true = client.request("PROPFIND", f"/dav/{NAME}/", auth=(NAME, phone.password))
        assert (true.status_code, int(true.headers["retry-after"]) > 0) == (429, True)


def test_guesses_sent_at_once_wait_like_those_sent_one_by_one(phone: Phone) -> None:
    """Of sixteen at the same time no more are tried than the free ones and the one that waits for nothing."""
    with client_of(phone.folder) as client, ThreadPoolExecutor(16) as many:
        told = list(
            many.map(
                lambda n: client.request("PROPFIND", "/dav/", auth=(NAME, f"guess {n}")).status_code,
                range(16),
            )
        )
    assert sorted(set(told)) == [401, 429]
    assert told.count(401) <= 4


@pytest.mark.parametrize(
    "header", ["X-Script-Name", "X-Remote-User", "Remote-User", "X-Forwarded-Host", "X-Forwarded-Prefix"]
)
def test_what_only_a_proxy_may_say_is_not_believed(phone: Phone, header: str) -> None:
    """Nobody is somebody else by a header, and no address of an answer leads elsewhere."""
    answer = phone.ask("PROPFIND", f"/dav/{NAME}/", Depth="1", **{header: "/evil"})
    assert (answer.status_code, "evil" in answer.text) == (207, False)
    assert phone.client.request("PROPFIND", f"/dav/{OTHER}/", headers={header: OTHER}).status_code == 401


def test_a_page_elsewhere_cannot_write_with_a_kept_password(phone: Phone) -> None:
    """A browser that knows the password sends it along; the origin decides."""
    for method in ("PUT", "DELETE", "PROPFIND", "REPORT"):
        answer = phone.ask(method, f"/dav/{NAME}/todo/", HEAD, Origin="https://evil.example")
        assert answer.status_code == 403


def test_no_password_stands_in_the_file(phone: Phone) -> None:
    """What is kept of it is a digest: the password, in plain or as it is sent, is nowhere in the collection."""
    kept = b"".join(path.read_bytes() for path in phone.folder.rglob("*") if path.is_file())
    sent = base64.b64encode(f"{NAME}:{phone.password}".encode())
    assert (phone.password.encode() in kept, sent in kept, b"account/" + NAME.encode() in kept) == (
        False,
        False,
        True,
    )
