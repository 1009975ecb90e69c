"""The grower's pages: each is whole, writes nothing when it is read, and says what the command line says."""

from __future__ import annotations

from datetime import date

import pytest

from carecal.app import Collection
from carecal.app.documents.rounds import rounds_ahead
from carecal.app.documents.why import why
from carecal.app.setup.settings import settings_of
from carecal.wording.why import why_lines
from tests.stories.quay import TIDE, TODAY, moment
from tests.web.pages_grower import Grower, text_of

PAGES = (
    "/plants", "/plants?left=1", "/plants/tide", "/plants/tide/pot?compare=1", "/plants/winch", "/plants/pebble",
    "/places", "/places?place=bathroom", "/ahead", "/ahead?days=60", "/log", "/log?plant=tide&since=2026-10-01",
    "/year", "/year?of=2025", "/calendars", "/settings",
    "/plants/tide/say", "/plants/tide/why", "/plants/tide/story", "/plants/tide/pot", "/plants?by=next", "/add",
    "/away", "/pause", "/labels",
)  # fmt: skip


@pytest.mark.parametrize("path", PAGES)
def test_page_is_whole(reader: Grower, path: str) -> None:
    """Every tag is closed where it must be, ids stand once, nothing carries a style or a script of its own."""
    page = reader.once(path)
    assert page.wrong == []
    assert page.styled == []
    assert len(page.ids) == len(set(page.ids))


@pytest.mark.parametrize("path", PAGES)
def test_every_field_has_a_label_and_every_form_a_token(reader: Grower, path: str) -> None:
    """A field is named for those who hear the page; a form that writes carries its token and goes to a page of ours."""
    page = reader.once(path)
    shown = [
        i for i in page.inputs if i["tag"] in {"input", "select", "textarea"} and i.get("type") != "hidden"
    ]
    boxes = [i for i in shown if i.get("type") in {"checkbox", "radio"}]  # these stand within their labels
    assert [i for i in shown if i not in boxes and i.get("id") not in page.labels] == []
    for form in page.forms:
        assert form["to"].startswith("/")
        assert form["method"] == "get" or "form_token" in form["fields"]


@pytest.mark.parametrize("path", PAGES)
def test_reading_writes_nothing(reader: Grower, path: str) -> None:
    """A page that is read leaves the journal as it was."""
    before = reader.records()
    reader.read(path)
    assert reader.records() == before


@pytest.mark.parametrize("path", PAGES)
def test_links_of_a_page_lead_somewhere(reader: Grower, path: str) -> None:
    """Every link of ours is answered, and its anchor is on the page it leads to."""
    for link in set(reader.once(path).links):
        if not link.startswith("/"):
            continue
        where, _, anchor = link.partition("#")
        page = reader.once(where)
        assert not anchor or anchor in page.ids or anchor in {"compare", "photos", "place"}, link


@pytest.mark.parametrize(
    "path", ["/plants", "/plants/tide", "/places", "/ahead", "/log", "/year", "/calendars", "/settings"]
)
def test_page_is_for_the_owner_alone(grower: Grower, path: str) -> None:
    """Whoever is not signed in is led to the login."""
    grower.client.cookies.clear()
    answer = grower.client.get(path)
    assert answer.status_code == 303
    assert answer.headers["location"].startswith("/login")


def test_plants_stand_by_their_places_with_marks(grower: Grower) -> None:
    """All five plants are listed; the reservoir's state is on the list."""
    grower.write("/plants/pebble", "reservoir", to="empty")
    text = text_of(grower.read("/plants"))
    assert all(name in text.casefold() for name in ("tide", "gable", "pebble", "winch", "lantern"))
    assert "EMPTY ON PURPOSE" in text


def test_plant_says_what_the_command_line_says(reader: Grower) -> None:
    """Each reason and each shut gate of `why` stands on the plant's page of reasons (the document is the oracle)."""
    text = text_of(reader.read("/plants/tide/why"))
    with Collection.open(reader.folder) as collection:
        document = why(collection, TODAY, TIDE)
    for reason in document["rhythms"][0]["reasons"]:
        assert " ".join(reason["text"].split()) in text
    for gate in document["gates"]:
        assert gate["because"][0]["text"] in text
    assert next(iter(why_lines(document))).split(" (")[0] in text


def test_plant_that_is_not_there_is_not_found(reader: Grower) -> None:
    """An unknown plant is 404 and names what was asked."""
    assert "no plant named" in text_of(reader.read("/plants/kraken", 404)).casefold()


def test_compared_pots_are_drawn_when_asked_for(reader: Grower) -> None:
    """The picture stands there only once it is asked for, since it takes longest."""
    assert "which medium, which pot at" not in reader.read("/plants/tide/pot")
    assert "which medium, which pot at" in reader.read("/plants/tide/pot?compare=1&medium=&container=&place=")


def test_compared_pots_say_why_there_are_none(reader: Grower) -> None:
    """A pair that does not exist is told in words, not as an error."""
    text = text_of(reader.read("/plants/tide/pot?compare=1&medium=moss&container=reservoir"))
    assert "moss" in text


def test_look_of_a_round_is_answered_by_its_observation(reader: Grower) -> None:
    """A link of the round opens the form with the task in it."""
    page = reader.page("/plants/tide/say?task=look/1/3")
    form = next(f for f in page.forms if f["fields"].get("do") == "observe")
    assert form["fields"]["task"] == "look/1/3"


def test_ahead_shows_the_rounds_of_the_command_line(reader: Grower) -> None:
    """Each task of the coming rounds stands on the page (the document is the oracle)."""
    text = text_of(reader.read("/ahead"))
    with Collection.open(reader.folder) as collection:
        rounds = rounds_ahead(collection, moment(TODAY), 14)
    assert rounds
    tasks = [task for found in rounds for task in found["tasks"]]
    assert all(f"{task['name']} {' '.join(task['head'].split())}" in text for task in tasks)
    assert all(task["text"].startswith(f"{task['name']}: {task['head']}") for task in tasks)


def test_round_is_moved_to_another_day(grower: Grower) -> None:
    """A care day is moved by its form and leaves its old day."""
    with Collection.open(grower.folder) as collection:
        start = date.fromisoformat(rounds_ahead(collection, moment(TODAY), 14)[1]["on"])
    grower.write("/ahead", "move", start=start.isoformat(), to=start.replace(day=start.day + 1).isoformat())
    with Collection.open(grower.folder) as collection:
        assert start.isoformat() not in [r["on"] for r in rounds_ahead(collection, moment(TODAY), 14)]


def test_ahead_takes_any_number_of_days_for_a_sensible_one(reader: Grower) -> None:
    """What is no number, nought or far too many is answered all the same."""
    for days in ("0", "x", "999", "٣"):
        assert "Care days of the next" in text_of(reader.read(f"/ahead?days={days}"))


def test_log_is_paged_and_narrowed(reader: Grower) -> None:
    """A plant's log names that plant alone; `before` shows older entries."""
    only = reader.read("/log?plant=gable")
    assert 'href="/plants/gable"' in only
    assert 'href="/plants/tide"' not in only
    assert "1 September 2026 Quay house begins" in text_of(reader.read("/log?before=2"))


def test_entry_is_taken_back_from_the_log(grower: Grower) -> None:
    """The button of an entry takes back its command; the entry stays, marked."""
    grower.write("/plants/tide", "done", care="watering", felt="right")
    number = grower.newest().n
    assert grower.newest().kind == "done"
    token = grower.page("/log").forms[-1]["fields"]["form_token"]
    answer = grower.client.post("/log", data={"form_token": token, "do": "undo", "entry": str(number)})
    assert answer.status_code == 303
    assert grower.newest().kind == "undone"
    assert "21 October 2026 · taken back Tide : Watered; it felt right" in text_of(grower.read("/log"))


def test_entry_is_put_right(grower: Grower) -> None:
    """A field of an entry is amended by its name."""
    grower.write("/plants/tide", "done", care="watering", felt="right")
    number = grower.newest().n
    grower.write("/log", "amend", entry=str(number), felt="damp")
    assert grower.newest().kind == "amended"
    assert grower.newest().data["changes"] == {"felt": "damp"}


def test_year_shows_what_was_done(reader: Grower) -> None:
    """September has the rounds that were ticked (five care days stand in the story; two of them in October)."""
    page = reader.read("/year")
    assert '<th scope="row">September</th><td>3</td>' in page


def test_place_tells_what_does_not_suit_and_draws_its_year(reader: Grower) -> None:
    """The place's page has its picture and its twelve months."""
    page = reader.read("/places?place=east-sill")
    assert "East sill: the year&#39;s warmth" in page
    assert "January" in page
    assert "no place named" in text_of(reader.read("/places?place=attic", 404)).casefold()


def test_unknown_form_is_refused(grower: Grower) -> None:
    """A form that a page does not have is refused and writes nothing."""
    before = grower.records()
    token = grower.page("/settings").forms[0]["fields"]["form_token"]
    for path in ("/plants/tide", "/places", "/ahead", "/log", "/calendars", "/settings"):
        sent = {"form_token": token, "do": "explode", "place": "bathroom", "name": "x"}
        assert grower.client.post(path, data=sent).status_code in {404, 422}
    assert grower.records() == before


def test_form_without_its_token_is_refused(grower: Grower) -> None:
    """Each page refuses a form that does not carry the session's token."""
    before = grower.records()
    for path in ("/plants/tide", "/places", "/ahead", "/log", "/calendars", "/settings"):
        assert grower.client.post(path, data={"do": "done", "care": "watering"}).status_code == 403
    assert grower.records() == before


def test_settings_are_kept(grower: Grower) -> None:
    """Weekdays, ticking, units, address and notes are each kept by their own form."""

    def keep(key: str, value: str | list[str]) -> None:
        form = next(f for f in grower.page("/settings").forms if f["fields"].get("key") == key)
        answer = grower.client.post("/settings", data={**form["fields"], "value": value})
        assert answer.status_code == 303, text_of(answer.text)

    keep("weekdays", ["mon", "fri"])
    keep("ticking", "careful")
    keep("units", "imperial")
    keep("public-address", "https://plants.example")
    keep("feed-ppm", "60")
    keep("notes-in-calendars", "yes")
    with Collection.open(grower.folder) as collection:
        found = settings_of(collection, moment(TODAY))
    assert found == {
        "weekdays": "mon,fri",
        "ticking": "careful",
        "units": "imperial",
        "public-address": "https://plants.example",
        "feed-ppm": "60",
        "notes-in-calendars": "yes",
        "care-days": "ask",
    }


def test_no_weekday_means_each_plant_on_its_own_day(grower: Grower) -> None:
    """A form without any box ticked says 'none'."""
    form = next(f for f in grower.page("/settings").forms if f["fields"].get("key") == "weekdays")
    assert grower.client.post("/settings", data=form["fields"]).status_code == 303
    assert grower.newest().data == {"key": "weekdays", "value": "none"}
