"""What is told of the sick and the weak, folded into a plant's state; worked by hand, old journals beside new ones."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from pydantic import ValidationError

from carecal.collection.entries import (
    AidSet,
    FeedStrengthSet,
    Forecast,
    Observed,
    PlaceAdded,
    PlantAdded,
    Potted,
    SpikeSet,
    SupplyWater,
    Treated,
    Tried,
)
from carecal.collection.entry_base import Entry
from carecal.collection.entry_faults import sentences
from carecal.collection.facts import CollectionFacts
from carecal.collection.plant_fold import FoldRules, fold_record
from carecal.collection.plants import PlantHistory
from carecal.collection.records import Record
from carecal.wording.entries import entry_sentence

DAY = date(2026, 1, 10)
RULES = FoldRules((), frozenset())


def on(days: int) -> date:
    """A day so long after the first."""
    return DAY + timedelta(days=days)


def record(number: int, entry: Entry) -> Record:
    """An entry as the journal gives it back."""
    data = entry.model_dump(mode="json", exclude={"on", "plant"}, exclude_none=True)
    return Record(number, number, entry.kind, 1, entry.on, "2026-01-10T08:00:00Z", "grower", data)


def told(monkeypatch: pytest.MonkeyPatch, *entries: Entry) -> PlantHistory:
    """The history of a plant of whom these things were told; stages are no matter here."""
    monkeypatch.setattr("carecal.collection.plant_fold.next_stage", lambda *_, **__: None)
    line = PlantHistory(1, "tide", "Tide", DAY.toordinal())
    for number, entry in enumerate([PlantAdded(on=DAY, plant="tide"), *entries], 1):
        fold_record(line, record(number, entry), RULES)
    return line


def seen(days: int, **values: Any) -> Observed:
    """An observation so many days after the first."""
    return Observed(on=on(days), plant="tide", **values)


def test_rot_in_two_places_runs_two_courses(monkeypatch: pytest.MonkeyPatch) -> None:
    """A root that rots does not end the course of the crown; issue text: rot is where it is."""
    line = told(monkeypatch, seen(0, seen="rot", where="crown"), seen(5, seen="rot", where="root"))
    found = {w.where: w.since - DAY.toordinal() for w in line.latest.pests}
    assert found == {"crown": 0, "root": 5}


def test_rot_found_again_in_a_place_starts_anew_and_counts(monkeypatch: pytest.MonkeyPatch) -> None:
    """The newest find is where the course begins; how often it was found is kept."""
    line = told(
        monkeypatch,
        seen(0, seen="rot", where="leaf"),
        seen(2, note="dry"),
        seen(4, seen="rot", where="leaf"),
        seen(6, note="dry"),
    )
    (watch,) = line.latest.pests
    assert (watch.since, watch.clean_looks) == (on(4).toordinal(), 1)
    assert watch.finds == (on(0).toordinal(), on(4).toordinal())


def test_rot_without_a_place_as_old_journals_have_it_gives_way_to_one_with_a_place(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Where is asked, never guessed: what was answered later is the same rot."""
    line = told(monkeypatch, seen(0, seen="rot"), seen(1, seen="rot", where="stem"))
    assert [w.where for w in line.latest.pests] == ["stem"]


def test_another_pest_is_one_watch_wherever_it_sits(monkeypatch: pytest.MonkeyPatch) -> None:
    """Mealybug on a leaf and at a root is one watch, as before."""
    line = told(monkeypatch, seen(0, seen="mealybug", where="leaf"), seen(3, seen="mealybug", where="root"))
    assert [(w.pest, w.where) for w in line.latest.pests] == [("mealybug", "root")]


def test_limp_of_an_old_journal_reads_as_soft(monkeypatch: pytest.MonkeyPatch) -> None:
    """The words on a plant are those of firmness.toml, each with its day."""
    line = told(monkeypatch, seen(0, firmness="firm"), seen(7, firmness="limp"), seen(9, leaves=3))
    assert line.latest.firmness == "soft"
    assert line.latest.is_soft
    assert [(day - DAY.toordinal(), word) for day, word in line.firmness] == [(0, "firm"), (7, "soft")]


@pytest.mark.parametrize(("word", "soft"), [(None, False), ("firm", False), ("soft", True), ("folded", True)])
def test_soft_is_whatever_is_known_not_to_be_firm(
    monkeypatch: pytest.MonkeyPatch, word: str | None, *, soft: bool
) -> None:
    """Nothing told is not soft."""
    assert told(monkeypatch, seen(1, firmness=word)).latest.is_soft is soft


def test_a_new_root_is_counted_anew_from_potting_and_wrapping(monkeypatch: pytest.MonkeyPatch) -> None:
    """Old roots never open a bag; taking a wrap off forgets nothing."""
    pot = Potted(on=on(3), plant="tide", medium="moss", container="plastic")
    wrap = AidSet(on=on(6), plant="tide", aid="wrap")
    assert told(monkeypatch, seen(1, newest_mm=12)).latest.newest_mm == 12
    assert told(monkeypatch, seen(1, newest_mm=12), pot).latest.newest_mm is None
    assert told(monkeypatch, seen(1, newest_mm=12), wrap).latest.newest_mm is None
    off = AidSet(on=on(9), plant="tide", aid="wrap", off=True)
    line = told(monkeypatch, wrap, seen(8, newest_mm=21), off)
    assert line.latest.newest_mm == 21


def test_a_spike_has_a_length_until_it_is_cut_or_over(monkeypatch: pytest.MonkeyPatch) -> None:
    """A length belongs to the spike that stands."""
    grown = seen(1, flowering="in-spike", spike_mm=120)
    assert told(monkeypatch, grown, seen(3, flowering="in-bloom")).latest.spike_mm == 120
    assert told(monkeypatch, grown, seen(3, flowering="spent")).latest.spike_mm is None
    assert told(monkeypatch, grown, SpikeSet(on=on(4), plant="tide", to="cut")).latest.spike_mm is None


def test_a_crown_is_lost_and_a_shoot_follows(monkeypatch: pytest.MonkeyPatch) -> None:
    """Both days stay; a crown lost once more begins anew."""
    line = told(monkeypatch, seen(0, crown="lost"), seen(90, crown="shoot"))
    assert (line.latest.crown_lost, line.latest.shoot) == (on(0).toordinal(), on(90).toordinal())
    again = told(monkeypatch, seen(0, crown="lost"), seen(90, crown="shoot"), seen(200, crown="lost"))
    assert (again.latest.crown_lost, again.latest.shoot) == (on(200).toordinal(), None)


def test_what_is_told_of_a_rest_a_strength_and_a_try_stays(monkeypatch: pytest.MonkeyPatch) -> None:
    """The newest word on the rest and on the strength, and every try with its day."""
    line = told(
        monkeypatch,
        seen(0, rest="begun"),
        seen(80, rest="over"),
        FeedStrengthSet(on=on(81), plant="tide", ppm_n=50),
        Tried(on=on(82), plant="tide", what="warmer"),
        Tried(on=on(110), plant="tide"),
    )
    assert (line.latest.rest, line.latest.rest_told) == ("over", on(80).toordinal())
    assert line.latest.feed_ppm_n == 50
    assert line.latest.tried == (("warmer", on(82).toordinal()), ("", on(110).toordinal()))
    line = told(
        monkeypatch, FeedStrengthSet(on=DAY, plant="tide", ppm_n=50), FeedStrengthSet(on=on(1), plant="tide")
    )
    assert line.latest.feed_ppm_n is None


def test_a_treatment_without_a_trouble_is_against_all_that_are_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two places of rot are one trouble."""
    line = told(
        monkeypatch,
        seen(0, seen="rot", where="crown"),
        seen(0, seen="rot", where="leaf"),
        Treated(on=on(1), plant="tide", did="cut"),
    )
    assert [(t.did, t.against) for t in line.latest.treatments] == [("cut", "rot")]


def test_a_forecast_is_kept_by_its_day_and_told_again_it_counts_anew() -> None:
    """What was told last of a day counts, and what it leaves out stays as it was told before."""
    facts = CollectionFacts()
    night, day = on(2), on(2).toordinal()
    told_so = [
        PlaceAdded(on=DAY, place="sill", place_kind="warm-sill"),
        Forecast(on=DAY, place="sill", day=night, night_c=6, day_c=12),
        Forecast(on=on(1), place="sill", day=night, night_c=3),
    ]
    for number, entry in enumerate(told_so, 1):
        facts.take(record(number, entry))
    assert facts.places["sill"].forecasts == {day: (3, 12, on(1).toordinal())}


def test_a_water_says_what_is_known_of_it_and_an_older_entry_says_its_conductivity_alone() -> None:
    """New fields have defaults, so that older journals fold as before."""
    facts = CollectionFacts()
    facts.take(record(1, SupplyWater(on=DAY, name="well", ec_ms_cm=0.9)))
    assert facts.waters["well"] == ("well", 0.9, None, None, None)
    known = SupplyWater(on=DAY, name="tap", ec_ms_cm=0.4, alkalinity_mg_l=120, ph=7.6, water_kind="tap")
    facts.take(record(2, known))
    assert facts.waters["tap"] == ("tap", 0.4, 120, 7.6, "tap")


@pytest.mark.parametrize(
    ("model", "values", "field", "sentence"),
    [
        (
            Forecast,
            {"place": "sill", "day": DAY},
            "day_c",
            "nothing was forecast; give the night, the day or both",
        ),
        (
            SupplyWater,
            {"name": "tap", "ec_ms_cm": 0.4, "ph": 15},
            "ph",
            "15 is not a number from 0 to 14",
        ),
        (
            SupplyWater,
            {"name": "tap", "ec_ms_cm": 0.4, "alkalinity_mg_l": -1},
            "alkalinity_mg_l",
            "-1 is not a number from 0 to 1000 [mg/L]",
        ),
        (
            FeedStrengthSet,
            {"plant": "tide", "ppm_n": 900},
            "ppm_n",
            "900 is not a number from 0 to 400 [mg/L N]",
        ),
        (Observed, {"plant": "tide", "crown": "dead"}, "crown", "'dead' is not 'lost' or 'shoot'"),
        (
            Observed,
            {"plant": "tide", "firmness": "mushy"},
            "firmness",
            "'mushy' is not 'firm' or 'soft' or 'wrinkled' or 'folded' or 'limp'",
        ),
        (Observed, {"plant": "tide", "newest_mm": -3}, "newest_mm", "-3 is not a number from 0 to 2000 [mm]"),
    ],
)
def test_what_cannot_be_is_refused_in_words(
    model: type[Entry], values: dict[str, Any], field: str, sentence: str
) -> None:
    """The field, the value and what is allowed."""
    with pytest.raises(ValidationError, match=model.__name__) as caught:
        model.model_validate({"on": DAY, **values})
    assert sentences(caught.value, model) == [(field, sentence)]


@pytest.mark.parametrize(
    ("entry", "text"),
    [
        (seen(0, newest_mm=12, crown="lost"), "Newest 12 mm, crown lost"),
        (seen(0, spike_mm=120, rest="over"), "Spike 120 mm, its rest is over"),
        (Tried(on=DAY, plant="tide", what="other-wrap", note="open now"), "Tried: other wrap: open now"),
        (Tried(on=DAY, plant="tide"), "Goes on as it is"),
        (FeedStrengthSet(on=DAY, plant="tide", ppm_n=50), "From now on fed at 50 ppm N at most"),
        (FeedStrengthSet(on=DAY, plant="tide"), "Fed as its kind asks again"),
        (
            Forecast(on=DAY, place="sill", day=on(2), night_c=6),
            "Forecast for sill on 12 January 2026: night 6 °C",
        ),
    ],
)
def test_each_new_entry_has_its_words(entry: Entry, text: str) -> None:
    """As people say it, without keys."""
    assert entry_sentence({"kind": entry.kind, **entry.model_dump(mode="json", exclude_none=True)}) == text
