"""The catalog against the published tables it was made from: every value and every source."""

from __future__ import annotations

import csv
import dataclasses
import re
from pathlib import Path
from typing import Any

import pytest

from carecal.catalog import Catalog, Profile
from carecal.catalog.load import load_catalog
from carecal.catalog.tables import ROWS

PUBLISHED = Path(__file__).parent.parent / "published" / "tables"
FILES = {"aspects": "sill_aspects"}
FLAGS = {"1": True, "0": False}
# Tables that were not published so; every number of theirs stands in checks_rescue_tables.csv.
RESCUE = frozenset(
    {
        "after_potting", "askings", "bud_hazards", "firmness", "light_classes", "losing_ground", "pest_cycles",
        "repot_holds", "rest_waters", "rests", "rot_courses", "season_ratios", "spike_steps", "stage_looks",
        "sun_shades", "treatments", "tries", "water_kinds", "water_limits", "weather_limits", "wraps",
    }
)  # fmt: skip
DRYING = {"1": "always", "0": "never", "rootless": "rootless"}
LISTS = {"techniques": ";", "cautions": ";", "when": ";", "compass_north": None, "compass_south": None}


@pytest.fixture(scope="module")
def catalog() -> Catalog:
    """The program's own catalog."""
    return load_catalog()


def published(name: str) -> list[dict[str, str]]:
    """Rows of a published table; the one row with an unquoted comma is read as it was meant."""
    with (PUBLISHED / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        lines = list(csv.reader(file))
    head, *rows = lines
    whole = [[*row[:1], f"{row[1]},{row[2]}", *row[3:]] if len(row) > len(head) else row for row in rows]
    return [dict(zip(head, row, strict=True)) for row in whole]


def as_printed(text: str) -> str:
    """A text of the tables as the project prints it: its own files are TOML, one for each profile."""
    return re.sub(r"\b(\w+)\.csv", lambda m: "profiles/" if m[1] == "profiles" else f"{m[1]}.toml", text)


def expected(column: str, text: str, kind: object) -> Any:
    """The value that a cell of a published table means, worked from its column alone."""
    if column in LISTS:
        parts = [part.strip() for part in text.split(LISTS[column])]
        return tuple(part for part in parts if part)
    if text == "":
        return None
    if column == "ends_a_drying_period":
        return DRYING[text]
    if kind is bool:
        return FLAGS[text]
    if kind in (int, float):
        return float(text)
    return as_printed(text)


def name_of(table: str, text: str) -> str:
    """Name of a row: blanks become hyphens, save in the keys of sources."""
    return text if table == "sources" else text.replace(" ", "-")


def cells(table: str) -> list[tuple[str, str, str]]:
    """Name, column and text of every cell of a published table but its first column."""
    rows = published(FILES.get(table, table))
    first = next(iter(rows[0]))
    return [
        (name_of(table, row[first]), column, row[column]) for row in rows for column in row if column != first
    ]


@pytest.mark.parametrize("table", sorted(set(ROWS) - RESCUE))
def test_every_cell_of_a_published_table_stands_in_the_catalog(catalog: Catalog, table: str) -> None:
    """Each table has the published rows, columns and values; the oracle is the published CSV."""
    rows = getattr(catalog, table)
    published_cells = cells(table)
    assert set(rows) == {name for name, _, _ in published_cells}
    for name, column, text in published_cells:
        value = getattr(rows[name], column)
        assert value == expected(column, text, type(value)), f"{table} {name} {column}"


@pytest.mark.parametrize("row", published("profiles"), ids=lambda row: row["profile"])
def test_every_cell_of_the_published_profiles_stands_in_its_file(
    catalog: Catalog, row: dict[str, str]
) -> None:
    """Each profile has the published values and source; the oracle is the published CSV."""
    profile = catalog.profiles[row["profile"]]
    for column, text in row.items():
        value = getattr(profile, column)
        assert value == expected(column, text, type(value)), column


def test_there_is_a_profile_for_each_published_row_and_no_other(catalog: Catalog) -> None:
    """The profiles are those of the published CSV, with phalaenopsis alone called deep."""
    assert set(catalog.profiles) == {row["profile"] for row in published("profiles")}
    assert [name for name, profile in catalog.profiles.items() if profile.depth == "deep"] == ["phalaenopsis"]


def test_pairs_are_the_published_ones(catalog: Catalog) -> None:
    """The allowed pairs are those of the published CSV."""
    assert catalog.pairs == {(row["medium"], row["container"]) for row in published("pairs")}


def test_reference_intervals_are_the_published_ones(catalog: Catalog) -> None:
    """Every reference interval has its size, days, role and source; the oracle is the published CSV."""
    found = [dataclasses.astuple(row) for row in catalog.reference_rows]
    assert found == [
        (
            row["medium"],
            row["container"],
            float(row["size_cm"]),
            float(row["days"]),
            row["role"],
            row["source"],
        )
        for row in published("reference_intervals")
    ]
    assert catalog.references["bark", "plastic"] == ((7, 4), (9, 5), (12, 6), (15, 7), (18, 8))
    assert catalog.references["none", "mount"] == ((0, 2),)
    assert ("any", "surface") not in catalog.references
    assert catalog.surface_days == 4


def test_feeding_rhythm_is_the_published_one_from_the_brightest(catalog: Catalog) -> None:
    """The rows follow each other from the brightest; the oracle is the published CSV."""
    found = [(row.daily_light_mol, row.feed_days, row.source) for row in catalog.feeding_rhythm]
    assert found == [
        (float(row["daily_light_mol"]), float(row["feed_days"]), row["source"])
        for row in published("feeding_rhythm")
    ]


def test_flowering_and_leaf_values_of_phalaenopsis_are_those_of_its_papers(catalog: Catalog) -> None:
    """Thermal times and limits; the oracle is the printed value of each source named in the profile."""
    profile = catalog.profiles["phalaenopsis"]
    assert (profile.bloom_early_theta_c_d, profile.bloom_early_base_c) == (769, 10.8)
    assert (profile.bloom_late_theta_c_d, profile.bloom_late_base_c) == (1365, 6.5)
    assert (profile.leaf_theta_c_d, profile.leaf_base_c) == (830, 12.8)
    assert (profile.spike_day_max_c, profile.hot_c, profile.hot_hours) == (26, 28, 8)
    assert profile.sources["bloom_early_theta_c_d"].startswith("ROBINSON2003")
    assert profile.sources["spike_day_max_c"] == "BLANCHARD2006; NEWTON2009"


def test_every_value_of_every_profile_has_a_source(catalog: Catalog) -> None:
    """No value of a profile stands without a source of its own or of its section."""
    unsourced = {"profile", "latin", "describes", "depth", "source", "sources"}
    for profile in catalog.profiles.values():
        for column in dataclasses.fields(Profile):
            if column.name not in unsourced and getattr(profile, column.name) not in (None, {}):
                assert profile.sources[column.name].strip(), f"{profile.name} {column.name}"


def test_conversions_to_ppfd_agree_with_foot_candles(catalog: Catalog) -> None:
    """PPFD is fc × 10.764 / 54, rounded; the oracle is the factor of THIMIJAN1983 for sunlight."""
    for profile in catalog.profiles.values():
        assert profile.ppfd_low == pytest.approx(profile.light_fc_low * 10.764 / 54, abs=1.5)
        assert profile.ppfd_high == pytest.approx(profile.light_fc_high * 10.764 / 54, abs=1.5)
