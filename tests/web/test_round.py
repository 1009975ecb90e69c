"""The round over HTTP: its order, what a tap writes, what it is answered, and what stands above it when it matters."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from carecal.app import Collection
from carecal.app.actions.corrections import undo
from carecal.app.documents.today import today
from carecal.collection.entries import Done, Moved, PlaceAdded, ReservoirSet
from tests.app.diary import START, Diary
from tests.stories.quay import TODAY, moment
from tests.web.pages_grower import Grower, text_of
from tests.web.visitors import Clock, client_of, entries_of, form_token, give_password, sign_in, task_of

JSON = {"Accept": "application/json"}


def _fields(grower: Grower, plant: str, **more: str) -> dict[str, str]:
    return {**task_of(grower.client, plant), "form_token": form_token(grower.client), "do": "done", **more}


def test_the_list_stands_in_the_order_of_the_rounds_document(reader: Grower) -> None:
    """What was carried over, then the rows, in the document's order (design rule 12 orders it), one line a plant."""
    with Collection.open(reader.folder) as collection:
        document = today(collection, TODAY)
    wanted = [row["plant"] for row in (*document["carried"], *document["rounds"][0]["tasks"])]
    assert re.findall(r'class="row open".*? data-plant="(\w+)"', reader.client.get("/").text) == wanted


def test_it_tells_date_count_can_carried_and_next(reader: Grower) -> None:
    """What interface and issue name for the round stands on it, in this order."""
    text = text_of(reader.client.get("/").text)
    parts = ["Wednesday 21 October", "to do", "Can:", "Carried over", "Winch", "Gable", "Next round"]
    places = [text.index(part) for part in parts]
    assert places == sorted(places)


def test_what_was_answered_folds_away_and_the_rest_keeps_its_order(grower: Grower) -> None:
    """A tick takes the row out of the walk into the fold below; the next page shows the rest as it stood."""
    before = re.findall(r'data-plant="(\w+)"', grower.client.get("/").text)
    grower.client.post("/", data=_fields(grower, "gable"))
    page = grower.client.get("/").text
    walk, _, fold = page.partition('class="finished"')
    assert re.findall(r'data-plant="(\w+)"', walk) == [
        name for name in before if name not in {"gable", "pebble"}
    ]
    assert "gable" in re.findall(r'data-plant="(\w+)"', fold)
    assert "done 09:00" in fold


def test_consequences_are_told_once(grower: Grower) -> None:
    """The page after a tick says what it changed; the next does not."""
    answer = grower.client.post("/", data=_fields(grower, "gable"))
    assert answer.status_code == 303
    assert "Gable: fed" in grower.client.get("/").text
    assert "Gable: fed" not in grower.client.get("/").text


@pytest.mark.parametrize("felt", ["parched", "right", "damp"])
def test_how_it_felt_is_kept_with_the_wetting(grower: Grower, felt: str) -> None:
    """The menu's answer stands in the entry."""
    grower.client.post("/", data=_fields(grower, "gable", felt=felt))
    with Collection.open(grower.folder) as collection:
        assert collection.journal.record(collection.journal.head()).data["felt"] == felt


def test_left_damp_is_an_entry_of_its_own(grower: Grower) -> None:
    """'Left: still damp' writes that it was looked at and left."""
    grower.client.post("/", data=_fields(grower, "gable", do="damp"))
    assert entries_of(grower.folder)[-1] == ("left", "owner")
    assert "left damp 09:00" in grower.client.get("/").text


def test_all_done_except_the_marked(grower: Grower) -> None:
    """One tap answers everything but the marked plant, which is written as not done."""
    before = len(entries_of(grower.folder))
    sent = {
        "do": "round",
        "except": "gable",
        "on": TODAY.isoformat(),
        "form_token": form_token(grower.client),
    }
    asked = grower.client.post("/", data=sent)
    assert asked.status_code == 409
    assert re.search(r"All done today: \d plants", asked.text)
    assert len(entries_of(grower.folder)) == before
    grower.client.post("/", data={**sent, "sure": "1"})
    kinds = [kind for kind, _ in entries_of(grower.folder)[before:]]
    assert kinds.count("excepted") == 1
    assert kinds.count("done") >= 3
    assert "not today" in grower.client.get("/").text


def test_a_row_of_several_cares_is_taken_back_whole(grower: Grower) -> None:
    """After the whole round a carried line's look and moistening are taken back by one tap, and nothing else is."""
    sent = {"do": "round", "sure": "1", "on": TODAY.isoformat(), "form_token": form_token(grower.client)}
    grower.client.post("/", data=sent)
    page = grower.client.get("/").text
    row = re.search(r'data-plant="winch".*?</form>', page, re.DOTALL)
    assert row is not None
    tasks = re.findall(r'name="task" value="([^"]+)"', row[0])
    assert len(tasks) >= 2
    back = {"do": "undo", "task": tasks, "form_token": sent["form_token"]}
    assert grower.client.post("/", data=back).status_code == 303
    assert re.findall(r'class="row open".*? data-plant="(\w+)"', grower.client.get("/").text) == ["winch"]


def test_a_script_is_answered_without_a_page(grower: Grower) -> None:
    """A tap's answer for the script: the row as the server holds it, and what is said; the second: who was first."""
    sent = _fields(grower, "gable")
    first = grower.client.post("/", data=sent, headers=JSON).json()
    assert (first["state"], first["row"], first["said"]) == ("done", "done", "done 09:00")
    assert "Take it back" in first["notice"]
    again = grower.client.post("/", data=sent, headers=JSON).json()
    assert again == {
        "state": "already",
        "text": "already done 09:00 by owner",
        "row": "done",
        "said": "done 09:00",
    }
    undo = {**sent, "do": "undo"}
    assert grower.client.post("/", data=undo, headers=JSON).json()["row"] == "open"
    assert grower.client.post("/", data=undo, headers=JSON).json() == {
        "state": "same",
        "row": "open",
        "said": "",
    }
    with client_of(grower.folder) as stranger:
        assert stranger.post("/", data=sent, headers=JSON).status_code == 401


def test_a_tap_of_yesterday_counts_for_yesterday(grower: Grower) -> None:
    """A tap kept without a connection overnight is written on the day it was made."""
    sent = _fields(grower, "gable", on=TODAY.isoformat())
    clock = Clock()
    clock.now = moment(TODAY + timedelta(days=1))
    with client_of(grower.folder, clock) as client:
        sign_in(client)
        sent["form_token"] = form_token(client)
        assert client.post("/", data=sent, headers=JSON).json()["state"] == "done"
    with Collection.open(grower.folder) as collection:
        assert collection.journal.record(collection.journal.head()).on == TODAY


def test_a_tap_without_a_day_is_todays_and_one_from_ahead_too(grower: Grower) -> None:
    """A list left open overnight and a phone whose clock runs ahead write today."""
    clock = Clock()
    clock.now = moment(TODAY + timedelta(days=1))
    with client_of(grower.folder, clock) as client:
        sign_in(client)
        sent = {
            **task_of(client, "gable"),
            "form_token": form_token(client),
            "do": "done",
            "on": "2026-12-01",
        }
        assert client.post("/", data=sent, headers=JSON).json()["state"] == "done"
    with Collection.open(grower.folder) as collection:
        assert collection.journal.record(collection.journal.head()).on == clock.now.day


def test_empty_on_purpose_stands_on_the_row(grower: Grower) -> None:
    """Wherever the plant is shown, an emptied reservoir says so (design rule 8)."""
    with Collection.open(grower.folder) as collection:
        collection.record(ReservoirSet(on=TODAY, plant="pebble", to="empty"), now=moment(TODAY))
    clock = Clock()
    clock.now = moment(TODAY + timedelta(days=7))
    with client_of(grower.folder, clock) as client:
        sign_in(client)
        page = client.get("/").text
    row = re.search(r'data-plant="pebble".*?</form>', page, re.DOTALL)
    assert row is not None
    assert "EMPTY ON PURPOSE" in row[0]


def test_a_clock_that_cannot_be_believed_is_told_and_writes_nothing(grower: Grower) -> None:
    """Two years ahead: a banner, the newest entry's day is shown, and a tap is refused (design rule 23)."""
    clock = Clock()
    clock.now = replace(moment(TODAY.replace(year=2029)), is_given=False)
    with client_of(grower.folder, clock) as client:
        sign_in(client)
        page = client.get("/").text
        assert "The clock looks wrong" in page
        assert "Wednesday 21 October" in page
        before = entries_of(grower.folder)
        sent = {**task_of(client, "gable"), "form_token": form_token(client), "do": "done"}
        assert client.post("/", data=sent).status_code == 422
    assert entries_of(grower.folder) == before


def test_a_cold_night_stands_above_all_with_the_names(grower: Grower) -> None:
    """Who must come in tonight stands first with the numbers, then who is below another limit; in warmth nobody."""
    assert "tonight" not in grower.client.get("/").text
    clock = Clock()
    with Collection.open(grower.folder) as collection:
        cold = PlaceAdded(on=TODAY, place="balcony", place_kind="glazed-balcony", name="Balcony")
        collection.record(cold, now=moment(TODAY))
        collection.record(Moved(on=TODAY, plant="tide", place="balcony"), now=moment(TODAY))
    clock.now = moment(TODAY + timedelta(days=90))
    with client_of(grower.folder, clock) as client:
        sign_in(client)
        text = text_of(client.get("/").text)
    head = text[: text.index("January")]
    assert re.search(
        r"Tide at balcony: bring it where it is warm today.*Air 7 °C tonight.*its limit is 10 °C", head
    )
    assert re.search(r"limit is 10 °C Cold tonight for 2 plants East sill", head)


def test_what_was_assumed_is_asked_and_answered_by_a_tap(grower: Grower) -> None:
    """The page asks as `today` does; Yes makes it a fact, No takes it back, and it is asked no more."""
    with Collection.open(grower.folder) as collection:
        asked = today(collection, TODAY)["assumed"]
    assert len(asked) > 1
    page = grower.client.get("/").text
    assert all(row["text"] in page for row in asked)
    for row, word, kind in zip(asked, ("true", "untrue"), ("done", "missed"), strict=False):
        grower.send("/", word, plant=row["plant"], name=row["name"])
        assert entries_of(grower.folder)[-1] == (kind, "owner")
        assert row["text"] not in grower.client.get("/").text


def test_a_new_collection_is_asked_for_days_by_a_tap(tmp_path: Path) -> None:
    """The page asks as `today` does; one tap takes days that fit, another keeps things as they are, both end it."""
    diary = Diary(tmp_path, weekdays=None)
    for plant, size_cm in (("tide", 9), ("gull", 12)):
        diary.plant(plant, size_cm=size_cm)
    diary.writes(
        START, *(Done(on=START, plant=p, care="watering") for p in ("tide", "gull") for _ in range(6))
    )
    diary.close()
    folder, clock = tmp_path / "home", Clock()
    give_password(folder)
    clock.now = moment(START)
    with client_of(folder, clock) as client:
        sign_in(client)
        visitor = Grower(client, folder)
        assert "You now have twelve waterings written down." in client.get("/").text
        visitor.send("/", "take-days")
        assert entries_of(folder)[-1] == ("rounds-taken", "owner")
        page = client.get("/").text
        assert "care days that fit together: " in page
        assert "twelve waterings" not in page
        with Collection.open(folder) as collection:
            collection.record(*undo(collection, moment(START)), now=moment(START))
        assert "twelve waterings" in client.get("/").text
        visitor.send("/", "keep-days")
        assert entries_of(folder)[-1] == ("setting", "owner")
        assert "twelve waterings" not in client.get("/").text
