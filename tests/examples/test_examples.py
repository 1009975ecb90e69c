"""The files in `examples/` are read whole, agree with the example collection and say what their README says."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from carecal.app import Collection
from carecal.app.files.care_notes import notes_of
from carecal.collection.entries import CollectionStarted, PlaceAdded, PlantAdded
from carecal.collection.logger_files import read_logger
from carecal.collection.plant_list import read_plant_list
from carecal.collection.start_file import read_start_file
from carecal.collection.text_files import read_table
from tests.app.demo_plays import DAY, moment, play

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
MAPPING = {"Label": "id", "Called": "name", "Pot (cm)": "size_cm"}


@pytest.fixture
def started(tmp_path: Path) -> Iterator[Collection]:
    """Return a collection made of the start file."""
    first, *rest = read_start_file(EXAMPLES / "harbour-house.toml", on=DAY)
    assert isinstance(first, CollectionStarted)
    with Collection.start(tmp_path / "quay", first, moment(DAY)) as collection:
        collection.record(*rest, now=moment(DAY))
        yield collection


def test_every_file_is_told_of_in_the_readme() -> None:
    """Each file but the README itself stands in its table."""
    text = (EXAMPLES / "README.md").read_text(encoding="utf-8")
    assert sorted(p.name for p in EXAMPLES.iterdir() if f"`{p.name}`" not in text) == ["README.md"]


def test_the_start_file_names_the_places_and_plants_of_the_demo(tmp_path: Path) -> None:
    """Same places of the same kinds, same living plants in the same pots as the example collection."""
    entries = read_start_file(EXAMPLES / "harbour-house.toml", on=DAY)
    with play(tmp_path) as home:
        timeline = home.timeline(DAY)
    places = {p.id: (p.specs[0].place_kind, p.specs[0].aspect) for p in timeline.facts.places.values()}
    pots = {
        line.id: (line.latest.medium, line.latest.container, line.latest.profile)
        for line in timeline.living()
    }
    assert {e.place: (e.place_kind, e.aspect) for e in entries if isinstance(e, PlaceAdded)} == places
    assert {
        e.plant: (e.medium, e.container, e.profile or "phalaenopsis")
        for e in entries
        if isinstance(e, PlantAdded)
    } == pots


def test_the_start_file_makes_a_collection_that_plans(started: Collection) -> None:
    """Every plant has a task, and those that came lately stand in quarantine."""
    plan = started.plan(DAY)
    assert {task.plant for task in plan.tasks} == {view.number for view in plan.plants}
    assert {v.id for v in plan.plants if "quarantine" in v.states} == {"pebble", "cleat"}


def test_the_plant_list_joins_the_start_file(started: Collection) -> None:
    """With its three strange headings mapped, all six plants come in; the unknown one is asked for what it is."""
    plants = read_plant_list(EXAMPLES / "plants.csv", MAPPING, on=DAY)
    started.record(*plants, now=moment(DAY))
    plan = started.plan(DAY)
    scupper = plan.plant(started.number_of("scupper"))
    assert len(plan.plants) == 24 + 6
    assert scupper.medium is None
    assert "medium" in next(t.asks for t in plan.tasks if t.plant == scupper.number)


def test_the_notebook_joins_the_start_file(started: Collection) -> None:
    """Its nineteen rows come in by one foreign heading; `all` names every plant that had come by then."""
    table = read_table(EXAMPLES / "care.csv")
    found = notes_of(started, moment(DAY), table, {"Pot": "plant"})
    there = [
        line
        for line in started.timeline(DAY).living()
        if (line.latest.came or 0) <= date(2026, 8, 1).toordinal()
    ]
    of_all = [e for e in found.entries if e.on == date(2026, 8, 1)]
    assert len(of_all) == len([line for line in there if line.latest.came is not None])
    assert len(found.entries) - len(of_all) == 18 - 1  # the repotting is known by the start file


def test_the_loggers_headings_are_guessed() -> None:
    """Temperature, humidity and the probe in the bark are found; dew point and battery are left alone."""
    read = read_logger(EXAMPLES / "logger-bedroom.csv", zone=ZoneInfo("Europe/Berlin"))
    assert [text.split("'")[1] for text in read.columns] == [
        "Time stamp (local)",
        "Air temp. [°C]",
        "Rel. humidity %",
        "Probe in bark °C",
    ]
    assert [day.day for day in read.days] == [date(2026, 11, 11) + timedelta(days=n) for n in range(14)]
    assert all(10 < (day.temp_mean_c or 0) < 18 and 50 < (day.rh_mean_pct or 0) < 65 for day in read.days)
