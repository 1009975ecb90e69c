"""What `calendar add` says of the road that fits an address, and of what may not show."""

from __future__ import annotations

import re

import pytest

from carecal.app.publish.publications import Publication
from carecal.app.publish.publishing import PublishResult
from carecal.calendars.options import Form
from carecal.cli.roads import road_of, sent_words
from tests.cli.cli_run import done, start

pytestmark = pytest.mark.usefixtures("home")


@pytest.mark.parametrize(
    ("base", "expected"),
    [
        ("", "say under which name it finds this machine"),
        ("http://127.0.0.1:8321", "on this machine alone"),
        ("http://localhost:8321", "on this machine alone"),
        ("http://192.168.1.20:8321", "from the same house alone"),
        ("http://sill.local:8321", "from the same house alone"),
        ("http://sill:8321", "from the same house alone"),
        ("http://plants.example", "not encrypted"),
        ("https://plants.example/orchids", "reached from anywhere"),
    ],
)
def test_the_road_that_fits_an_address(base: str, expected: str) -> None:
    """Whoever cannot reach an address is told, with the road that they can take."""
    assert expected in road_of(base)


def test_how_often_programs_look_is_said_when_an_address_is_made() -> None:
    """The grower learns at once that a change may take a day to reach a phone."""
    start()
    done("settings", "public-address", "https://plants.example")
    said = done("calendar", "add", "Phone").out
    assert "12 to 24 hours" in said
    assert "reached from anywhere" in said
    assert "to-dos do not show" not in said
    assert "alarms" not in said


def test_what_may_not_show_is_said_when_it_is_asked_for() -> None:
    """To-dos and alarms are warned of at the moment the grower asks for them."""
    start()
    assert "to-dos do not show in the subscriptions" in done("calendar", "add", "A", "--as", "todos").out
    assert "leave alarms out" in done("calendar", "add", "B", "--alarm", "30").out
    told = done("--json", "calendar", "add", "C", "--as", "todos", "--alarm", "30").json
    assert told["may_not_show"][0] == "shown are the next care day, and what was done in the last 60 days"
    assert len(told["may_not_show"]) == 3


@pytest.mark.parametrize(
    ("counts", "form", "said"),
    [
        ({"deleted": 3, "created": 212, "changed": 4}, "events", "wrote 212 events, changed 4, took 3 away"),
        ({"changed": 1}, "events", "changed 1 event"),
        ({"found": 13, "created": 2}, "todos", "wrote 2 to-dos, found 13 in place"),
        ({"deleted": 1, "left": 2}, "todos", "took 1 to-do away"),
        ({"left": 2}, "todos", ""),
        ({}, "events", "wrote 7 events"),
    ],
)
def test_publishing_says_what_it_sent(counts: dict[str, int], form: Form, said: str) -> None:
    """What was written, changed, taken away, in this order, the thing named once; a file is written whole."""
    there = Publication(1, "folder", "there", events=7)
    assert sent_words(PublishResult(there, is_new=False, is_sent=True, counts=counts, form=form)) == said
    still = PublishResult(there, is_new=False, is_sent=False, form=form)
    assert sent_words(still) == "nothing has changed, nothing was sent"


@pytest.mark.parametrize(
    ("words", "then"),
    [
        (("calendar", "add", "the wall"), ", then carecal calendar qr 'the wall'"),
        (("calendar", "add", "phone", "--account"), "/dav/ after that address"),
        (("sitter", "add", "Wren", "--until", "in 5 days"), "the sheet's address then begins with that"),
    ],
)
def test_without_a_public_address_a_whole_one_is_shown_and_how_to_set_it(
    words: tuple[str, ...], then: str
) -> None:
    """Nobody is shown half an address: that of this machine is one a browser here can open."""
    start()
    first, *rest = done(*words).out.splitlines()
    assert re.search(r"http://127\.0\.0\.1:8321/\w+/", first)
    assert "carecal settings public-address http://" in rest[-1]
    assert rest[-1].endswith(then)
