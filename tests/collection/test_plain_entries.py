"""Entries that are taken without their models; oracle: the models, which pydantic checks and dumps."""

from __future__ import annotations

import subprocess
import sys
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from carecal.app.make_entries import make_daily
from carecal.collection.entries_care import Done, Left, Missed
from carecal.collection.entry_limits import doubts
from carecal.collection.plain_entries import PATH, PlainEntry, plain_entry
from carecal.errors import Refused
from scripts.plain_fields import MODELS, plain_fields

if TYPE_CHECKING:
    from pathlib import Path

BY_KIND = {model.kind: model for model in MODELS}
WORDS = st.sampled_from(
    [
        "watering", "refilling", "feeding", "damp", "right", "parched", "cloth", "wrap", "tide", "tide-2", "Tide",
        "tide\n", "-tide", "", " ", "task/7/2/wetting/31", "a\x00b", "x" * 400, "x" * 401, "\ud800", "2026-11-25",
    ]
)  # fmt: skip
NUMBERS = st.one_of(
    st.sampled_from(
        [0, 1, 20, 60, 400, 401, 60000, 60001, -1, 20.5, float("inf"), float("nan"), True, 10**400]
    ),
    st.floats(-1, 70000),
)
MIDNIGHT = datetime.fromisoformat("2026-11-25T00:00:00")
DAYS = st.sampled_from([date(2026, 11, 25), date(1, 1, 1), MIDNIGHT, MIDNIGHT.replace(hour=9)])
VALUES = st.one_of(WORDS, NUMBERS, DAYS, st.sampled_from([None, True, False, "0", b"tide", ["tide"]]))
DUMPED: dict[str, Any] = {"mode": "json", "exclude_none": True, "exclude": {"on", "plant"}}


@st.composite
def said(draw: st.DrawFn) -> tuple[str, dict[str, object]]:
    """Return a kind and what is said: mostly right, with some values that may be anything."""
    kind = draw(st.sampled_from(sorted(BY_KIND)))
    values: dict[str, object] = {
        "on": date(2026, 11, 25),
        "plant": "tide",
        "care": "watering",
        "task": "look/7/2",
    }
    if kind in {"excepted", "missed"}:
        del values["task" if kind == "missed" else "care"]
    for name in draw(st.lists(st.sampled_from([*BY_KIND[kind].model_fields, "other"]), max_size=3)):
        values[name] = draw(VALUES)
    return kind, values


@settings(max_examples=400, deadline=None)
@given(said())
def test_what_is_plain_is_taken_by_the_model_and_dumped_alike(entry: tuple[str, dict[str, object]]) -> None:
    """Whatever is said: an entry that is taken is the model's, field by field; what the model refuses is not plain."""
    kind, values = entry
    plain = plain_entry(kind, values)
    try:
        model = BY_KIND[kind].model_validate({k: v for k, v in values.items() if v is not None})
    except ValidationError:
        assert plain is None
        return
    if plain is not None:
        assert plain.model_dump(**DUMPED) == model.model_dump(**DUMPED)
        assert repr(list(plain.model_dump(**DUMPED).items())) == repr(
            list(model.model_dump(**DUMPED).items())
        )
        assert {name: getattr(plain, name) for name in type(model).model_fields} == dict(model)
        assert (plain.kind, list(doubts(plain))) == (model.kind, list(doubts(model)))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("kind", "values"),
    [
        ("done", {"care": "watering"}),
        ("done", {"care": "watering", "felt": "right", "weight_g": 412, "ec_ms_cm": 0.6}),
        ("done", {"care": "feeding", "ppm_n": 60.0, "task": "task/7/2/wetting/31", "unseen": True}),
        ("left", {"care": "watering", "again_days": 2}),
        ("missed", {}),
        ("excepted", {"task": "look/7/2"}),
    ],
)
def test_what_a_grower_says_every_day_is_plain(kind: Any, values: dict[str, object]) -> None:
    """What `done`, `leave` and `missed` make is taken without a model."""
    assert isinstance(make_daily(kind, on=date(2026, 11, 25), plant="tide", **values), PlainEntry)


def test_what_is_not_plain_is_for_the_model_to_judge() -> None:
    """A note is cleaned by it, a number too large is refused by it in words."""
    day = date(2026, 11, 25)
    assert make_daily("done", on=day, plant="tide", care="watering", note="a\r\nb") == Done(
        on=day, plant="tide", care="watering", note="a\nb"
    )
    assert isinstance(make_daily("left", on=day, plant="tide", care="watering", again_days=2.0), Left)
    assert isinstance(make_daily("missed", on=day, plant="tide", care="watering").kind, str)
    with pytest.raises(Refused, match="again"):
        make_daily("left", on=day, plant="tide", care="watering", again_days=61)
    with pytest.raises(Refused, match="care"):
        make_daily("missed", on=day, plant="tide", care="feeding")
    assert Missed(on=day, plant="tide").care == "watering"


def test_a_note_is_added_as_to_a_model() -> None:
    """What a calendar program wrote into a to-do comes to the entry of its tick."""
    words: dict[str, Any] = {"on": date(2026, 11, 25), "plant": "tide", "care": "watering"}
    plain = make_daily("done", **words).model_copy(update={"note": "dry"})
    assert plain.model_dump(**DUMPED) == Done(**words, note="dry").model_dump(**DUMPED)


def test_it_has_no_other_fields_and_dumps_in_one_way() -> None:
    """As the models: a name that is none is an error; the journal alone has it dumped."""
    entry = make_daily("missed", on=date(2026, 11, 25), plant="tide")
    with pytest.raises(AttributeError, match="felt"):
        _ = entry.felt  # type: ignore[attr-defined]
    with pytest.raises(ValueError, match="python"):
        entry.model_dump(**{**DUMPED, "mode": "python"})


def test_the_file_is_what_the_models_say() -> None:
    """If not, run `python -m scripts.make_tables`."""
    assert PATH.read_text(encoding="utf-8") == plain_fields()


def test_done_needs_no_library_that_checks_entries(tmp_path: Path) -> None:
    """The modules of `done` are imported without it, else it would cost more than the plan."""
    words = "import sys, carecal.app.engine, carecal.app.actions.care; print('pydantic' in sys.modules)"
    found = subprocess.run(
        [sys.executable, "-c", words], capture_output=True, text=True, check=True, cwd=tmp_path
    )
    assert found.stdout == "False\n"
