"""Whether a place suits a kind of orchid: what lies outside, and in which months. Oracle: models W5, by hand."""

from __future__ import annotations

import pytest

from carecal.catalog.tables import Catalog
from carecal.horticulture.climate import MonthlyClimate
from carecal.planning.places.suits import months_text, unsuitable


def _year(**values: tuple[float, ...] | float) -> MonthlyClimate:
    """Return a year that suits Phalaenopsis, with some quantities otherwise."""
    usual: dict[str, tuple[float, ...] | float] = {
        "day_c": 24.0,
        "night_c": 19.0,
        "rh_pct": 60.0,
        "light_mol": 5.0,
    }
    full = {
        name: value if isinstance(value, tuple) else (value,) * 12
        for name, value in {**usual, **values}.items()
    }
    return MonthlyClimate(
        day_c=full["day_c"],
        night_c=full["night_c"],
        rh_pct=full["rh_pct"],
        air=("room",) * 12,
        light_mol=full["light_mol"],
    )


def test_a_place_that_suits_is_not_named(catalog: Catalog) -> None:
    """Values on the limits themselves suit: low and high are included."""
    profile = catalog.profiles["phalaenopsis"]
    assert unsuitable(profile, _year()) == []
    edge = _year(
        day_c=profile.day_high_c,
        night_c=profile.night_low_c,
        rh_pct=profile.rh_low,
        light_mol=0.8,  # the lower end in the best half of the year (profiles/phalaenopsis.toml light_mol_unfit)
    )
    assert unsuitable(profile, edge) == []


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        (
            {"night_c": (15.0, 15.5, *(19.0,) * 9, 14.0)},
            ["nights under 16 °C in December to February (14 to 15.5)"],
        ),
        ({"day_c": (*(24.0,) * 6, 35.0, *(24.0,) * 5)}, ["days over 29 °C in July (35)"]),
        ({"light_mol": 0.7}, ["light under 0.8 mol a day in the best half of the year (0.7)"]),
        ({"light_mol": (*(0.1,) * 6, *(1.0,) * 6)}, []),  # a dark winter is lived through on a light summer
        ({"light_mol": 9.3}, ["light over 9 mol a day in the best half of the year (9.3)"]),
        ({"rh_pct": (*(60.0,) * 11, 40.0)}, ["humidity under 50 % in December (40)"]),
        ({"rh_pct": (*(60.0,) * 10, 49.0, 45.0)}, []),  # a hygrometer of the house tells no closer than 5 %
        (
            {"rh_pct": (*(60.0,) * 10, 49.0, 44.9)},
            ["humidity under 50 % in November to December (44.9 to 49)"],
        ),
        ({"rh_pct": 86.0}, ["humidity over 80 % in all months (86)"]),
        ({"day_c": (*(24.0,) * 6, *(18.0,) * 6)}, []),  # the warm half is warm enough: 19
        ({"day_c": 18.5}, ["days under 19 °C in the warm half of the year (18.5)"]),
        ({"night_c": (*(24.0,) * 6, *(21.0,) * 6)}, []),  # the cool half is cool enough: 19 and 3 more
        ({"night_c": 22.5}, ["nights over 19 °C in the cool half of the year (22.5)"]),
    ],
)
def test_each_quantity_is_named_with_its_months(
    catalog: Catalog, values: dict[str, tuple[float, ...] | float], expected: list[str]
) -> None:
    """What lies outside stands with the limit, the months and the values seen."""
    profile = catalog.profiles["phalaenopsis"]._replace(
        night_low_c=16,
        day_high_c=29,
        rh_low=50,
        rh_high=80,
    )
    assert unsuitable(profile, _year(**values)) == expected


@pytest.mark.parametrize(
    ("months", "text", "reason"),
    [
        ([], "", "none"),
        ([0], "January", "one"),
        ([11], "December", "the last one alone"),
        ([0, 1, 2], "January to March", "a run from the start"),
        ([10, 11, 0, 1], "November to February", "a run across the turn of the year"),
        ([0, 5, 11], "December to January and June", "a run across the turn and another"),
        ([3, 5], "April and June", "two apart"),
        (list(range(12)), "all months", "all"),
        (list(range(11)), "January to November", "all but one"),
    ],
)
def test_months_are_told_in_runs(months: list[int], text: str, reason: str) -> None:
    """Neighbouring months are one run, across New Year too."""
    assert months_text(months) == text, reason
