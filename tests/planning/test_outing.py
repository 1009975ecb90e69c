"""Who may go outdoors in given air, in what order, and back by when."""

from __future__ import annotations

from datetime import date

import pytest

from carecal.catalog.tables import Catalog
from carecal.collection.entries import PlantAdded
from carecal.errors import Refused
from carecal.planning.places.outing import Outing, outing
from tests.bench import Bench
from tests.planning.step_situations import START, Climate, build

FIRM = {"medium": "bark", "container": "plastic", "size_cm": 12, "stage": "established"}
SUMMER = date(2026, 6, 20)


def collection(catalog: Catalog, climate: Climate) -> Bench:
    """Return plants of every stage, one wrapped, one in spike, one in quarantine."""
    bench = build(catalog, climate, FIRM, place="living-room")
    for name, fields in {
        "gable": {"stage": "new-tips"},
        "winch": {"stage": "rooting-in"},
        "pebble": {"stage": "rootless"},
        "lamp": {"stage": "established", "flowering": "in-spike"},
        "lantern": {"stage": "rooting-in", "came": "2026-06-10"},
        "bollard": {"stage": "rootless", "container": "bag", "medium": "moss"},
    }.items():
        on = "2026-06-11" if name in {"lantern", "lamp"} else START
        bench.write(
            PlantAdded.model_validate({"on": on, "plant": name, **FIRM, "place": "living-room", **fields})
        )
    return bench


def rows(bench: Bench, temp_c: float, rh_pct: float = 60, air: str = "gentle") -> list[Outing]:
    """Return the outing of a summer day."""
    return outing(bench.planner(SUMMER).plant_planners.values(), temp_c, rh_pct, air)


def test_the_weakest_go_first_and_who_stays_in_comes_last(catalog: Catalog, demo_climate: Climate) -> None:
    """New tips before rooting in before established; oracle: design rule 12."""
    found = rows(collection(catalog, demo_climate), 23)
    assert [row.name for row in found if row.may_go] == ["Gable", "Winch", "Tide"]
    assert {row.name for row in found if not row.may_go} == {"Pebble", "Lamp", "Lantern", "Bollard"}
    assert [row.may_go for row in found] == sorted((row.may_go for row in found), reverse=True)
    assert all(row.why for row in found)


def test_colder_or_windier_air_never_lets_a_plant_stay_longer(
    catalog: Catalog, demo_climate: Climate
) -> None:
    """Minutes fall with temperature and with wind; oracle: an exponential cooling, monotone in both."""
    bench = collection(catalog, demo_climate)

    def minutes(temp_c: float, air: str) -> int:
        return next(row.back_in_minutes for row in rows(bench, temp_c, 60, air) if row.name == "Tide")

    by_temperature = [minutes(temp, "gentle") for temp in (22, 16, 14, 12, 10)]
    by_wind = [minutes(12, air) for air in ("still", "room", "gentle", "breezy", "windy")]
    assert by_temperature == sorted(by_temperature, reverse=True)
    assert by_wind == sorted(by_wind, reverse=True)
    assert by_temperature[0] > by_temperature[-1] > 0


def test_bare_roots_are_back_sooner_in_hot_dry_wind(catalog: Catalog, demo_climate: Climate) -> None:
    """A seventh of their day is gone within the hour; in damp still air light decides; common practice (no source)."""
    bench = build(catalog, demo_climate, {**FIRM, "medium": "none", "container": "net"}, place="living-room")
    (dry,), (damp,) = rows(bench, 33, 15, "windy"), rows(bench, 24, 85, "still")
    assert (dry.may_go, dry.why) == (True, "it dries fast in this air")
    assert 10 <= dry.back_in_minutes <= 60
    assert damp.back_in_minutes == 120


@pytest.mark.parametrize(("temp_c", "why"), [(8, "10 °C that its kind bears"), (37, "above the 35 °C")])
def test_beyond_what_its_kind_bears_nobody_goes(
    catalog: Catalog, demo_climate: Climate, temp_c: float, why: str
) -> None:
    """Under urgent_below_c and above day_max_c all stay in; oracle: profiles.csv."""
    found = rows(collection(catalog, demo_climate), temp_c)
    assert not any(row.may_go for row in found)
    assert any(why in row.why for row in found)


@pytest.mark.parametrize(
    ("temp_c", "rh_pct", "air", "match"),
    [
        (72, 50, "gentle", "72 °C outdoors"),
        (20, 900, "gentle", "humidity of 900 %"),
        (20, 50, "gale", "air class 'gale'"),
    ],
)
def test_what_is_no_air_of_the_open_is_refused(
    catalog: Catalog, demo_climate: Climate, temp_c: float, rh_pct: float, air: str, match: str
) -> None:
    """Degrees Fahrenheit, humidity over 100 and unknown classes are named with what is allowed."""
    with pytest.raises(Refused, match=match):
        rows(collection(catalog, demo_climate), temp_c, rh_pct, air)
