"""Who is under a limit tonight: by normals, by readings, by a low that is given."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from carecal.catalog.tables import Catalog
from carecal.collection.entries import PlantAdded, Readings, ReadingsDay, Retired
from carecal.errors import Refused
from carecal.horticulture.air import medium_temperature, wet_bulb
from carecal.planning.places.tonight import ColdNight, tonight
from tests.bench import Bench
from tests.planning.step_situations import START, Climate, build

FIRM = {"medium": "bark", "container": "plastic", "size_cm": 12, "stage": "established"}
WINTER = date(2026, 1, 15)


def collection(catalog: Catalog, climate: Climate) -> Bench:
    """Return 'tide' in the living room, 'gable' in a net pot there, 'winch' on the balcony, 'lamp' over a reservoir."""
    bench = build(catalog, climate, FIRM, place="living-room")
    bench.write(
        PlantAdded(
            on=START,
            plant="gable",
            medium="bark",
            container="net",
            size_cm=12,
            place="living-room",
            stage="established",
        )
    )
    bench.write(
        PlantAdded(
            on=START,
            plant="winch",
            medium="bark",
            container="plastic",
            size_cm=12,
            place="glazed-balcony",
            stage="established",
        )
    )
    bench.write(
        PlantAdded(
            on=START,
            plant="lamp",
            medium="lava",
            container="reservoir",
            size_cm=12,
            place="stair-window",
            stage="established",
        )
    )
    return bench


def by_name(
    bench: Bench, as_of: date, low_c: float | None = None, place: str | None = None
) -> dict[str, ColdNight]:
    """Return the rows by plant."""
    return {row.name: row for row in tonight(bench.planner(as_of).plant_planners.values(), low_c, place)}


def test_the_medium_decides_not_the_room(catalog: Catalog, demo_climate: Climate) -> None:
    """In one room the net pot is under 15.6 °C, the plastic pot is not; oracle: checks_windows WIN13, WIN15."""
    rows = by_name(collection(catalog, demo_climate), WINTER)
    assert "Tide" not in rows
    assert rows["Gable"].limit == "night"
    assert abs(rows["Gable"].medium_c - 14.71) < 0.2


def test_the_urgent_come_first_and_each_has_its_remedy(catalog: Catalog, demo_climate: Climate) -> None:
    """A balcony at 1 °C before a reservoir at 12 °C before a net pot; oracle: profiles.csv, steps.csv."""
    rows = tonight(collection(catalog, demo_climate).planner(WINTER).plant_planners.values())
    assert [(row.name, row.limit) for row in rows] == [
        ("Winch", "urgent"),
        ("Lamp", "reservoir"),
        ("Gable", "night"),
    ]
    assert all(row.text and row.below_c > 0 for row in rows)


def test_a_low_that_is_given_holds_where_nothing_is_heated(catalog: Catalog, demo_climate: Climate) -> None:
    """In July 8 °C outside endangers the balcony alone; named, it holds for the place asked about."""
    bench, july = collection(catalog, demo_climate), date(2026, 7, 15)
    assert {name: row.limit for name, row in by_name(bench, july).items()} == {"Winch": "night"}
    assert {name: row.limit for name, row in by_name(bench, july, 8.0).items()} == {"Winch": "urgent"}
    assert set(by_name(bench, july, 12.0, "living-room")) == {"Tide", "Gable"}


def test_a_low_cools_the_medium_by_its_container(catalog: Catalog, demo_climate: Climate) -> None:
    """At a given low the day's vapour pressure sets the wet bulb; oracle: models A5 by the air functions."""
    bench = collection(catalog, demo_climate)
    planner = bench.planner(date(2026, 7, 15))
    air = planner.context.air("living-room", planner.context.as_of)
    assert air is not None
    row = next(r for r in tonight(planner.plant_planners.values(), 15.0, "living-room") if r.name == "Gable")
    saturated = 0.6108 * 2.718281828459045 ** (17.27 * 15 / (15 + 237.3))
    rh = min(100.0, 100 * air.at("ea_kpa", planner.context.as_of) / saturated)
    cooling = catalog.containers["net"].cooling[air.air_on(planner.context.as_of)]
    assert abs(row.medium_c - medium_temperature(15.0, wet_bulb(15.0, rh, 101.3), cooling)) < 0.02


def test_readings_move_the_night(catalog: Catalog, demo_climate: Climate) -> None:
    """Ten days at 13 °C in a room of 19.5 make the plastic pot cold too; oracle: models B6."""
    bench = collection(catalog, demo_climate)
    days = tuple(ReadingsDay(day=WINTER - timedelta(days=n), temp_mean_c=13.0) for n in range(10))
    bench.write(Readings(on=WINTER, place="living-room", days=days))
    assert "Tide" in by_name(bench, WINTER)


def test_a_night_in_other_degrees_is_refused(catalog: Catalog, demo_climate: Climate) -> None:
    """50 is no night in degrees Celsius; the range is named."""
    plant_planners = collection(catalog, demo_climate).planner(WINTER).plant_planners.values()
    with pytest.raises(Refused, match="allowed are -40 to 45"):
        tonight(plant_planners, 50.0)


def test_a_plant_that_has_left_is_not_named(catalog: Catalog, demo_climate: Climate) -> None:
    """Retired plants are never cold."""
    bench = collection(catalog, demo_climate)
    bench.write(Retired(on=date(2025, 12, 1), plant="winch", because="given-away"))
    assert "Winch" not in by_name(bench, WINTER)
