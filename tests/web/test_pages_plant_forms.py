"""Every form of the pages writes the entry of its command, or says why not and writes nothing."""

from __future__ import annotations

import re
from typing import Any

import pytest

from carecal.app import Collection
from carecal.collection.entries import PlantAdded
from tests.stories.quay import TODAY, moment
from tests.web.pages_grower import Grower, text_of

FORMS: list[tuple[str, str, dict[str, Any], str, dict[str, Any]]] = [
    (
        "tide",
        "done",
        {"care": "watering", "felt": "right", "weight": "512,5"},
        "done",
        {"felt": "right", "weight_g": 512.5},
    ),
    ("tide", "leave", {"care": "watering", "again": "3"}, "left", {"again_days": 3, "felt": "damp"}),
    (
        "tide",
        "observe",
        {"roots": "5", "longest": "60", "note": "new tip"},
        "observed",
        {"roots": 5, "longest_mm": 60.0},
    ),
    (
        "tide",
        "observe",
        {"seen": "mealybug", "where": "leaf"},
        "observed",
        {"seen": "mealybug", "where": "leaf"},
    ),
    ("tide", "observe", {"unknown": "1"}, "observed", {"shows_unknown": True}),
    (
        "gable",
        "observe",
        {"newest": "22,5", "tips": "1"},
        "observed",
        {"newest_mm": 22.5, "tips": 1},
    ),
    ("lantern", "observe", {"spike": "110"}, "observed", {"spike_mm": 110.0}),
    ("winch", "tried", {"what": "warmer", "note": "by the stove"}, "tried", {"what": "warmer"}),
    ("winch", "tried", {"what": ""}, "tried", {"what": None}),
    (
        "tide",
        "pot",
        {"medium": "moss", "container": "net", "size": "10", "dry_pot": "1", "sure": "1"},
        "potted",
        {"medium": "moss", "container": "net", "size_cm": 10.0, "watered": False},
    ),
    (
        "tide",
        "pot",
        {"medium": "bark", "container": "plastic", "on": "2026-11-20", "planned": "1"},
        "potting-planned",
        {"day": "2026-11-20"},
    ),
    ("tide", "move", {"place": "bathroom"}, "moved", {"place": "bathroom"}),
    (
        "tide",
        "move",
        {"place": "bathroom", "on": "2026-11-02", "planned": "1"},
        "move-planned",
        {"day": "2026-11-02"},
    ),
    (
        "tide",
        "pause",
        {"care": "feeding", "until": "2026-12-01"},
        "paused",
        {"care": "feeding", "until": "2026-12-01"},
    ),
    (
        "tide",
        "pause",
        {"care": "feeding", "start": "2026-11-01", "until": "2027-02-28", "yearly": "1"},
        "paused",
        {"every_year": True},
    ),
    ("tide", "aid", {"aid": "stake", "to": "on"}, "aid", {"aid": "stake", "off": False}),
    ("winch", "aid", {"aid": "cloth", "to": "off"}, "aid", {"aid": "cloth", "off": True}),
    ("pebble", "reservoir", {"to": "empty"}, "reservoir", {"to": "empty"}),
    (
        "tide",
        "quarantine",
        {"to": "begin", "until": "2026-11-18"},
        "quarantine",
        {"until": "2026-11-18", "end": False},
    ),
    ("tide", "bloom", {"to": "not-yet"}, "bloom", {"to": "not-yet"}),
    ("lantern", "spike", {"to": "cut"}, "spike", {"to": "cut"}),
    ("tide", "missed", {"care": "watering"}, "missed", {"care": "watering"}),
    ("tide", "weigh", {"weight": "640", "mark": "full"}, "weighed", {"weight_g": 640.0, "mark": "full"}),
    ("tide", "rename", {"name": "Ebb"}, "renamed", {"name": "Ebb"}),
    (
        "tide",
        "retire",
        {"because": "given-away", "note": "to a friend"},
        "retired",
        {"because": "given-away"},
    ),
]


@pytest.mark.parametrize(
    ("plant", "did", "values", "kind", "data"), FORMS, ids=[f"{p}-{d}-{k}" for p, d, _, k, _ in FORMS]
)
def test_form_of_a_plant_writes_its_entry(
    grower: Grower, plant: str, did: str, values: dict[str, Any], kind: str, data: dict[str, Any]
) -> None:
    """Each form on the plant's page writes one entry of its kind with what was typed, dated today."""
    before = len(grower.records())
    grower.write(f"/plants/{plant}", did, **values)
    written = [each for each in grower.records()[before:] if each.kind != "beside"]  # who stood beside a find
    record = written[0]
    assert len(written) == 1
    assert (record.kind, record.on, record.by) == (kind, TODAY, "owner")
    assert {key: record.data.get(key) for key in data} == data


@pytest.mark.parametrize(
    ("plant", "did", "values", "kind", "data"), FORMS[:4], ids=[f"{p}-{d}-{k}" for p, d, _, k, _ in FORMS[:4]]
)
def test_form_tells_first_what_it_would_change(
    grower: Grower, plant: str, did: str, values: dict[str, Any], kind: str, data: dict[str, Any]
) -> None:
    """'What would change?' writes nothing and leads to a page whose button then does write."""
    before = grower.records()
    answer = grower.send(f"/plants/{plant}", did, dry="1", **values)
    assert answer.status_code == 200
    assert "Nothing is written yet" in text_of(answer.text)
    assert grower.records() == before
    sent = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', answer.text))
    assert grower.client.post(f"/plants/{plant}", data=sent).status_code == 303
    told = grower.records()[len(before)]
    assert told.kind == kind
    assert {key: told.data.get(key) for key in data} == data


def test_resume_ends_the_pause_of_its_plant(grower: Grower) -> None:
    """What was paused goes on; without a pause the form is refused."""
    assert grower.send("/plants/tide", "resume", care="feeding").status_code == 422
    grower.write("/plants/tide", "pause", care="feeding")
    grower.write("/plants/tide", "resume", care="feeding")
    assert grower.newest().kind == "resumed"


def test_gate_is_held_open_by_hand(grower: Grower) -> None:
    """The gates that may be held open are offered; holding one says so on the page."""
    form = next(f for f in grower.page("/plants/tide/gate").forms if f["fields"].get("do") == "gate")
    assert form["names"] >= {"gate", "to", "on"}
    grower.write("/plants/tide", "gate", gate="medium-temperature", to="open")
    assert grower.newest().data["gate"] == "medium-temperature"


def test_unusual_count_is_asked_about_and_then_taken(grower: Grower) -> None:
    """Four roots that become ninety are asked about; 'yes' writes them."""
    before = grower.records()
    answer = grower.send("/plants/gable", "observe", roots="90")
    assert answer.status_code == 409
    assert grower.records() == before
    sent = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', answer.text))
    assert grower.client.post("/plants/gable", data=sent).status_code == 303
    assert grower.newest().data["roots"] == 90


@pytest.mark.parametrize(
    ("did", "values", "says"),
    [
        ("pot", {"medium": "moss", "container": "reservoir"}, "does not go into"),
        ("move", {"place": "east-sill"}, "already"),
        ("done", {"care": "watering", "on": "2027-01-01"}, "2027-01-01"),
        ("done", {"care": "watering", "weight": "heavy"}, "not a number"),
        ("observe", {"roots": "2.5"}, "not a whole number"),
        ("observe", {}, "nothing was said"),
        ("weigh", {}, "weight is missing"),
        ("retire", {"because": "merged"}, "into"),
        ("pause", {"care": "feeding", "yearly": "1"}, "last day"),
    ],
)
def test_what_does_not_fit_is_said_and_not_written(
    grower: Grower, did: str, values: dict[str, Any], says: str
) -> None:
    """A refusal names what does not fit, in the words of the command line without its dashes."""
    before = grower.records()
    answer = grower.send("/plants/tide", did, **values)
    assert answer.status_code == 422
    assert says.casefold() in text_of(answer.text).casefold()
    assert "--" not in text_of(answer.text)
    assert grower.records() == before


def test_renamed_plant_has_its_page_under_the_new_id(grower: Grower) -> None:
    """The form leads to the new address; the old one is gone."""
    answer = grower.send("/plants/tide", "rename", to="ebb", name="Ebb")
    assert answer.headers["location"] == "/plants/ebb"
    grower.read("/plants/ebb")
    grower.read("/plants/tide", 404)


def test_plant_that_left_shows_its_log_and_no_forms(grower: Grower) -> None:
    """After it was lost the page tells when and why, and what may have led to it."""
    grower.write("/plants/tide", "retire", because="lost")
    page = grower.read("/plants/tide")
    assert "left 21 October 2026: lost" in text_of(page)
    assert 'value="observe"' not in page
    assert "tide" not in text_of(grower.read("/plants")).casefold().split()
    assert "tide" in text_of(grower.read("/plants?left=1")).casefold().split()


def test_keiki_is_parted_from_its_mother(grower: Grower) -> None:
    """Only a plant on its mother has the form, and it gets a pot of its own by it."""
    with Collection.open(grower.folder) as collection:
        collection.record(
            PlantAdded(on=TODAY, plant="dinghy", on_mother="tide", roots=3, longest_mm=55, leaves=3),
            now=moment(TODAY),
        )
    assert "/plants/tide/part" not in grower.read("/plants/tide")
    grower.write("/plants/dinghy", "part", medium="moss", container="net", size="7")
    assert grower.newest().kind == "parted"
