"""Broken files: each fault names file, key, value and what is allowed, and none hides another."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carecal.catalog import data_root
from carecal.catalog.files import read_toml
from carecal.catalog.load import load_catalog
from carecal.catalog.profile_file import read_profile
from carecal.errors import DataFault

SHARED = {path.stem: path.read_text(encoding="utf-8") for path in data_root("shared").glob("*.toml")}
PHALAENOPSIS = (data_root("profiles") / "phalaenopsis.toml").read_text(encoding="utf-8")


def write(home: Path, name: str, content: str | bytes) -> None:
    """Write one of the grower's own files."""
    path = home / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content.encode() if isinstance(content, str) else content)


def faults(home: Path) -> list[str]:
    """The lines of all faults of a collection's own files."""
    with pytest.raises(DataFault, match="toml") as caught:
        load_catalog(home)
    return [str(fault) for fault in caught.value.faults]


def one(table: str, old: str, new: str) -> tuple[str, str]:
    """A shared file with one thing in its first place replaced."""
    assert old in SHARED[table], "the text to break must stand in the file"
    return f"shared/{table}.toml", SHARED[table].replace(old, new, 1)


def profile(old: str, new: str) -> tuple[str, str]:
    """The profile of Phalaenopsis with one thing replaced."""
    assert old in PHALAENOPSIS, "the text to break must stand in the file"
    return "profiles/phalaenopsis.toml", PHALAENOPSIS.replace(old, new, 1)


BROKEN = [
    # file and content, the line expected after the file's name (two are parted by a bar), reason
    (
        one("media", "water_pct_high = 45", "water_pct_high = 145"),
        "bark.water_pct_high: 145 is not a number from 0 to 100 [%]",
        "out of range",
    ),
    (
        one("media", "water_pct_high = 45", "water_pct_high = nan"),
        "bark.water_pct_high: nan is not a number from 0 to 100 [%]",
        "not a number at all",
    ),
    (
        one("media", "water_pct_low = 25", "water_low = 25\nwater_pct_low = 25"),
        "bark.water_low: unknown key; did you mean water_pct_low or air_pct_low",
        "unknown key that lacks its unit",
    ),
    (
        one("media", "max_days = 14", ""),
        "bark.max_days: missing; give a whole number from 0 to 366 [days]",
        "missing value",
    ),
    (
        one("media", "max_days = 14", "max_days = 14.5"),
        "bark.max_days: 14.5 is not a whole number from 0 to 366 [days]",
        "not whole",
    ),
    (
        one("media", "max_days = 14", 'max_days = "14"'),
        "bark.max_days: '14' is not a whole number from 0 to 366 [days]",
        "text for a number",
    ),
    (
        one("media", "max_days = 14", "max_days = true"),
        "bark.max_days: true is not a whole number from 0 to 366 [days]",
        "flag for a number",
    ),
    (
        one("media", "min_days = 1", "min_days = 15"),
        "bark.min_days: 15 lies above max_days, 14; at most the same is allowed",
        "floor above ceiling",
    ),
    (
        one("media", 'tie = "later"', 'tie = "whenever"'),
        "bark.tie: 'whenever' is not 'earlier' or 'later'",
        "not one of the words",
    ),
    (
        one("media", 'technique = "drench"', 'technique = "drensh"'),
        "bark.technique: no row 'drensh' in techniques; did you mean drench",
        "a technique that does not exist",
    ),
    (
        one("media", 'cautions = ["dust"]', 'cautions = ["dust", 3]'),
        "bark.cautions: ['dust', 3] is not a list, each one line of text",
        "a number in a list of texts",
    ),
    (
        one("media", "[bark]", "[Fir Bark]".replace(" ", "_")),
        "Fir_Bark: 'Fir_Bark' is not a name; allowed: a-z, 0-9 and single hyphens, at most 40 letters",
        "a name that cannot be typed as an id",
    ),
    (
        ("shared/media.toml", "bark = 3\n"),
        "bark: 3 is not a table of values",
        "a value where a row should stand",
    ),
    (
        one("aids", 'source = "from memory: 2-4 days', 'source = "" #'),
        "cloth.source: '' is not one line of text",
        "an empty source",
    ),
    (
        one("stages", 'source = "common practice', 'sauce = "common practice'),
        "rootless.sauce: unknown key; did you mean source | rootless.source: missing; give one line of text",
        "a missing source",
    ),
    (
        one("containers", 'source = "factor 1 by definition', 'source = "AOS-PHAK: factor 1 by definition'),
        "plastic.source: no source 'AOS-PHAK' in sources; did you mean AOS-PHAL or AOS-HEAT or AOS-QA",
        "a source that does not exist",
    ),
    (
        one("containers", "has_reservoir = false", "has_reservoir = 0"),
        "plastic.has_reservoir: 0 is not true or false",
        "a number for a flag",
    ),
    (
        one("containers", 'describes = "opaque', 'describes = "opa\\u0007que'),
        "plastic.describes: 'opa\\x07que plastic pot with drain holes' is not one line of text",
        "a control character",
    ),
    (
        one("containers", "wind_sensitivity = 0.4", 'wind_sensitivity = 0.4\n"a\\nb" = 1'),
        "plastic.a\\nb: unknown key; known are describes, interval_factor, wind_sensitivity, cooling_still, "
        "cooling_room, cooling_gentle, cooling_breezy, cooling_windy, has_reservoir, see_roots, source, also",
        "a line break in a key stays on one line",
    ),
    (
        one("states", 'interval_factor = "profile"', 'interval_factor = "profiles"'),
        "resting.interval_factor: 'profiles' is not a number from 0 to 10 or 'profile'",
        "a word that is not the one allowed",
    ),
    (
        one("pairs", '"clear-plastic"', '"clear-plastik"'),
        "pairs.containers: no row 'clear-plastik' in containers; did you mean clear-plastic or plastic",
        "a pair with an unknown container",
    ),
    (
        one("pairs", "containers = [", "container = ["),
        "pairs[1].container: unknown key; did you mean containers",
        "an unknown key in a group",
    ),
    (
        ("shared/pairs.toml", '[pairs]\nmedium = "bark"\n'),
        "pairs: {'medium': 'bark'} is not an array of tables; write [[pairs]]",
        "a table where groups should stand",
    ),
    (
        one("reference_intervals", "days = [4, 5, 6, 7, 8]", "days = [4, 5, 6]"),
        "reference_intervals[1].days: 5 sizes and 3 days; give as many days as sizes, at least one",
        "fewer days than sizes",
    ),
    (
        one("reference_intervals", "days = [4, 5, 6, 7, 8]", "days = [4, 5, 3, 7, 8]"),
        "reference_intervals[1].days: [4.0, 5.0, 3.0, 7.0, 8.0] falls; a bigger pot never dries sooner",
        "days that fall with size",
    ),
    (
        one("reference_intervals", "size_cm = [7, 9,", "size_cm = [9, 7,"),
        "reference_intervals[1].size_cm: [9.0, 7.0, 12.0, 15.0, 18.0] is not ascending; 0 may only stand "
        "alone, for every size",
        "sizes out of order",
    ),
    (
        ("shared/medai.toml", SHARED["media"]),
        "medai: no table of that name; known are media",
        "a mistyped file",
    ),
    (
        profile("night_min_c = 15.6", "night_min_c = 60"),
        "temperature.night_min_c: 60 is not a number from -30 to 50 [°C]",
        "°F for °C",
    ),
    (
        profile("night_low_c = 16", "night_low_c = 21"),
        "temperature.night_low_c: 21 lies above night_high_c, 19; at most the same is allowed",
        "low above high",
    ),
    (
        profile("[humidity]", "[humidty]"),
        "humidty: unknown key; did you mean humidity | humidity: missing; give [humidity] with a source",
        "a mistyped section is both unknown and missing",
    ),
    (
        profile('name = "phalaenopsis"', 'name = "moth"'),
        "name: 'moth' is not the name of the file, 'phalaenopsis'",
        "name and file name differ",
    ),
    (
        profile("rest_interval_factor = 1\n", "rest_from_month = 11\nrest_interval_factor = 1\n"),
        "rest.rest_from_month: one month of the rest is missing; give both or none",
        "half a rest",
    ),
    (
        profile("[rest.sources]\nrest_interval_factor", "[rest.sources]\nrest_interval"),
        "rest.sources.rest_interval: unknown key; did you mean rest_interval_factor or rest_rule",
        "a source of nothing",
    ),
    (
        profile("stage_ppfd_high = { rootless = 100", "stage_ppfd_high = { rootless = 9000"),
        "light.stage_ppfd_high.rootless: 9000 is not a number from 0 to 2500 [µmol/m2/s]",
        "out of range inside a table",
    ),
    (
        profile("stage_ppfd_high = { rootless", "stage_ppfd_high = { rootles"),
        "light.stage_ppfd_high: no row 'rootles' in stages; did you mean rootless",
        "a stage that does not exist",
    ),
    (
        profile('urgent_below_c = "VAOS', 'urgent_below_c = "VAOX'),
        "source of temperature.urgent_below_c: no source 'VAOX' in sources; did you mean VAOS",
        "a source of a value that does not exist",
    ),
    (
        ("shared/media.toml", "[bark\nmin_days = 1\n"),
        "line 1, column 6: not TOML: expected ']' at the end of a table declaration",
        "not TOML",
    ),
    (
        ("shared/media.toml", b'# sieved\n[bark]\ndescribes = "\xe4ged pine"\n'),
        "line 3: byte 0xe4 is not UTF-8; save as UTF-8",
        "Latin-1",
    ),
    (
        ("shared/media.toml", ""),
        "line 1: the file is empty; fill it in or delete it",
        "empty",
    ),
    (
        ("shared/media.toml", "x = " + "[" * 5000),
        "line 1: lists are nested too deeply; at most a list in a table is allowed",
        "nested beyond reason",
    ),
]


@pytest.mark.parametrize(("broken", "line", "reason"), BROKEN, ids=[reason for _, _, reason in BROKEN])
def test_each_fault_names_file_key_value_and_what_is_allowed(
    tmp_path: Path, broken: tuple[str, str | bytes], line: str, reason: str
) -> None:
    """One thing broken gives its one line; the oracle is the sentence written beside it."""
    write(tmp_path, *broken)
    told = [fault.removeprefix(f"{broken[0]}: ") for fault in faults(tmp_path)]
    assert " | ".join(told) == line, reason


def test_all_faults_of_all_files_come_at_once_in_the_order_of_each_file(tmp_path: Path) -> None:
    """Three faults in a table and one in a profile are all told; none hides another."""
    media = SHARED["media"].replace("water_pct_low = 25", "water_pct_low = -1", 1)
    media = media.replace("max_days = 14", 'max_days = "long"', 1).replace(
        'tie = "earlier"', 'tie = "never"', 1
    )
    write(tmp_path, "shared/media.toml", media)
    write(tmp_path, *profile("rh_high = 80", "rh_high = 900"))
    assert [line.split(": ")[1] for line in faults(tmp_path)] == [
        "humidity.rh_high",
        "bark.water_pct_low",
        "bark.max_days",
        "lava.tie",
    ]


def test_a_medium_without_container_and_days_is_told_what_it_lacks(tmp_path: Path) -> None:
    """A medium nobody can pot into is a fault of its file; with a pair, the missing days are."""
    bark = SHARED["media"].split("[bark]")[1].split("\n\n")[0]
    write(tmp_path, "shared/media.toml", f"[quay-mix]{bark}\n")
    assert faults(tmp_path) == [
        "shared/media.toml: quay-mix: no container for it; name its containers in pairs"
    ]
    pair = '[[pairs]]\nmedium = "quay-mix"\ncontainers = ["net"]\nsource = "mine"\n'
    write(tmp_path, "shared/pairs.toml", pair)
    assert faults(tmp_path) == [
        "shared/pairs.toml: pairs.medium: no days for 'quay-mix' in 'net' nor in 'plastic'; "
        "add to reference_intervals"
    ]


def test_a_byte_order_mark_is_no_fault(tmp_path: Path) -> None:
    """A file saved by a plain editor with a byte order mark is read like any other."""
    write(tmp_path, "shared/media.toml", b"\xef\xbb\xbf" + SHARED["media"].encode())
    assert load_catalog(tmp_path).media == load_catalog().media


values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20) | st.dates(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)


@given(section=st.sampled_from(sorted(tomllib.loads(PHALAENOPSIS))), value=values, data=st.data())
def test_any_value_anywhere_in_a_profile_is_taken_or_told(
    section: str, value: Any, data: st.DataObject
) -> None:
    """Whatever stands in a place, the profile is read or each fault is one line that names the place."""
    raw = tomllib.loads(PHALAENOPSIS)
    if isinstance(raw[section], dict):
        raw[section][data.draw(st.sampled_from(sorted(raw[section])))] = value
    else:
        raw[section] = value
    read, found = read_profile(raw, "profiles/phalaenopsis.toml", "phalaenopsis")
    assert (read is None) == bool(found)
    for fault in found:
        assert fault.key.startswith(section)
        assert re.fullmatch(r"[^\x00-\x1f]+", str(fault))


@given(content=st.binary(max_size=60))
def test_any_bytes_are_read_or_told(tmp_path_factory: pytest.TempPathFactory, content: bytes) -> None:
    """Whatever bytes a file holds, it gives values or one fault, never another error."""
    path = tmp_path_factory.mktemp("bytes") / "media.toml"
    path.write_bytes(content)
    read, found = read_toml("shared/media.toml", path)
    assert bool(read) != bool(found)
