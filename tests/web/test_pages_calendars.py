"""Calendars and sitters by the forms of the pages: an address is shown once, renewed and revoked in one tap."""

from __future__ import annotations

import re
from typing import Any

import pytest

from carecal.app import Collection, Now
from carecal.app.people.sitters import sitters_of
from carecal.app.publish import publishing
from carecal.app.publish.named_calendars import calendars_of
from carecal.app.publish.publications import Publication
from carecal.app.publish.publishing import PublishResult
from tests.stories.quay import TODAY, moment
from tests.web.pages_grower import Grower, text_of


def test_calendar_gets_an_address_that_is_shown_once(grower: Grower) -> None:
    """The address answers, stands there as text, link and code, is not to be kept, and is never shown again."""
    answer = grower.send("/calendars", "add", name="phone", grouping="each", plant="tide", at="08:30")
    assert answer.status_code == 200
    assert answer.headers["cache-control"] == "no-store"
    path = re.search(r"/calendar/[\w-]+/[\w-]+\.ics", answer.text)
    assert path is not None
    assert f'href="webcal://127.0.0.1{path[0]}"' in answer.text
    assert '<svg role="img"' in answer.text
    assert grower.client.get(path[0]).status_code == 200
    listed = grower.read("/calendars")
    assert path[0] not in listed
    assert "each care by itself, only tide, at 08:30" in text_of(listed)


def test_list_of_calendars_tells_who_fetched(grower: Grower) -> None:
    """After a fetch the list names the time and the kind of program."""
    answer = grower.send("/calendars", "add", name="phone")
    path = re.search(r"/calendar/[\w-]+/[\w-]+\.ics", answer.text)
    assert path is not None
    assert "never fetched" in text_of(grower.read("/calendars"))
    grower.client.get(path[0], headers={"user-agent": "QuayReader/2.1 (phone)"})
    text = text_of(grower.read("/calendars"))
    assert "last fetched 21 October 2026 09:00 by QuayReader" in text


def test_calendar_is_renewed_and_revoked_in_one_tap(grower: Grower) -> None:
    """Renewing ends the old address and shows a new one of the same options; revoking ends it for good."""

    def path_in(page: str) -> str:
        found = re.search(r"/calendar/[\w-]+/[\w-]+\.ics", page)
        assert found is not None
        return found[0]

    old = path_in(grower.send("/calendars", "add", name="phone", care="feeding").text)
    new = path_in(grower.send("/calendars", "renew").text)
    assert old != new
    assert grower.client.get(old).status_code == 410
    assert grower.client.get(new).status_code == 200
    with Collection.open(grower.folder) as collection:
        assert [known.options.care for known in calendars_of(collection)] == ["feeding"]
    grower.write("/calendars", "revoke")
    assert grower.client.get(new).status_code == 410


def test_calendar_is_handed_out_as_a_file(grower: Grower) -> None:
    """The same form gives the calendar as a file, once, and adds none."""
    answer = grower.send("/calendars", "write", form="todos")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    assert answer.text.startswith("BEGIN:VCALENDAR")
    with Collection.open(grower.folder) as collection:
        assert calendars_of(collection) == []


def test_public_address_stands_in_what_is_shown(grower: Grower) -> None:
    """An address that was set goes before the one the page was asked under."""
    form = next(f for f in grower.page("/settings").forms if f["fields"].get("key") == "public-address")
    grower.client.post("/settings", data={**form["fields"], "value": "https://plants.example"})
    assert "webcal://plants.example/calendar/" in grower.send("/calendars", "add", name="phone").text


def test_sitter_gets_an_address_and_loses_it(grower: Grower) -> None:
    """The address of a sitter is shown once, answers, and answers no more once it is ended."""
    answer = grower.send("/settings", "sitter", name="Wren", start="2026-10-21", until="2026-10-30")
    assert answer.headers["cache-control"] == "no-store"
    path = re.search(r"/sitter/[\w-]+", answer.text)
    assert path is not None
    assert grower.client.get(path[0]).status_code == 200
    assert "Wren: 21 October 2026 to 30 October 2026" in text_of(grower.read("/away"))
    grower.write("/settings", "sitter-end")
    assert grower.client.get(path[0]).status_code == 410
    with Collection.open(grower.folder) as collection:
        assert not [s for s in sitters_of(collection, moment(TODAY)) if not s.is_over(TODAY)]


@pytest.mark.parametrize("target", ["/srv/out", "file:///srv/out", "local:///srv/out", "../out"])
def test_page_writes_into_no_folder_of_the_server(grower: Grower, target: str) -> None:
    """Whoever holds a session gets no way to choose where on the server a file is written."""
    grower.send("/calendars", "add", name="phone")
    answer = grower.send("/calendars", "publish", name="phone", target=target)
    assert answer.status_code == 422
    assert "command line" in text_of(answer.text)


def test_calendar_is_published_with_what_the_form_says(
    grower: Grower, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Target, user and password reach the road; the road itself is tried against real servers elsewhere."""
    given: dict[str, Any] = {}

    def publish_to(_: Collection, __: Now, name: str, place: str, **more: Any) -> PublishResult:
        given.update(name=name, place=place, user=more["user"], password=more["ask"]("wren"))
        return PublishResult(Publication(1, "store", place), is_new=True, is_sent=True)

    monkeypatch.setattr(publishing, "publish_to", publish_to)
    grower.send("/calendars", "add", name="phone")
    sent = {"name": "phone", "target": "sftp://host/quay", "user": "wren", "password": "a reef"}
    text = grower.write("/calendars", "publish", **sent)
    assert given == {"name": "phone", "place": "sftp://host/quay", "user": "wren", "password": "a reef"}
    assert "phone is published at" in text
    assert "a reef" not in text


def test_what_is_not_published_there_cannot_be_taken_away(grower: Grower) -> None:
    """Taking away what never stood at a target is refused in words."""
    grower.send("/calendars", "add", name="phone")
    answer = grower.send("/calendars", "stop", name="phone", target="sftp://host/quay")
    assert answer.status_code == 422
    assert "Phone is not published" in text_of(answer.text)


def test_password_of_a_road_is_not_shown_again(grower: Grower) -> None:
    """A form that did not fit comes back without the password that was in it."""
    grower.send("/calendars", "add", name="phone")
    answer = grower.send("/calendars", "stop", name="phone", target="sftp://host/quay", password="a reef")  # noqa: S106 - of a test
    assert answer.status_code == 422
    assert "a reef" not in answer.text
