"""`why` of a plant that is not fed: plain water, until when and why, and no advice how to feed it all the same."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from carecal.app.documents.why import why
from carecal.collection.entries import Moved, Paused, PlaceAdded
from carecal.wording.why import why_lines
from tests.app.diary import DAY, DUE, START, Diary, even_year

if TYPE_CHECKING:
    from carecal.app.door import Collection


def told(collection: Collection, day: date, plant: str) -> tuple[str, str]:
    """Return what `why` says of feeding, and all its lines."""
    document = why(collection, day, plant)
    return document["feeding"], "\n".join(why_lines(document))


def test_a_pause_ends_on_its_last_day(diary: Diary) -> None:
    """Paused up to 20 April, that day included; a month on it is fed again."""
    diary.plant()
    assert told(diary.collection, START, "tide")[0] == "Feeding is safe"
    diary.writes(DUE, Paused(on=DUE, care="feeding", start=DUE, until=date(2026, 4, 20)))
    said, lines = told(diary.collection, DUE + DAY, "tide")
    assert said == "Plain water until 20 April 2026, no feed: feeding is paused"
    assert "Feeding: plain water until 20 April 2026, no feed: feeding is paused" in lines
    assert told(diary.collection, date(2026, 4, 21), "tide")[0] == "Feeding is safe"


def test_a_rest_ends_by_its_sign(diary: Diary) -> None:
    """Dendrobium nobile rests in December: nobody knows until when, and nobody is told how to feed it."""
    diary.plant("mist", profile="dendrobium-nobile")
    said, lines = told(diary.collection, date(2026, 12, 10), "mist")
    assert said == "Plain water until its rest is over, no feed: the plant rests"
    assert "SHUT: the plant rests: no feed; opens when its rest is over" in lines
    assert "gate mist rest open" not in lines


def test_too_dark_is_said_though_no_gate_is_shut(diary: Diary) -> None:
    """0.4 mol a day is under the lowest class that is fed (light_classes.toml: 0.6), with all gates open."""
    diary.plant()
    diary.writes(
        START, PlaceAdded(on=START, place="hall", place_kind="warm-sill", climate=even_year(light=0.4))
    )
    diary.writes(START, Moved(on=START, plant="tide", place="hall"))
    said, lines = told(diary.collection, DUE, "tide")
    assert said == "Plain water, no feed: too dark to grow"
    assert "SHUT" not in lines


def test_heat_is_plain_water_with_no_way_round_it(diary: Diary) -> None:
    """34 °C by day all year, over the 33 of weather_limits.toml: no feed, and no command to feed all the same."""
    diary.plant()
    diary.writes(START, PlaceAdded(on=START, place="attic", place_kind="warm-sill", climate=even_year(34.0)))
    diary.writes(START, Moved(on=START, plant="tide", place="attic"))
    said, lines = told(diary.collection, DUE, "tide")
    assert said.startswith("Plain water, no feed: days above ")
    assert "gate tide heat open" not in lines
