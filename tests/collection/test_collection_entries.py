"""What an entry refuses and what it cleans, before anything is written."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from carecal.collection.entries import (
    KINDS,
    Amended,
    CollectionStarted,
    Done,
    Entry,
    Left,
    Observed,
    Paused,
    PlaceAdded,
    PlantAdded,
    SettingChanged,
    SupplyFertiliser,
    SupplyWater,
)
from carecal.collection.entry_faults import sentences

DAY = date(2026, 11, 25)


def told(model: type[BaseModel], values: dict[str, object]) -> list[tuple[str, str]]:
    """The faults of an entry's values, in words."""
    with pytest.raises(ValidationError, match=model.__name__) as caught:
        model.model_validate({"on": DAY, **values})
    return sentences(caught.value, model)


BAD_NAMES = [
    ("Tide\nGable", "U+000A", "a line feed"),
    ("Tide\rGable", "U+000D", "a carriage return"),
    ("Tide\tGable", "U+0009", "a tab"),
    ("Tide\x07", "U+0007", "a bell"),
    ("Tide\x7f", "U+007F", "delete"),
    ("Tide\x85", "U+0085", "next line"),
    ("Tide\u2028", "U+2028", "a line separator"),
    ("Tide\u2029", "U+2029", "a paragraph separator"),
]


@pytest.mark.parametrize(("name", "sign", "reason"), BAD_NAMES)
@pytest.mark.parametrize("field", ["name", "medium", "profile"])
def test_names_hold_no_control_characters_or_line_breaks(
    name: str, sign: str, reason: str, field: str
) -> None:
    """The sign is named by its code, so that it can be found."""
    found = told(PlantAdded, {"plant": "tide", field: name})
    assert found == [(field, f"control character {sign} is not allowed; write it on one line")], reason


def test_half_of_a_surrogate_pair_is_no_text() -> None:
    """It could not be written to any file."""
    assert told(PlantAdded, {"plant": "tide", "name": "Tide\ud800"}) == [
        ("name", "'Tide\\ud800' is not one line of text")
    ]


def test_a_name_of_blanks_alone_is_refused() -> None:
    """A name that nobody can see is none."""
    assert told(PlantAdded, {"plant": "tide", "name": "  "}) == [
        ("name", "only spaces; write a name or leave it out")
    ]


@pytest.mark.parametrize("value", ["a\nb", "\x00"])
def test_settings_and_places_hold_one_line_too(value: str) -> None:
    """Every text but notes stands on one line."""
    assert told(SettingChanged, {"key": "address", "value": value})[0][0] == "value"
    assert told(PlaceAdded, {"place": "sill", "place_kind": value})[0][0] == "place_kind"


@given(st.text(max_size=200))
def test_a_note_is_cleaned_of_what_no_calendar_may_hold(text: str) -> None:
    """RFC 5545 section 3.3.11: no controls but tab, and the line feed that becomes an escape."""
    note = Observed(on=DAY, plant="tide", note=text).note
    assert note is not None
    assert all(sign in "\n\t" or sign >= " " for sign in note)
    assert not any("\x7f" <= sign <= "\x9f" or "\ud800" <= sign <= "\udfff" for sign in note)


def test_line_breaks_of_other_systems_become_line_feeds() -> None:
    """CR LF and CR are one line feed each; a tab stays."""
    assert Observed(on=DAY, plant="tide", note="a\r\nb\rc\td\x07").note == "a\nb\nc\td"


@pytest.mark.parametrize("photo", ["../tide.jpg", "a/b.jpg", ".hidden", "c:\\b.jpg"])
def test_a_photo_is_a_plain_file_name(photo: str) -> None:
    """A name never leads out of the photos folder."""
    assert told(Observed, {"plant": "tide", "photo": photo})[0][1].startswith("not a plain file name")


FAULTS = [
    (
        PlantAdded,
        {"plant": "Tide X"},
        "plant",
        "'Tide X' is not an id of small letters, digits and hyphens, at most 40",
    ),
    (
        PlantAdded,
        {"plant": "tide\n"},
        "plant",
        "'tide\\n' is not an id of small letters, digits and hyphens, at most 40",
    ),
    (PlantAdded, {"plant": "t", "size_cm": 500}, "size_cm", "500 is not a number from 3 to 60 [cm]"),
    (PlantAdded, {"plant": "t", "size_cm": -9}, "size_cm", "-9 is not a number from 3 to 60 [cm]"),
    (PlantAdded, {"plant": "t", "size_cm": float("nan")}, "size_cm", "nan is not a number from 3 to 60 [cm]"),
    (PlantAdded, {"plant": "t", "roots": 2.5}, "roots", "2.5 is not a whole number from 0 to 400"),
    (PlantAdded, {"plant": "t", "roots": -1}, "roots", "-1 is not a whole number from 0 to 400"),
    (
        PlantAdded,
        {"plant": "t", "aids": ("hat",)},
        "aids.0",
        "'hat' is not 'cloth' or 'moss-collar' or 'wrap' or 'stake' or 'shade'",
    ),
    (PlantAdded, {"plant": "t", "came": "soon"}, "came", "'soon' is not a date as 2026-11-25"),
    (
        Done,
        {"plant": "t", "care": "watering", "weight_g": 0},
        "weight_g",
        "0 is not a number above 0 to 60000 [g]",
    ),
    (
        CollectionStarted,
        {"name": "Quay", "latitude": 95, "longitude": 0},
        "latitude",
        "95 is not a number from -90 to 90",
    ),
    (
        PlaceAdded,
        {"place": "s", "place_kind": "sill", "climate": ({"month": 13},)},
        "climate.0.month",
        "13 is not a whole number from 1 to 12",
    ),
]


@pytest.mark.parametrize(("model", "values", "field", "sentence"), FAULTS)
def test_a_fault_names_the_value_and_what_is_allowed(
    model: type[BaseModel], values: dict[str, object], field: str, sentence: str
) -> None:
    """The sentence is whole without the model beside it."""
    assert dict(told(model, values))[field] == sentence


HERE = {"latitude": 0, "longitude": 0}
RANGES: list[tuple[type[BaseModel], dict[str, object], str, float, float, float, str]] = [
    (CollectionStarted, {"name": "Quay", "longitude": 0}, "latitude", -90, 90, 1e-6, "from pole to pole"),
    (CollectionStarted, {"name": "Quay", "latitude": 0}, "longitude", -180, 180, 1e-6, "once around"),
    (CollectionStarted, {**HERE, "name": "Quay"}, "elevation_m", -430, 5000, 0.5, "lowest shore, highest towns"),
    (PlaceAdded, {"place": "s", "place_kind": "sill"}, "lamp_hours", 0, 24, 1e-6, "a day"),
    (PlaceAdded, {"place": "s", "place_kind": "sill"}, "lamp_ppfd", 0, 2000, 0.5, "full sun is some 2000"),
    (PlaceAdded, {"place": "s", "place_kind": "sill"}, "winter_night_c", -30, 55, 0.01, "what a logger bears"),
    (PlantAdded, {"plant": "t"}, "size_cm", 3, 60, 0.01, "a plug's pot, a tub"),
    (PlantAdded, {"plant": "t"}, "roots", 0, 400, 1, "whole roots"),
    (PlantAdded, {"plant": "t"}, "longest_mm", 0, 2000, 0.5, "two metres"),
    (Done, {"plant": "t", "care": "watering"}, "weight_g", 1e-6, 60000, 0.5, "what scales read, more than nothing"),
    (Done, {"plant": "t", "care": "watering"}, "ec_ms_cm", 0, 20, 0.01, "what a pen reads"),
    (Left, {"plant": "t", "care": "watering"}, "again_days", 1, 60, 1, "tomorrow at the soonest"),
    (SupplyFertiliser, {"name": "salts", "p2o5_pct": 0, "k2o_pct": 0}, "n_pct", 0, 100, 0.01, "a share"),
    (SupplyFertiliser, {"name": "salts", "n_pct": 0, "k2o_pct": 0}, "p2o5_pct", 0, 100, 0.01, "a share"),
    (SupplyFertiliser, {"name": "salts", "n_pct": 0, "p2o5_pct": 0}, "k2o_pct", 0, 100, 0.01, "a share"),
    (SupplyWater, {"name": "tap"}, "ec_ms_cm", 0, 5, 0.01, "what a pen reads of tap water"),
    (SupplyWater, {"name": "tap", "ec_ms_cm": 0.5}, "ph", 0, 14, 0.01, "the scale of pH"),
    (SupplyWater, {"name": "tap", "ec_ms_cm": 0.5}, "alkalinity_mg_l", 0, 1000, 0.5, "as chalk"),
]  # fmt: skip


@pytest.mark.parametrize(("model", "others", "field", "least", "most", "step", "why"), RANGES)
def test_a_number_may_reach_both_ends_of_its_range_and_no_further(
    model: type[BaseModel],
    others: dict[str, object],
    field: str,
    least: float,
    most: float,
    step: float,
    why: str,
) -> None:
    """Oracle: what each number measures; bounds that nature does not draw are what the sentences promise."""
    for value in (least, most):
        assert getattr(model.model_validate({"on": DAY, **others, field: value}), field) == value, why
    for value in (least - step, most + step):
        assert field in dict(told(model, {**others, field: value})), why


@pytest.mark.parametrize(
    ("model", "values", "field", "most"),
    [
        (Observed, {"plant": "t"}, "note", 2000),
        (PlantAdded, {"plant": "t"}, "name", 80),
        (Observed, {"plant": "t"}, "photo", 200),
    ],
)
def test_a_text_may_be_as_long_as_the_refusal_says(
    model: type[BaseModel], values: dict[str, object], field: str, most: int
) -> None:
    """The longest is taken, one character more is refused and told how many are allowed."""
    assert getattr(model.model_validate({"on": DAY, **values, field: "a" * most}), field) == "a" * most
    assert f"at most {most} characters" in dict(told(model, {**values, field: "a" * (most + 1)}))[field]


def test_all_faults_of_an_entry_are_told_in_the_words_of_who_wrote_it() -> None:
    """A misspelt key and a value out of range stand together, under the names of the options."""
    with pytest.raises(ValidationError, match="PlantAdded") as caught:
        PlantAdded.model_validate({"on": DAY, "plant": "tide", "size_cm": 1, "colour": "red"})
    found = dict(sentences(caught.value, PlantAdded, {"size_cm": "size"}))
    assert found["size"] == "1 is not a number from 3 to 60 [cm]"
    assert found["colour"].startswith("unknown key; known are on, plant, name")


def test_every_kind_of_entry_has_a_name_of_its_own_and_survives_its_own_json() -> None:
    """The names in the journal are the models' own, each model stands there once."""
    models = [model for model in _leaves(Entry) if model.kind]
    assert sorted(KINDS) == sorted({model.kind for model in models})
    assert len(KINDS) == len(models)
    pause = Paused(on=DAY, care="feeding", plants=("tide",), start=DAY, every_year=False)
    assert KINDS["paused"].model_validate_json(pause.model_dump_json(), strict=True) == pause


def test_an_amendment_keeps_an_absent_value_among_its_changes() -> None:
    """Taking a value back is a change too."""
    dumped = Amended(on=DAY, entry=3, changes={"note": None}).model_dump(mode="json", exclude_none=True)
    assert dumped["changes"] == {"note": None}


@pytest.mark.parametrize("number", [float("inf"), float("nan")])
def test_an_amendment_holds_only_what_json_can_hold(number: float) -> None:
    """An infinite number would silently become an absent one."""
    found = dict(told(Amended, {"entry": 2, "changes": {"size_cm": number}}))
    assert "not JSON compliant" in found["changes"]


def _leaves(model: type[Entry]) -> list[type[Entry]]:
    below = [leaf for child in model.__subclasses__() for leaf in _leaves(child)]
    return below or [model]
