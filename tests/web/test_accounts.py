"""Calendar accounts: finding, reading, sync and ticks as RFC 4791, 6578 and 4918 have them; oracle: the journal."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from carecal.app import Collection
from carecal.app.people.accounts import accounts_of, add_account, has_accounts, revoke_account
from carecal.errors import Refused
from tests.stories.quay import TODAY, moment
from tests.web.phones import COMPLETED, NAME, NAMESPACES, TO_GO, C, D, Phone
from tests.web.visitors import Clock, client_of, form_token, sign_in

pytest.importorskip("radicale", reason="radicale is not installed (extra 'account')")
pytest.importorskip("a2wsgi", reason="a2wsgi is not installed (extra 'account')")


@pytest.fixture
def phone(house: Path) -> Iterator[Phone]:
    """Return a phone with an account at the house."""
    with Collection.open(house) as collection:
        password = add_account(collection, moment(TODAY), NAME)
    with client_of(house) as client:
        yield Phone(client, house, password)


def test_a_program_finds_both_calendars_from_the_name_of_the_house(phone: Phone) -> None:
    """RFC 6764 5, RFC 5397, RFC 4791 6.2.1: well-known, principal, home, then each calendar with what it takes."""
    assert phone.client.request("PROPFIND", "/.well-known/caldav").headers["location"] == "/dav/"
    (root,) = phone.props("/dav/", "current-user-principal").values()
    principal = str(root.findtext(f".//{D}current-user-principal/{D}href"))
    assert principal == f"/dav/{NAME}/"
    (own,) = phone.props(principal, "C:calendar-home-set").values()
    home = str(own.findtext(f".//{C}calendar-home-set/{D}href"))
    found = phone.props(
        home, "displayname", "C:supported-calendar-component-set", "A:calendar-color", depth="1"
    )
    kinds = {
        path: [each.get("name") for each in row.iter(f"{C}comp")]
        for path, row in found.items()
        if path != principal
    }
    assert kinds == {f"/dav/{NAME}/care/": ["VEVENT"], f"/dav/{NAME}/todo/": ["VTODO"]}
    names = {path: row.findtext(f".//{D}displayname") for path, row in found.items()}
    assert names[f"/dav/{NAME}/todo/"] == "To do"
    assert all(
        "#" in str(found[path].findtext(".//{http://apple.com/ns/ical/}calendar-color")) for path in kinds
    )


def test_what_is_to_do_is_one_to_do_a_plant_and_care(phone: Phone) -> None:
    """Due today or on the next day of care, with an alarm; nothing further ahead, no step, no refresh event."""
    todos = phone.todos()
    open_ones = [todo for todo in todos.values() if todo.get("STATUS") != "COMPLETED"]
    assert open_ones
    keys = [(str(todo["SUMMARY"]), str(todo["CATEGORIES"].cats[0])) for todo in open_ones]
    assert len(keys) == len(set(keys))
    days = sorted({todo["DUE"].dt for todo in open_ones})
    assert days[0] <= TODAY
    assert len([day for day in days if day >= TODAY]) <= 2
    assert all(todo.walk("VALARM") for todo in open_ones)
    assert not any("STEP" in key[1] or "REFRESH" in key[1] for key in keys)


def test_a_tick_is_an_entry_by_the_account_and_the_page_shows_it(phone: Phone) -> None:
    """The same to-do comes back as done at the next sync; every other reader follows."""
    token, _, _ = phone.synced()
    path = phone.todo("Gable")
    answer = phone.put(path, COMPLETED, TO_GO)
    assert answer.status_code == 204
    assert "etag" not in answer.headers  # RFC 4791 5.3.4: what stands there is not what was sent
    assert [entry[:4] for entry in phone.entries()] == [("done", "feeding", "2026-10-21", NAME)]
    _, changed, _ = phone.synced(token)
    assert path in changed
    todo = phone.todos()[path]
    assert (todo["STATUS"], todo["SEQUENCE"] > 0) == ("COMPLETED", True)
    sign_in(phone.client)
    row = re.search(r'<li class="row (\w+)" id="at-gable"', phone.client.get("/").text)
    assert row is not None
    assert row[1] == "done"


@pytest.mark.parametrize(
    "change",
    [{"STATUS": "COMPLETED"}, {"PERCENT-COMPLETE": "100"}, {"COMPLETED": "20261021T064500Z"}],
    ids=str,
)
def test_however_a_program_says_it_it_is_done_and_twice_is_one_entry(
    phone: Phone, change: dict[str, str]
) -> None:
    """RFC 5545 3.8.1.11, 3.8.1.8, 3.8.2.1: status, share or instant alone."""
    path = phone.todo("Gable")
    for _ in range(2):
        assert phone.put(path, change, TO_GO).status_code == 204
    assert [entry[0] for entry in phone.entries()] == ["done"]


def test_it_is_done_on_the_day_that_the_program_says_in_the_zone_of_the_house(phone: Phone) -> None:
    """Completed at 22:30 UTC of the 19th is the 20th in Berlin; a day ahead is today."""
    assert (
        phone.put(phone.todo("Gable"), {**COMPLETED, "COMPLETED": "20261019T223000Z"}, TO_GO).status_code
        == 204
    )
    assert phone.entries()[-1][2] == "2026-10-20"
    assert (
        phone.put(phone.todo("Winch"), {**COMPLETED, "COMPLETED": "20261101T080000Z"}, TO_GO).status_code
        == 204
    )
    assert phone.entries()[-1][2] == "2026-10-21"


def test_what_is_taken_back_is_undone(phone: Phone) -> None:
    """NEEDS-ACTION on a to-do that was done takes the entry back; it is open again under the same UID."""
    path = phone.todo("Gable")
    phone.put(path, COMPLETED, TO_GO)
    assert phone.put(path, {"STATUS": "NEEDS-ACTION", "PERCENT-COMPLETE": "0"}, TO_GO).status_code == 204
    assert [entry[0] for entry in phone.entries()] == ["done", "undone"]
    assert phone.todos()[path].get("STATUS") != "COMPLETED"


def test_a_note_typed_into_it_becomes_the_entrys_note(phone: Phone) -> None:
    """What stood there already does not; control characters are cleaned."""
    path = phone.todo("Gable")
    before = str(phone.todos()[path]["DESCRIPTION"]).replace("\n", "\\n")
    typed = {**COMPLETED, "DESCRIPTION": f"{before}\\nwas quite dry\\n", "COMMENT": "two new tips"}
    assert phone.put(path, typed, (*TO_GO, "DESCRIPTION")).status_code == 204
    assert phone.entries()[-1][4] == "was quite dry two new tips"


def test_everything_else_is_answered_politely_and_changes_nothing(phone: Phone) -> None:
    """A new name, another day, a dropped alarm: 204, no entry, and the truth at the next sync."""
    path = phone.todo("Gable")
    before = phone.ask("GET", path).text
    assert (
        phone.put(path, {"SUMMARY": "mine", "DUE;VALUE=DATE": "20270101"}, ("SUMMARY", "DUE")).status_code
        == 204
    )
    assert phone.entries() == []
    assert phone.ask("GET", path).text == before


def test_what_is_here_cannot_be_deleted_added_to_or_made_anew(phone: Phone) -> None:
    """403 with a reason for objects, RFC 4918 9.6 and 9.7; calendars are neither made nor taken away."""
    path = phone.todo("Gable")
    for answer in (
        phone.ask("DELETE", path),
        phone.ask("DELETE", f"/dav/{NAME}/todo/"),
        phone.client.put(
            f"/dav/{NAME}/todo/new.ics",
            content=b"BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n",
            headers={"Content-Type": "text/calendar"},
            auth=(NAME, phone.password),
        ),
        phone.client.put(f"/dav/{NAME}/care/new.ics", content=b"x", auth=(NAME, phone.password)),
        phone.ask("MKCALENDAR", f"/dav/{NAME}/mine/"),
        phone.ask(
            "PROPPATCH",
            f"/dav/{NAME}/care/",
            f"<propertyupdate {NAMESPACES}><set><prop><displayname/></prop></set></propertyupdate>",
        ),
    ):
        assert answer.status_code in {403, 405}, answer.text
    assert "made by carecal" in phone.ask("DELETE", path).text
    assert phone.ask("GET", path).status_code == 200
    assert phone.entries() == []


def test_if_match_holds_but_a_tick_is_a_tick(phone: Phone) -> None:
    """RFC 9110 13.1.1: another ETag is refused with 412; a to-do that changed meanwhile can still be ticked."""
    path = phone.todo("Gable")
    assert phone.put(path, {"SUMMARY": "mine"}, ("SUMMARY",), If_Match='"old"').status_code == 412
    assert phone.put(path, COMPLETED, TO_GO, If_None_Match="*").status_code == 412
    assert phone.put(path, COMPLETED, TO_GO, If_Match='"old"').status_code == 204
    assert [entry[0] for entry in phone.entries()] == ["done"]


def test_what_is_no_to_do_is_let_go(phone: Phone) -> None:
    """Broken text, another UID, two to-dos, an event of a care day: no entry."""
    path = phone.todo("Gable")
    good = phone.ask("GET", path).text
    other = re.sub(r"UID:[^\r]+", "UID:other", good).replace("END:VTODO", "STATUS:COMPLETED\r\nEND:VTODO")
    for content in (b"", b"BEGIN:VCALENDAR", b"\xff\xfe", other.encode()):
        answer = phone.client.put(path, content=content, auth=(NAME, phone.password))
        assert answer.status_code in {204, 400}, content
    assert phone.entries() == []


def test_a_token_that_is_not_known_begins_anew(phone: Phone) -> None:
    """RFC 6578 3.2: 403 with valid-sync-token; between two asks nothing changes."""
    token, _, _ = phone.synced()
    assert phone.synced(token)[1:] == (set(), set())
    for wrong in ("https://carecal.invalid/sync/abc", "https://else.invalid/1"):
        asked = (
            f"<sync-collection {NAMESPACES}><sync-token>{wrong}</sync-token><sync-level>1</sync-level><prop/>"
        )
        answer = phone.ask("REPORT", f"/dav/{NAME}/todo/", f"{asked}</sync-collection>")
        assert (answer.status_code, "valid-sync-token" in answer.text) == (403, True)


def test_nobody_gets_in_without_the_password_and_guesses_wait(phone: Phone) -> None:
    """401 with the realm; after three wrong ones 429; another account's calendars are not there."""
    with Collection.open(phone.folder) as collection:
        other = add_account(collection, moment(TODAY), "tablet")
    assert phone.client.request("PROPFIND", f"/dav/{NAME}/").status_code == 401
    assert phone.client.request("PROPFIND", f"/dav/{NAME}/", auth=("tablet", other)).status_code == 403
    told = [phone.client.request("PROPFIND", f"/dav/{NAME}/", auth=(NAME, f"guess {n}")) for n in range(6)]
    assert [answer.status_code for answer in told[:3]] == [401, 401, 401]
    assert told[-1].status_code == 429
    assert int(told[-1].headers["retry-after"]) > 0


def test_a_revoked_account_is_shut_out_and_its_calendars_are_gone(phone: Phone) -> None:
    """Its name may be given anew, with another password."""
    with Collection.open(phone.folder) as collection:
        revoke_account(collection, moment(TODAY), NAME)
        assert accounts_of(collection) == []
        again = add_account(collection, moment(TODAY), NAME)
    assert again != phone.password
    assert phone.ask("PROPFIND", f"/dav/{NAME}/").status_code == 401


@pytest.mark.parametrize("name", ["", "Nina", "a b", "../x", "zoë", "x" * 41])
def test_a_name_that_cannot_be_logged_in_with_is_refused(folder: Path, name: str) -> None:
    """Small letters, digits and hyphens alone; nothing is added."""
    with Collection.open(folder) as collection:
        with pytest.raises(Refused, match="cannot name an account"):
            add_account(collection, moment(TODAY), name)
        assert accounts_of(collection) == []


def test_a_house_without_accounts_says_so(house: Path) -> None:
    """404 and how one is added; the well-known address leads there all the same."""
    with client_of(house) as client:
        answer = client.request("PROPFIND", "/dav/")
    assert (answer.status_code, "calendar add NAME --account" in answer.text) == (404, True)


def test_the_clock_of_the_house_decides_what_is_due(phone: Phone) -> None:
    """A week later other days are due, and what was done before is gone from the list."""
    phone.put(phone.todo("Gable"), COMPLETED, TO_GO)
    clock = Clock()
    clock.now = moment(TODAY.replace(day=28))
    with client_of(phone.folder, clock) as client:
        later = Phone(client, phone.folder, phone.password)
        todos = later.todos().values()
        assert not any(todo.get("STATUS") == "COMPLETED" for todo in todos)
        assert max(todo["DUE"].dt for todo in todos) >= TODAY.replace(day=28)


def test_it_is_seen_when_an_account_was_last_used_and_by_what(phone: Phone) -> None:
    """A program's REPORT is a look at that calendar; nothing of it says more than the program's kind."""
    phone.ask(
        "REPORT",
        f"/dav/{NAME}/todo/",
        f"<sync-collection {NAMESPACES}/>",
        User_Agent="Tasker/7.1 (of somebody)",
    )
    with Collection.open(phone.folder) as collection:
        (account,) = accounts_of(collection)
    assert (account.todo.fetched, account.todo.fetched_by) == (moment(TODAY).clock, "Tasker")
    assert account.care.fetched is None


def test_the_page_revokes_an_account_whole(phone: Phone) -> None:
    """Revoked by either of its calendars it is gone; neither gets an address of its own, nor a calendar its name."""
    sign_in(phone.client)
    form = {"form_token": form_token(phone.client, "/calendars"), "name": f"{NAME} to do"}
    assert "belongs to the account" in phone.client.post("/calendars", data={**form, "do": "renew"}).text
    assert (
        "belongs to the account"
        in phone.client.post("/calendars", data={**form, "do": "add", "name": NAME}).text
    )
    phone.client.post("/calendars", data={**form, "do": "revoke"})
    with Collection.open(phone.folder) as collection:
        assert (accounts_of(collection), has_accounts(collection)) == ([], False)
