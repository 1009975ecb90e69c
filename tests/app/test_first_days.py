"""A new collection is asked once for days that fit together; oracle: days and waterings counted on fingers."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from carecal.app.near.first_days import asked_once, first_known, is_settled
from carecal.catalog.load import load_catalog
from carecal.collection.entries import Done, PlantAdded, RoundsTaken, SettingChanged
from carecal.wording.rounds import fitting_asked
from tests.app.diary import DAY, START, even_year
from tests.bench import Bench

if TYPE_CHECKING:
    from carecal.catalog.tables import Catalog

TWELFTH = START + 5 * DAY


@pytest.fixture(scope="module")
def catalog() -> Catalog:
    """Return the project's own catalog."""
    return load_catalog()


def house(catalog: Catalog, *plants: str, days: int = 6) -> Bench:
    """Return plants that were watered on so many days running, each on the day it is written down."""
    bench = Bench(catalog, START).place("sill", even_year(), START)
    values = {"on": START, "medium": "bark", "container": "plastic", "size_cm": 12, "place": "sill"}
    for plant in plants:
        bench.write(PlantAdded.model_validate({"plant": plant, "stage": "established", **values}))
    for passed in range(days):
        for plant in plants:
            bench.write(Done(on=START + passed * DAY, plant=plant, care="watering"))
    return bench


def asked(bench: Bench, as_of: date) -> dict[str, str] | None:
    """Return what is asked on a day, from the same parts as the round of that day."""
    timeline = bench.planner(as_of).timeline
    rows: list[dict[str, Any]] = [{"wetted": first_known(line)} for line in timeline.plants.values()]
    return asked_once({"has_days": is_settled(timeline.facts)}, rows, as_of)


def test_it_is_asked_from_the_twelfth_watering_for_two_weeks(catalog: Catalog) -> None:
    """Two plants on six days: the twelfth is of 7 March, so the 20th is the last day of the question."""
    bench = house(catalog, "tide", "gull")
    assert asked(bench, TWELFTH - DAY) is None
    found = asked(bench, TWELFTH)
    assert found is not None
    assert found["until"] == "2026-03-20"
    assert asked(bench, date(2026, 3, 20)) == found
    assert asked(bench, date(2026, 3, 21)) is None
    assert asked(bench, date(2026, 9, 1)) is None


def test_more_waterings_change_nothing_of_it(catalog: Catalog) -> None:
    """Who waters on is not asked anew: the first twelve are known once."""
    assert asked(house(catalog, "tide", "gull", days=9), date(2026, 3, 21)) is None


def test_the_question_and_its_answers_in_words(catalog: Catalog) -> None:
    """One word either way, as it can be typed."""
    found = asked(house(catalog, "tide", "gull"), TWELFTH)
    assert found is not None
    assert fitting_asked(found["text"]) == [
        "? You now have twelve waterings written down. `carecal rounds suggest` shows days that fit them together.",
        "  yes: carecal rounds take   no: carecal rounds keep",
    ]


@pytest.mark.parametrize(
    "entry",
    [
        SettingChanged(on=TWELFTH, key="care-days", value="keep"),
        SettingChanged(on=TWELFTH, key="weekdays", value="sun"),
        RoundsTaken(on=TWELFTH, dates=(TWELFTH + timedelta(days=3),)),
    ],
    ids=["keeps", "weekdays", "takes"],
)
def test_nobody_is_asked_who_has_answered(catalog: Catalog, entry: SettingChanged | RoundsTaken) -> None:
    """Who keeps the days as they are, set weekdays or took dates is left in peace."""
    assert asked(house(catalog, "tide", "gull").write(entry), TWELFTH + DAY) is None


@pytest.mark.parametrize(("plants", "days"), [(("tide",), 14), (("tide", "gull"), 5)])
def test_nobody_is_asked_before_there_is_something_to_fit(
    catalog: Catalog, plants: tuple[str, ...], days: int
) -> None:
    """One plant alone fits itself, and ten waterings are not twelve."""
    assert asked(house(catalog, *plants, days=days), START + days * DAY) is None
