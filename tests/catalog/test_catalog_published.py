"""The catalog against the published tables it was made from: every value and every source."""

from __future__ import annotations

import csv
import re
from pathlib import Path
from typing import Any

import pytest

from carecal.catalog import Catalog, Profile
from carecal.catalog.load import load_catalog
from carecal.catalog.tables import ROWS
from carecal.collection.plant_fold import NEWCOMER_DAYS

PUBLISHED = Path(__file__).parent.parent / "published" / "tables"
FILES = {"aspects": "sill_aspects"}
FLAGS = {"1": True, "0": False}
LISTS = {"cautions": ";", "when": ";", "compass_north": None, "compass_south": None}
# Published columns that no rule reads and nobody needs beside the others.
DROPPED = {
    ("aids", "rh_pct"),
    ("aids", "air"),
    ("cares", "kind"),
    ("cares", "in_can"),
    ("cares", "techniques"),
    ("cares", "rides_on"),
    ("cares", "ends_a_drying_period"),
    ("feeding_gates", "unit"),
    ("steps", "air_night_c"),
}
# Published cells that say what another place says too: there they are held.
ELSEWHERE = {
    ("steps", "first-feed", "medium_mean_c"): "the gate medium-temperature decides, by the profile",
    ("steps", "opening-the-wrap", "needs"): "wraps.toml: a new root, and stages of its own (rescue facts)",
    ("cautions", "moss-gloves", "when"): "media.toml and aids.toml name the caution",
}
# Tables that were not published so; every number of theirs stands in checks_rescue_tables.csv.
RESCUE = frozenset(
    {
        "after_potting", "askings", "bud_hazards", "firmness", "light_classes", "losing_ground", "pest_cycles",
        "repot_holds", "rest_waters", "rests", "rot_courses", "season_ratios", "spike_steps", "stage_looks",
        "sun_shades", "treatments", "tries", "water_kinds", "water_limits", "weather_limits", "wraps",
    }
)  # fmt: skip


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
        (name_of(table, row[first]), column, row[column])
        for row in rows
        for column in row
        if column != first and (table, column) not in DROPPED
    ]


@pytest.mark.parametrize("table", sorted(set(ROWS) - RESCUE))
def test_every_cell_of_a_published_table_stands_in_the_catalog(catalog: Catalog, table: str) -> None:
    """Each table has the published rows, columns and values; the oracle is the published CSV."""
    rows = getattr(catalog, table)
    published_cells = cells(table)
    assert set(rows) == {name for name, _, _ in published_cells}
    for name, column, text in published_cells:
        if (table, name, column) in ELSEWHERE:
            continue
        value = getattr(rows[name], column)
        assert value == expected(column, text, type(value)), f"{table} {name} {column}"


NUMBERS = [  # table, row, its own column, the published column that says it in words, the words
    ("steps", "potting-on", "apart_days", "needs", r"within (\d+) days of the last potting"),
    ("steps", "potting-on", "day_most_c", "never_when", r"day normal above (\d+)"),
    ("steps", "converting-to-a-reservoir", "longest_mm", "needs", r"longest new root <= (\d+) mm"),
    ("steps", "converting-to-a-reservoir", "tips", "needs", r"or tips >= (\d+)"),
    ("steps", "filling-the-reservoir", "longest_mm", "needs", r"longest root >= (\d+) mm"),
    ("steps", "filling-the-reservoir", "apart_days", "needs", r"(\d+) days since conversion"),
    ("steps", "parting-a-keiki", "longest_mm", "needs", r"longest >= (\d+) mm; mother"),
    ("steps", "parting-a-keiki", "longest_early_mm", "needs", r"failing: longest >= (\d+) mm"),
    ("steps", "parting-a-keiki", "roots", "needs", r"roots >= (\d+)"),
    ("steps", "parting-a-keiki", "leaves", "needs", r"leaves >= (\d+)"),
    ("wraps", "closed", "open_newest_mm", "needs", r"first new root >= (\d+) mm"),
    ("steps", "moving-out", "clean_days", "needs", r"no find in the last (\d+) days"),
    ("steps", "ending-quarantine", "clean_days", "needs", r"(\d+) days clean"),
    ("feeding_gates", "stage", "longest_mm", "opens_when", r"longest root >= (\d+)"),
    ("feeding_gates", "stage", "roots", "opens_when", r"at least (\d+) roots"),
    ("feeding_gates", "medium-temperature", "band_c", "shuts_when", r"< that - (\d+)"),
    ("feeding_gates", "heat", "margin_c", "opens_when", r"profile - (\d+)"),
    ("feeding_gates", "heat", "band_c", "shuts_when", r"> that \+ (\d+)"),
    ("feeding_gates", "after-potting", "days", "opens_when", r"^(\d+) days since potting"),
    ("feeding_gates", "after-potting", "days_long", "opens_when", r"(\d+) since conversion or root pruning"),
    ("feeding_gates", "quarantine", "days", "opens_when", r"^(\d+) days since arrival"),
    ("feeding_gates", "salts", "ec_ms_cm", "shuts_when", r">= (\d+\.\d+)"),
    ("states", "settling", "days", "ends", r"^(\d+) days after potting"),
]


@pytest.mark.parametrize(("table", "name", "column", "prose", "words"), NUMBERS)
def test_a_number_of_a_row_is_the_one_its_words_say(
    catalog: Catalog, table: str, name: str, column: str, prose: str, words: str
) -> None:
    """A rule reads the number that the published row says in words; the oracle is the published CSV."""
    told = ("steps", "opening-the-wrap") if table == "wraps" else (table, name)
    said = re.search(words, next(text for row, key, text in cells(told[0]) if (row, key) == (told[1], prose)))
    assert said is not None
    assert getattr(getattr(catalog, table)[name], column) == float(said[1])


def test_limits_of_the_medium_are_those_of_phalaenopsis(catalog: Catalog) -> None:
    """Each step that asks for a warm medium says so of the kind of 15.6 °C nights: 'for Phalaenopsis', models W1."""
    limits = [
        row
        for row in catalog.steps.values()
        if row.medium_mean_c is not None or row.medium_night_c is not None
    ]
    assert len(limits) == 8
    assert {row.kind_night_c for row in limits} == {15.6} == {catalog.profiles["phalaenopsis"].night_min_c}


def test_who_comes_in_quarantine_is_asked_for_clean_days_as_long(catalog: Catalog) -> None:
    """A newcomer begins in quarantine for as many days as the step asks to be clean; states.csv says 28."""
    assert catalog.steps["ending-quarantine"].clean_days == NEWCOMER_DAYS == 28


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
    found = [tuple(row) for row in catalog.reference_rows]
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
        for column in Profile._fields:
            if column not in unsourced and getattr(profile, column) not in (None, {}):
                assert profile.sources[column].strip(), f"{profile.name} {column}"


def test_conversions_to_ppfd_agree_with_foot_candles(catalog: Catalog) -> None:
    """PPFD is fc × 10.764 / 54, rounded; the oracle is the factor of THIMIJAN1983 for sunlight."""
    for profile in catalog.profiles.values():
        assert profile.ppfd_low == pytest.approx(profile.light_fc_low * 10.764 / 54, abs=1.5)
        assert profile.ppfd_high == pytest.approx(profile.light_fc_high * 10.764 / 54, abs=1.5)
