"""What the standards of calendar accounts ask, section by section; each row of the account's page is a row here.

Oracle: the text of RFC 4918, 3744, 5397, 4791, 6578, 6638 and 6764, and the sequences in which phones ask.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import icalendar
import pytest
from defusedxml import ElementTree

from carecal.app import Collection
from carecal.app.people.accounts import add_account
from tests.stories.quay import TODAY, moment
from tests.web.phones import NAME, NAMESPACES, C, D, Phone
from tests.web.visitors import client_of

pytest.importorskip("radicale", reason="radicale is not installed (extra 'account')")
pytest.importorskip("a2wsgi", reason="a2wsgi is not installed (extra 'account')")

PAGE = Path(__file__).parents[2] / "carecal" / "web" / "account" / "README.md"
HOME, CARE, TODO = f"/dav/{NAME}/", f"/dav/{NAME}/care/", f"/dav/{NAME}/todo/"
SPAN = '<C:time-range start="20261021T000000Z" end="20261101T000000Z"/>'
FILTER = '<C:comp-filter name="VCALENDAR"><C:comp-filter name="{}">{}</C:comp-filter></C:comp-filter>'
NAMES = f"<propfind {NAMESPACES}><propname/></propfind>"
BUSY = f"<C:free-busy-query {NAMESPACES}>{SPAN}</C:free-busy-query>"


@pytest.fixture(scope="module")
def phone(quay_once: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Phone]:
    """Return a phone that asks and changes nothing."""
    folder = tmp_path_factory.mktemp("standards") / "home"
    shutil.copytree(quay_once, folder)
    with Collection.open(folder) as collection:
        password = add_account(collection, moment(TODAY), NAME)
    with client_of(folder) as client:
        found = Phone(client, folder, password)
        found.others = sorted(found.todos())[0]
        yield found
        assert found.entries() == []


def _propfind(*names: str) -> str:
    return f"<propfind {NAMESPACES}><prop>{''.join(f'<{name}/>' for name in names)}</prop></propfind>"


def _query(kind: str, inner: str = "", data: str = "<getetag/>") -> str:
    within = f"<C:filter>{FILTER.format(kind, inner)}</C:filter>"
    return f"<C:calendar-query {NAMESPACES}><prop>{data}</prop>{within}</C:calendar-query>"


def _sync(token: str = "", more: str = "") -> str:
    level = "<sync-level>1</sync-level>"
    return (
        f"<sync-collection {NAMESPACES}><sync-token>{token}</sync-token>{level}{more}"
        "<prop><getetag/></prop></sync-collection>"
    )


ROWS: list[tuple[str, str, str, str, int, str, dict[str, str]]] = [
    ("4918 9.1 depth 0", "PROPFIND", HOME, _propfind("resourcetype"), 207, "<response>", {"Depth": "0"}),
    ("4918 9.1 depth 1", "PROPFIND", HOME, _propfind("resourcetype"), 207, f"{TODO}</href>", {"Depth": "1"}),
    ("4918 9.1 all", "PROPFIND", TODO, f"<propfind {NAMESPACES}><allprop/></propfind>", 207, "To do", {"Depth": "0"}),
    ("4918 9.1 names", "PROPFIND", TODO, NAMES, 207, "getetag", {"Depth": "0"}),
    ("4918 9.2", "PROPPATCH", TODO, f"<propertyupdate {NAMESPACES}/>", 403, "made by carecal", {}),
    ("4918 9.3", "MKCOL", f"{HOME}mine/", "", 403, "made by carecal", {}),
    ("4918 9.4", "GET", "object", "", 200, "BEGIN:VTODO", {}),
    ("4918 9.6", "DELETE", "object", "", 403, "made by carecal", {}),
    ("4918 9.7", "PUT", f"{TODO}new.ics", "", 403, "made by carecal", {}),
    ("4918 9.8", "COPY", "object", "", 405, "", {"Destination": f"http://127.0.0.1{TODO}x.ics"}),
    ("4918 9.9", "MOVE", "object", "", 403, "made by carecal", {"Destination": f"http://127.0.0.1{TODO}x.ics"}),
    ("4918 9.10", "LOCK", "object", "", 405, "", {}),
    ("4918 9.11", "UNLOCK", "object", "", 405, "", {}),
    ("3744 5.4 care", "PROPFIND", CARE, _propfind("current-user-privilege-set"), 207, "<read />", {"Depth": "0"}),
    ("3744 5.4 to do", "PROPFIND", TODO, _propfind("current-user-privilege-set"), 207, "<write", {"Depth": "0"}),
    ("3744 8.1", "ACL", TODO, "", 405, "", {}),
    ("5397 3", "PROPFIND", "/dav/", _propfind("current-user-principal"), 207, f"{HOME}</href>", {"Depth": "0"}),
    ("4791 5.2.2", "PROPFIND", TODO, _propfind("C:calendar-timezone"), 207, "TZID:Europe/Berlin", {"Depth": "0"}),
    ("4791 5.2.3", "PROPFIND", TODO, _propfind("C:supported-calendar-component-set"), 207, "VTODO", {"Depth": "0"}),
    ("4791 5.3.1", "MKCALENDAR", f"{HOME}mine/", "", 403, "made by carecal", {}),
    ("4791 6.2.1", "PROPFIND", HOME, _propfind("C:calendar-home-set"), 207, f"{HOME}</href>", {"Depth": "0"}),
    ("4791 7.8", "REPORT", TODO, _query("VTODO"), 207, ".ics</href>", {"Depth": "1"}),
    ("4791 7.8 another kind", "REPORT", TODO, _query("VEVENT"), 207, "multistatus", {"Depth": "1"}),
    ("4791 9.9", "REPORT", CARE, _query("VEVENT", SPAN), 207, ".ics</href>", {"Depth": "1"}),
    ("4791 7.9 missing", "REPORT", TODO, f"<C:calendar-multiget {NAMESPACES}><prop><getetag/></prop>"
     f"<href>{TODO}gone.ics</href></C:calendar-multiget>", 207, "404 Not Found", {}),
    ("4791 7.10", "REPORT", CARE, BUSY, 200, "VFREEBUSY", {"Depth": "1"}),
    ("6578 3.2", "REPORT", TODO, _sync(), 207, "<sync-token>", {}),
    ("6578 3.2 unknown token", "REPORT", TODO, _sync("https://carecal.invalid/sync/no"), 403, "valid-sync-token", {}),
    ("6578 4", "PROPFIND", TODO, _propfind("sync-token"), 207, "carecal.invalid/sync/", {"Depth": "0"}),
    ("6638 2.1", "PROPFIND", HOME, _propfind("C:schedule-outbox-URL"), 207, "404 Not Found", {"Depth": "0"}),
    ("6638 2.2", "PROPFIND", HOME, _propfind("C:schedule-inbox-URL"), 207, "404 Not Found", {"Depth": "0"}),
    ("6638 5", "POST", f"{HOME}outbox/", "", 405, "", {}),
    ("6764 5", "PROPFIND", "/.well-known/caldav", "", 301, "", {}),
]  # fmt: skip


@pytest.mark.parametrize(
    ("section", "method", "path", "body", "status", "says", "headers"), ROWS, ids=[r[0] for r in ROWS]
)
def test_each_section_is_answered_as_the_page_says(
    phone: Phone,
    section: str,
    method: str,
    path: str,
    body: str,
    status: int,
    says: str,
    headers: dict[str, str],
) -> None:
    """Status and what must stand in the answer, and the row of the page says the same status."""
    answer = phone.ask(method, phone.others if path == "object" else path, body, **headers)
    assert (answer.status_code, says in answer.text) == (status, True), answer.text
    row = re.search(rf"^\| {re.escape(section)} \|.*\| (\d+)\b", PAGE.read_text(), re.MULTILINE)
    assert row is not None, section
    assert int(row[1]) == status


def test_the_page_has_no_row_that_nobody_tests() -> None:
    """Each section of the page is asked for here."""
    told = re.findall(r"^\| (\d{4} [\w. ]+?) \|", PAGE.read_text(), re.MULTILINE)
    assert sorted(told) == sorted(row[0] for row in ROWS)


def test_it_says_of_itself_what_it_does(phone: Phone) -> None:
    """RFC 4918 10.1, RFC 4791 5.1: no locks (class 2), no address books, no scheduling; only methods that answer."""
    told = phone.ask("OPTIONS", TODO).headers
    assert told["dav"] == "1, 3, calendar-access"
    assert set(told["allow"].split(", ")) == {"GET", "HEAD", "OPTIONS", "PROPFIND", "PUT", "REPORT"}


def test_a_care_day_calendar_is_to_read_and_what_is_to_do_to_write(phone: Phone) -> None:
    """RFC 3744 5.4: a program shows the first as not to be changed and lets tasks of the second be ticked."""
    rights = {
        path: {child.tag.removeprefix(D) for each in row.iter(f"{D}privilege") for child in each}
        for path, row in phone.props(HOME, "current-user-privilege-set", depth="1").items()
    }
    assert "read" in rights[CARE]
    assert not any("write" in right or right in {"bind", "unbind", "all"} for right in rights[CARE])
    assert {"read", "write-content"} <= rights[TODO] or {"read", "write"} <= rights[TODO]


def _etags(answer: Any) -> dict[str, str]:
    root = ElementTree.fromstring(answer.text)
    return {
        str(row.findtext(f"{D}href")): str(row.findtext(f".//{D}getetag"))
        for row in root.iter(f"{D}response")
        if row.findtext(f".//{D}getetag")
    }


@pytest.mark.parametrize(
    "way", ["ctag, then ETags, then multiget", "sync-collection, then multiget", "query of a span"]
)
def test_phones_ask_in_their_order_and_hold_the_same(phone: Phone, way: str) -> None:
    """Whichever way a program goes, every to-do is there once, with the ETag that GET tells, and its bytes are read."""
    if way.startswith("ctag"):
        asked = f'<propfind {NAMESPACES} xmlns:S="http://calendarserver.org/ns/"><prop><S:getctag/></prop></propfind>'
        assert "getctag>" in phone.ask("PROPFIND", TODO, asked, Depth="0").text
        found = _etags(phone.ask("PROPFIND", TODO, _propfind("getetag", "getcontenttype"), Depth="1"))
        found.pop(TODO, None)
    elif way.startswith("sync"):
        found = _etags(phone.ask("REPORT", TODO, _sync()))
    else:
        span = '<C:time-range start="20260101T000000Z" end="20281231T000000Z"/>'
        found = _etags(phone.ask("REPORT", TODO, _query("VTODO", span), Depth="1"))
    hrefs = "".join(f"<href>{path}</href>" for path in found)
    data = "<prop><getetag/><C:calendar-data/></prop>"
    got = phone.ask("REPORT", TODO, f"<C:calendar-multiget {NAMESPACES}>{data}{hrefs}</C:calendar-multiget>")
    bodies = [str(each.text) for each in ElementTree.fromstring(got.text).iter(f"{C}calendar-data")]
    uids = [str(t["UID"]) for body in bodies for t in icalendar.Calendar.from_ical(body).walk("VTODO")]
    assert sorted(f"{TODO}{uid}.ics" for uid in uids) == sorted(found) == sorted(phone.todos())
    path = sorted(found)[-1]
    assert phone.ask("GET", path).headers["etag"] == found[path]
