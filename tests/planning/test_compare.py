"""Pots side by side: intervals, cold, when a change is safe, the order and its reasons."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import pytest

from carecal.catalog.tables import Catalog
from carecal.errors import Refused, UnknownName
from carecal.plan.pair_row import PairRow
from carecal.planning.comparison.compare import compare
from carecal.wording.comparison import seasons_of
from tests.app.diary import even_year
from tests.planning.step_situations import Climate, build, desk_on

FIRM = {
    "medium": "bark",
    "container": "plastic",
    "size_cm": 12,
    "stage": "established",
    "roots": 5,
    "longest_mm": 120,
    "tips": 2,
    "leaves": 4,
}
NOVEMBER = date(2026, 11, 25)


def pairs(
    catalog: Catalog,
    climate: Climate,
    *,
    place: str = "living-room",
    plant: dict[str, object] = FIRM,
    latitude: float = 54.3,
) -> dict[tuple[str, str], PairRow]:
    """Return all pairs compared for a plant."""
    plant_planner = desk_on(build(catalog, climate, plant, place=place, latitude=latitude), NOVEMBER)
    return {(row.medium, row.container): row for row in compare(plant_planner)}


def test_every_allowed_pair_is_compared_once(catalog: Catalog, demo_climate: Climate) -> None:
    """As many rows as pairs.csv has; oracle: the table."""
    assert set(pairs(catalog, demo_climate)) == set(catalog.pairs)


def test_the_coldest_night_is_that_of_the_container(catalog: Catalog, demo_climate: Climate) -> None:
    """17.2 °C in plastic, 14.7 in a net pot, 2.5 °C apart, in one sentence; oracle: checks_windows WIN13, WIN15."""
    found = pairs(catalog, demo_climate)
    assert abs(found["bark", "plastic"].coldest_c - 17.20) < 0.1
    assert abs(found["lava", "net"].coldest_c - 14.71) < 0.1
    assert "2.5 °C colder" in found["lava", "net"].reason


def test_the_days_of_the_present_pot_are_those_of_its_rhythm(catalog: Catalog, demo_climate: Climate) -> None:
    """In winter and summer the plan's own days lie within a day of the comparison; oracle: the plan itself."""
    bench = build(catalog, demo_climate, FIRM, place="living-room")
    planner = bench.planner(NOVEMBER)
    row = next(each for each in compare(planner.plant_planners[1]) if each.is_present)
    winter = planner.plant_planners[1].beats.at(date(2027, 1, 10).toordinal())
    summer = planner.plant_planners[1].beats.at(date(2027, 7, 10).toordinal())
    assert winter is not None
    assert summer is not None
    assert abs(dict(row.days)["winter"] - winter.days) <= 1
    assert abs(dict(row.days)["summer"] - summer.days) <= 1


def test_without_roots_the_surface_has_its_days_in_every_pot(catalog: Catalog) -> None:
    """4 days at a demand of 1 (reference_intervals.toml surface), in each season, whatever it stands in."""
    bare = {**FIRM, "stage": "rootless", "roots": 0, "longest_mm": 0, "tips": 0}
    found = pairs(catalog, {"living-room": even_year()}, plant=bare)
    for pair in (("bark", "plastic"), ("moss", "net")):
        assert {days for _, days in found[pair].days} == {4}


def test_whether_a_change_is_safe_agrees_with_the_published_windows(
    catalog: Catalog, demo_climate: Climate
) -> None:
    """Plastic all year, terracotta until 26 August, a reservoir from 23 May; oracle: WIN03, WIN05, WIN07."""
    found = pairs(catalog, demo_climate)
    assert found["moss", "plastic"].safe == "all year"
    assert (found["moss", "terracotta"].opens, found["moss", "terracotta"].last_safe) == (
        date(2027, 5, 15),
        date(2027, 8, 26),
    )
    assert (found["lava", "reservoir"].opens, found["lava", "reservoir"].last_safe) == (
        date(2027, 5, 23),
        date(2027, 8, 6),
    )
    assert found["bark", "plastic"].safe == "as it is"


def test_where_it_is_cold_the_warmer_pots_stand_first(catalog: Catalog, demo_climate: Climate) -> None:
    """On a cool sill no net pot or terracotta stands before a plastic pot, though moss in terracotta dries in a week.

    Oracle: containers.csv, cooling; the order of the docstring, cold before what the stage asks for.
    """
    plant = {**FIRM, "stage": "rooting-in", "roots": 2, "longest_mm": 60}
    rows = [
        row
        for row in pairs(catalog, demo_climate, place="bedroom-sill", plant=plant).values()
        if row.safe != "no"
    ]
    cold = [
        row.container in {"net", "terracotta"}
        for row in rows
        if row.container in {"plastic", "net", "terracotta"}
    ]
    assert cold == sorted(cold)
    assert {True, False} == set(cold)


def test_a_plant_without_roots_is_best_in_a_closed_bag(catalog: Catalog, demo_climate: Climate) -> None:
    """Rootless: bag first, no reservoir; oracle: trade-facts R3, steps.csv never_when."""
    plant = {**FIRM, "stage": "rootless", "roots": 0, "longest_mm": 0, "tips": 0}
    found = pairs(catalog, demo_climate, plant=plant)
    assert next(iter(found)) == ("moss", "bag")
    assert found["lava", "reservoir"].safe == "no"
    assert "no rescue" in found["lava", "reservoir"].reason


def test_only_what_was_asked_for_is_compared_at_the_place_named(
    catalog: Catalog, demo_climate: Climate
) -> None:
    """Media, containers and place narrow it; an unknown name is refused with the near ones."""
    plant_planner = desk_on(build(catalog, demo_climate, FIRM, place="living-room"), NOVEMBER)
    rows = compare(plant_planner, ["bark", "lava"], ["plastic", "net"], "glazed-balcony")
    assert {(row.medium, row.container) for row in rows} == {
        ("bark", "plastic"),
        ("bark", "net"),
        ("lava", "plastic"),
        ("lava", "net"),
    }
    assert all(row.coldest_c < 5 for row in rows)
    with pytest.raises(UnknownName, match="no medium named 'brak'"):
        compare(plant_planner, ["brak"])
    with pytest.raises(Refused, match="no allowed pair"):
        compare(plant_planner, ["bark"], ["reservoir"])


def test_a_plant_that_lacks_its_size_is_refused(catalog: Catalog, demo_climate: Climate) -> None:
    """Nothing is guessed."""
    plant = {"medium": "bark", "container": "plastic", "stage": "established"}
    plant_planner = desk_on(build(catalog, demo_climate, plant, place="living-room"), NOVEMBER)
    with pytest.raises(Refused, match="lacks its size"):
        compare(plant_planner)


@pytest.mark.parametrize(
    ("latitude", "names"),
    [
        (54.3, ["autumn", "winter", "spring", "summer"]),
        (-35.0, ["spring", "summer", "autumn", "winter"]),
        (1.0, ["September to November", "December to February", "March to May", "June to August"]),
    ],
)
def test_seasons_are_named_by_the_half_of_the_earth(latitude: float, names: list[str]) -> None:
    """Four quarters without a hole, the first holds the day; oracle: by hand."""
    found = seasons_of(latitude, NOVEMBER.toordinal())
    assert [name for name, _, _ in found] == names
    assert found[0][1] <= NOVEMBER.toordinal() <= found[0][2]
    assert all(b[1] == a[2] + 1 for a, b in pairwise(found))
