"""Start files, plant lists and climate files: read whole, all faults at once, and written so that they read back."""

from __future__ import annotations

import csv
import io
import re
import tomllib
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carecal.catalog.load import load_catalog
from carecal.collection.climate_file import read_climate
from carecal.collection.entries import (
    CollectionStarted,
    Done,
    Entry,
    PlaceAdded,
    PlantAdded,
    Potted,
    Retired,
)
from carecal.collection.exporting import plant_list, start_file
from carecal.collection.journal import Journal
from carecal.collection.plant_list import COLUMNS, id_from_name, read_plant_list, unmasked, write_plant_list
from carecal.collection.start_file import read_start_file
from carecal.collection.timeline import Timeline, fold
from carecal.errors import DataFault

DAY = date(2026, 11, 25)
NOW = datetime(2026, 11, 25, 18, 3, tzinfo=UTC)
TABLES = Path(__file__).parents[1] / "published" / "tables"

MONTHS = "".join(f"{month},21,17,55,room,{month / 2},daylight\n" for month in range(1, 13))
CLIMATE = "month,day_c,night_c,rh_pct,air,light_mol_m2_d,light_source\n" + MONTHS
START = """
[collection]
name = "Quay"
latitude = 54.3
longitude = 10.1
elevation = 12
timezone = "Europe/Berlin"

[[place]]
name = "Stair window"
kind = "sill"
aspect = "NE"
winter = "16/13"
summer = "23/20"
climate = "stairs.csv"

[[place]]
id = "box"
name = "Cabinet of light"
kind = "cabinet"
lamp = 180
hours = 12

[[plant]]
id = "pebble"
on-mother = "tide"

[[plant]]
id = "tide"
name = "Tide, the “first”"
profile = "phalaenopsis"
medium = "bark"
container = "net"
size = 9
place = "stair-window"
came = 2026-03-01
potted = "1 May"
watered = "3 days ago"
stage = "rooting-in"
roots = 4
longest = 35
tips = 2
leaves = 5
flowering = "spent"
aid = ["cloth", "stake"]
note = "from a neighbour"
"""


def put(folder: Path, text: str, name: str) -> Path:
    """A file with a text."""
    path = folder / name
    path.write_bytes(text.encode())
    return path


def lines_of(fault: DataFault) -> list[str]:
    """Each fault as one line."""
    return [str(one) for one in fault.faults]


@pytest.fixture
def started(tmp_path: Path) -> Path:
    """A start file with its climate beside it."""
    put(tmp_path, CLIMATE, "stairs.csv")
    return put(tmp_path, START, "start.toml")


def timeline_of(folder: Path, entries: list[Entry]) -> Timeline:
    """The fold of a collection that holds these entries."""
    stages = tuple(load_catalog().stages.values())
    with Journal.create(folder) as journal:
        journal.append(entries, by="owner", written=NOW, clock=NOW)
        return fold(journal.records(), DAY, stages, frozenset({"reservoir"}))


def test_a_start_file_gives_the_entries_that_its_options_would(started: Path) -> None:
    """Collection, places, plants, the mother before her keiki; words for dates count from the day."""
    entries = read_start_file(started, on=DAY)
    kinds = [(entry.kind, getattr(entry, "plant", getattr(entry, "place", ""))) for entry in entries]
    assert kinds == [
        ("collection", ""),
        ("place", "stair-window"),
        ("place", "box"),
        ("added", "tide"),
        ("added", "pebble"),
    ]
    assert entries[0] == CollectionStarted(
        on=DAY, name="Quay", latitude=54.3, longitude=10.1, elevation_m=12, timezone="Europe/Berlin"
    )
    stairs, tide = entries[1], entries[3]
    assert isinstance(stairs, PlaceAdded)
    assert isinstance(tide, PlantAdded)
    assert (stairs.name, stairs.winter_day_c, stairs.winter_night_c, stairs.summer_night_c) == (
        "Stair window",
        16,
        13,
        20,
    )
    assert stairs.climate == read_climate(started.with_name("stairs.csv"))
    assert (tide.came, tide.potted, tide.watered) == (date(2026, 3, 1), date(2026, 5, 1), date(2026, 11, 22))
    assert (tide.size_cm, tide.longest_mm, tide.aids, tide.leaves) == (9, 35, ("cloth", "stake"), 5)


def test_a_start_file_fills_a_collection_in_one_command(started: Path, tmp_path: Path) -> None:
    """The entries can be written as they are: keikis find their mothers."""
    timeline = timeline_of(tmp_path / "quay", read_start_file(started, on=DAY))
    assert {line.id: line.latest.mother for line in timeline.living()} == {"tide": None, "pebble": 1}


def test_an_exported_start_file_reads_back_to_the_same_collection(started: Path, tmp_path: Path) -> None:
    """What has happened since the start is in it; who has left is not; a second export has the same bytes."""
    entries = read_start_file(started, on=DAY)
    entries += [
        Done(on=DAY, plant="tide", care="watering"),
        PlantAdded(on=DAY, plant="gable"),
        Retired(on=DAY, plant="gable", because="lost"),
        Potted(on=DAY, plant="tide", medium="lava", container="clear-plastic", size_cm=10.5),
    ]
    first = start_file(timeline_of(tmp_path / "a", entries))
    read = read_start_file(put(tmp_path, first, "again.toml"), on=DAY)
    tide = next(entry for entry in read if isinstance(entry, PlantAdded) and entry.plant == "tide")
    assert (tide.medium, tide.container, tide.size_cm, tide.potted, tide.watered) == (
        "lava",
        "clear-plastic",
        10.5,
        DAY,
        DAY,
    )
    assert not any(getattr(entry, "plant", "") == "gable" for entry in read)
    places = [entry for entry in read if isinstance(entry, PlaceAdded)]
    assert sorted(places, key=lambda p: p.place) == sorted(
        (entry for entry in entries if isinstance(entry, PlaceAdded)), key=lambda p: p.place
    )
    assert start_file(timeline_of(tmp_path / "b", read)) == first


@given(st.text(alphabet=st.characters(exclude_categories=["Cs"]), max_size=30))
def test_any_text_survives_toml(text: str) -> None:
    """Quotes, backslashes and all other signs are escaped as TOML asks; tomllib is the oracle."""
    timeline = Timeline(DAY)
    timeline.facts.name = text
    assert tomllib.loads(start_file(timeline))["collection"]["name"] == text


BROKEN_STARTS = [
    ("[colection]\nname = 'x'", "start.toml: colection: unknown key; did you mean collection"),
    ("collection = 3", "start.toml: collection: 3 is not a table of values; write [collection]"),
    ("[plant]\nid = 'tide'", "write [[plant]]"),
    (
        "[collection]\nname = 'x'\nlatitude = 54\nlongitude = 200",
        "collection.x.longitude: 200 is not a number from -180 to 180",
    ),
    (
        "[collection]\nname = 'x'\nlatitude = 54",
        "collection.x.longitude: missing; give a number from -180 to 180",
    ),
    ("[[place]]\nname = 'Sill'", "place.Sill.kind: missing"),
    (
        "[[place]]\nname = 'Sill'\nkind = 'sill'\nwinter = 16",
        "place.Sill.winter: 16 is not a day's and a night's",
    ),
    ("[[place]]\nname = 'Sill'\nkind = 'sill'\nwinter = '16/x'", "place.Sill.winter: 'x' is not a number"),
    ("[[place]]\nname = 'Sill'\nkind = 'sill'\nwinter = '99/13'", "99.0 is not a number from -30 to 55"),
    ("[[place]]\nname = 'Sill'\nkind = 'sill'\nclimate = 'gone.csv'", "place.Sill.climate: "),
    ("[[plant]]\nid = 'tide'\nsize = 500", "plant.tide.size: 500 is not a number from 3 to 60 [cm]"),
    ("[[plant]]\nid = 'tide'\nsize = true", "plant.tide.size: true is not allowed here"),
    ("[[plant]]\nid = 'tide'\nmedum = 'bark'", "plant.tide.medum: unknown key; did you mean medium"),
    ("[[plant]]\nid = 'tide'\ncame = '3/4'", "plant.tide.came: '3/4' may be 3 April or 4 March"),
    ("[[plant]]\nname = 'Tide'", "plant.Tide.id: missing; give an id of small letters"),
    ("[[plant]]\nid = 'tide'\n[[plant]]\nid = 'tide'", "plant.tide.id: 'tide' appears twice"),
    ("[[plant]]\nid = 'tide'\non-mother = 'tide'", "'tide' would be its own mother"),
    ("[[plant]]\nid = 'a'\non-mother = 'b'\n[[plant]]\nid = 'b'\non-mother = 'a'", "plant.a.on-mother"),
    ("[[plant]]\nid = ", "not TOML"),
    ("", "the file is empty"),
]


@pytest.mark.parametrize(("text", "message"), BROKEN_STARTS)
def test_a_broken_start_file_is_refused_with_its_key(tmp_path: Path, text: str, message: str) -> None:
    """The key is spelt as the grower spelt it."""
    with pytest.raises(DataFault, match=re.escape(message)):
        read_start_file(put(tmp_path, text, "start.toml"), on=DAY)


def test_all_faults_of_a_start_file_are_told_at_once(tmp_path: Path) -> None:
    """Collection, place and plant, a check of the caller's, and the climate file beside it."""
    put(tmp_path, CLIMATE.replace("\n2,21", "\n2,210"), "stairs.csv")
    text = START.replace("longitude = 10.1", "longitude = 1000").replace("size = 9", "size = 90")
    with pytest.raises(DataFault, match="longitude") as caught:
        read_start_file(
            put(tmp_path, text, "start.toml"),
            on=DAY,
            check=lambda entry: [("medium", "no medium")] if entry.kind == "added" else [],
        )
    assert [line.split(": ")[:2] for line in lines_of(caught.value)] == [
        ["start.toml", "collection.Quay.longitude"],
        ["stairs.csv", "line 3, day_c"],
        ["start.toml", "plant.pebble.medium"],
        ["start.toml", "plant.tide.size"],
    ]


LISTS = [
    ("id,name,size_cm,came,aids\ntide,Tide,9.5,2026-03-01,cloth stake\n", {}, "plain"),
    ("\ufeffid;name;size_cm;came;aids\r\ntide;Tide;9,5;2026-03-01;cloth, stake\r\n", {}, "semicolons, decimal comma"),
    ("Id\tName\tSize cm\tCame\tAids\ntide\tTide\t9.5\t1 March\tcloth+stake\n\n", {}, "tabs, capitals, words"),
    (
        "Plant;Pot;Bought;Help;Colour\nTide;9,5;01.03.2026;cloth|stake;pink\nGable;;13.03.2026;;\n",
        {"Plant": "name", "Pot": "size_cm", "Bought": "came", "Help": "aids", "Colour": ""},
        "own headings, the order of day and month settled by the column, an id from the name",
    ),
    ("name,id,size_cm,came,aids\nTide,tide,\"9,5\",2026-03-01,cloth stake", {}, "a quoted comma, no last line end"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "mapping", "reason"), LISTS)
def test_a_plant_list_reads_the_same_whatever_wrote_it(
    tmp_path: Path, text: str, mapping: dict[str, str], reason: str
) -> None:
    """The first plant is Tide in 9.5 cm, since 1 March 2026, with a cloth and a stake."""
    tide = read_plant_list(put(tmp_path, text, "list.csv"), mapping, on=DAY)[0]
    assert tide == PlantAdded(
        on=DAY, plant="tide", name="Tide", size_cm=9.5, came=date(2026, 3, 1), aids=("cloth", "stake")
    ), reason


BROKEN_LISTS = [
    ("id,pot\ntide,9\n", {}, "list.csv: pot: unknown column 'pot'; map it to potted", "a heading"),
    ("id,name,Name\ntide,a,b\n", {}, "Name: a second column for name", "a heading twice"),
    ("medium\nbark\n", {}, "neither id nor name is among the columns", "nobody is named"),
    ("id\ntide\n", {"Pot": "size_cm"}, "Pot: no such heading; the file has id", "a mapping of nothing"),
    (
        "id,name\n,\n\ntide,\n,Tide\n",
        {},
        "line 5, id: 'tide' stands on line 4 already",
        "an id from a name twice",
    ),
    ("id,size_cm\nTide,9\n", {}, "line 2, id: 'Tide' is not an id of small letters", "an id"),
    ("id,size_cm\ntide,big\n", {}, "line 2, size_cm: 'big' is not a number", "a word for a number"),
    ("id;longest_mm\ntide;1,000\n", {}, "'1,000' may be 1000 or 1.000", "thousands or decimals"),
    ("id,roots\ntide,2.5\n", {}, "roots: 2.5 is not a whole number from 0 to 400", "half a root"),
    ("id,came\ntide,03/04/2026\n", {}, "line 2, came: '03/04/2026' may be 3 April or 4 March", "a date"),
    ("id,stage\ntide,grown\n", {}, "stage: 'grown' is not 'rootless'", "a stage"),
    ('id,note\ntide,"x\n', {}, "not a table", "a quote without its end"),
    ("", {}, "line 1: the file is empty", "nothing"),
]


@pytest.mark.parametrize(("text", "mapping", "message", "reason"), BROKEN_LISTS)
def test_a_broken_plant_list_is_refused_with_its_line(
    tmp_path: Path, text: str, mapping: dict[str, str], message: str, reason: str
) -> None:
    """Line, column, value and what is allowed."""
    with pytest.raises(DataFault, match=re.escape(message)) as caught:
        read_plant_list(put(tmp_path, text, "list.csv"), mapping, on=DAY)
    assert message in str(caught.value), reason


def test_all_faults_of_a_plant_list_are_told_at_once(tmp_path: Path) -> None:
    """Three broken lines, one of them twice, and a check of the caller's on a whole one."""
    text = "id,size_cm,roots\nTide,9,1\nebb,900,x\ngable,9,4\nwinch,9,-4\n"
    with pytest.raises(DataFault, match="line 2") as caught:
        read_plant_list(
            put(tmp_path, text, "list.csv"), on=DAY, check=lambda _: [("medium", "no medium is named")]
        )
    assert [fault.key for fault in caught.value.faults] == [
        "line 2, id",
        "line 3, roots",
        "line 4, medium",
        "line 5, roots",
    ]


def test_an_exported_plant_list_has_our_columns_and_reads_back(started: Path, tmp_path: Path) -> None:
    """By plant number, as it stands today; reading it gives the plants again."""
    text = plant_list(timeline_of(tmp_path / "quay", read_start_file(started, on=DAY)))
    rows = list(csv.DictReader(io.StringIO(text)))
    assert tuple(rows[0]) == COLUMNS
    assert [row["id"] for row in rows] == ["tide", "pebble"]
    assert (rows[0]["size_cm"], rows[0]["aids"], rows[0]["stage"]) == ("9", "cloth stake", "rooting-in")
    tide = read_plant_list(put(tmp_path, text, "list.csv"), on=DAY)[0]
    assert (tide.name, tide.potted, tide.note) == ("Tide, the “first”", date(2026, 5, 1), "from a neighbour")


@pytest.mark.parametrize("name", ["=1+1", "+x", "-x", "@x", "'=1", "''-x", "plain", "'plain"])
def test_no_cell_of_an_export_is_a_formula(tmp_path: Path, name: str) -> None:
    """A spreadsheet shows the text, runs nothing, and reading the list takes the mark off again."""
    text = write_plant_list([{"id": "tide", "name": name}])
    cell = next(csv.DictReader(io.StringIO(text)))["name"]
    assert cell[0] not in "=+-@"
    assert unmasked(cell) == name
    assert read_plant_list(put(tmp_path, text, "list.csv"), on=DAY)[0].name == name


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("Tide", "tide"),
        ("Old Bollard 2", "old-bollard-2"),
        ("Möwe", "mowe"),
        ("  ", ""),
        ("漁", ""),
        ("x" * 50, "x" * 40),
    ],
)
def test_a_name_gives_an_id(name: str, expected: str) -> None:
    """Small letters without marks, digits, hyphens, at most 40."""
    assert id_from_name(name) == expected


def test_a_climate_file_gives_twelve_months_in_order(tmp_path: Path) -> None:
    """Rows may stand in any order; a missing column of light sources means daylight."""
    shuffled = CLIMATE.splitlines()
    text = "\n".join([shuffled[0], *reversed(shuffled[1:])])
    rows = read_climate(put(tmp_path, text, "c.csv"))
    assert [row.month for row in rows] == list(range(1, 13))
    assert rows[5].light_mol_m2_d == 3.0
    without = "\n".join(line.rpartition(",")[0] for line in shuffled)
    assert read_climate(put(tmp_path, without, "d.csv")) == rows


def test_the_published_climate_table_reads_by_place() -> None:
    """Several places stand in one table; the one wanted is named."""
    rows = read_climate(TABLES / "climate_demo.csv", "bathroom-shelf")
    assert (rows[0].day_c, rows[0].night_c, rows[0].rh_pct, rows[0].air) == (21, 18, 66, "still")
    with pytest.raises(DataFault, match=r"rows of several places; there are .*bathroom-shelf"):
        read_climate(TABLES / "climate_demo.csv")


BROKEN_CLIMATES = [
    (CLIMATE.replace("\n2,21", "\n2,210"), "line 3, day_c: 210.0 is not a number from -30 to 55 [°C]"),
    (CLIMATE.replace("\n2,21", "\n2,x"), "line 3, day_c: 'x' is not a number"),
    (CLIMATE.replace("\n2,", "\n1,"), "line 3, month: month 1 appears twice"),
    (CLIMATE.replace("\n2,21", "\n2,,21"), "line 3: 8 cells; allowed are 7"),
    (CLIMATE.replace("2,21,17,55,room,1.0,daylight\n", "", 1), "month: no row for 2"),
    (CLIMATE.replace("room", "storm", 1), "line 2, air: 'storm' is not 'still' or 'room'"),
    (CLIMATE.replace("night_c", "nigth_c"), "nigth_c: unknown key; did you mean night_c"),
    (CLIMATE.replace("night_c", "day_c"), "day_c: the column appears twice"),
    ("month\n1\n", "day_c: the column is missing"),
]


@pytest.mark.parametrize(("text", "message"), BROKEN_CLIMATES)
def test_a_broken_climate_file_is_refused_with_its_line(tmp_path: Path, text: str, message: str) -> None:
    """Line, column, value and range."""
    with pytest.raises(DataFault, match=re.escape(message)):
        read_climate(put(tmp_path, text, "c.csv"))


def test_all_faults_of_a_climate_file_are_told_at_once(tmp_path: Path) -> None:
    """Two months, three faults; one month, four of two sorts."""
    text = CLIMATE.replace("\n2,21,17", "\n2,99,99").replace("\n7,21", "\n7,-99")
    with pytest.raises(DataFault, match="line 3") as caught:
        read_climate(put(tmp_path, text, "c.csv"))
    assert [fault.key for fault in caught.value.faults] == [
        "line 3, day_c",
        "line 3, night_c",
        "line 8, day_c",
    ]
    text = CLIMATE.replace("\n2,21,17,55,room", "\n2,x,99,,storm")
    with pytest.raises(DataFault, match="'storm' is not") as caught:
        read_climate(put(tmp_path, text, "c.csv"))
    assert {fault.key for fault in caught.value.faults} == {
        f"line 3, {column}" for column in ("day_c", "night_c", "rh_pct", "air")
    }
