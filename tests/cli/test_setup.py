"""Set-up commands: init, places, plants, supplies, settings, sides, profiles; and every refusal of theirs."""

from __future__ import annotations

from pathlib import Path

import pytest

from carecal.app import Collection
from tests.cli.cli_run import carecal, done, journal, refused, start, tide

pytestmark = pytest.mark.usefixtures("home")
SOUTH = ("--latitude", "-35", "--longitude", "149")


def test_init_makes_a_collection_in_its_zone(home: Path) -> None:
    """The first entry says name, place and zone; nothing stands outside the folder."""
    said = done("init", "Quay", *SOUTH, "--elevation", "560", "--timezone", "Australia/Sydney")
    assert said.out.startswith("entry 1\n  Quay begins in ")
    (record,) = journal(home)
    assert record.data == {
        "name": "Quay", "latitude": -35.0, "longitude": 149.0, "elevation_m": 560.0, "timezone": "Australia/Sydney",
    }  # fmt: skip
    assert [path.name for path in home.parent.iterdir()] == ["home"]


def test_init_without_a_zone_takes_the_machines(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The zone is named in the entry, so that another machine reads the same days."""
    monkeypatch.setenv("TZ", "Pacific/Auckland")
    done("init", "Quay", *SOUTH)
    assert journal(home)[0].data["timezone"] == "Pacific/Auckland"
    monkeypatch.setenv("TZ", "no such zone")
    other = home.parent / "other"
    done("init", "Quay", *SOUTH, home=other)
    assert journal(other)[0].data["timezone"] == "UTC"


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("Quay", "--latitude", "91", "--longitude", "0"), "latitude: 91.0 is not a number from -66 to 66"),
        (
            ("Quay", "--latitude", "54", "--longitude", "999"),
            "longitude: 999.0 is not a number from -180 to 180",
        ),
        (("Quay", "--latitude", "nan", "--longitude", "0"), "latitude: nan is not"),
        (
            ("Quay", "--latitude", "54", "--longitude", "0", "--elevation", "9000"),
            "elevation_m: 9000.0 is not",
        ),
        (("Quay", *SOUTH, "--timezone", "Australia/Sidney"), "did you mean Australia/Sydney"),
        (("Qu\nay", *SOUTH), "name: control character U+000A is not allowed"),
        (("Qu\x1bay", *SOUTH), "name: control character U+001B is not allowed"),
        (("", *SOUTH), "name: '' is too short"),
        (("n" * 81, *SOUTH), "is too long; allowed are 80 signs"),
    ],
)
def test_init_refuses_what_cannot_be(home: Path, words: tuple[str, ...], expected: str) -> None:
    """A refusal names field, value and what is allowed, and makes no folder."""
    assert expected in refused("init", *words)
    assert not home.exists()


def test_a_second_init_is_refused(home: Path) -> None:
    """A collection that stands there is left alone."""
    start()
    assert refused("init", "Other", *SOUTH) == (
        f"a collection stands in {home} already; choose another folder"
    )
    assert journal(home)[0].data["name"] == "Quay"


def test_a_place_is_added_shown_and_changed(home: Path) -> None:
    """What is named is kept, what is not named stays, and the twelve months follow."""
    start(as_of="2026-11-20")
    done(
        "place", "add", "cabinet", "--kind", "cabinet", "--lamp", "120", "--hours", "12", "--name", "Glow box",
        as_of="2026-11-20",
    )  # fmt: skip
    before = done("--json", "place", "show", "cabinet").json
    assert (before["name"], before["lamp_ppfd"], before["climate"]) == ("Glow box", 120.0, "kind")
    assert before["months"][0]["light_mol_m2_d"] == pytest.approx(120 * 12 * 0.0036, abs=0.01)  # models B4
    done("place", "change", "cabinet", "--winter", "24/20", "--summer", "26/21", "--on", "yesterday")
    after = done("--json", "place", "show", "cabinet").json
    assert (after["winter"], after["summer"], after["lamp_ppfd"]) == ("24/20", "26/21", 120.0)
    assert str(journal(home)[-1].on) == "2026-11-24"
    assert "Glow box" in done("place", "show", "cabinet").out
    assert "75.2 °F" in done("--units", "imperial", "place", "show", "cabinet").out  # 24 °C by hand


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("add", "patio", "--kind", "patio"), "give --winter and --summer as day/night in °C, or --climate"),
        (("add", "patio", "--kind", "patio", "--winter", "4/1"), "give --summer"),
        (("add", "box", "--kind", "cabinet"), "give --lamp in µmol/m²/s and --hours"),
        (("add", "box", "--kind", "cabinet", "--lamp", "100"), "a lamp needs both its light and its hours"),
        (("add", "box", "--kind", "cabinet", "--lamp", "100", "--hours", "25"), "lamp_hours: 25.0 is not"),
        (("add", "stair", "--kind", "stairs"), "no kind of place named 'stairs'; did you mean stair?"),
        (("add", "sill", "--kind", "warm-sill"), "a place 'sill' exists already"),
        (("add", "East Sill", "--kind", "warm-sill"), "place: 'East Sill' is not an id of small letters"),
        (
            ("add", "new", "--kind", "warm-sill", "--aspect", "UP"),
            "allowed are N, NE, E, SE, S, SW, W, NW, none",
        ),
        (("add", "new", "--kind", "warm-sill", "--name", "a\u2028b"), "control character U+2028"),
        (("add", "new", "--kind", "warm-sill", "--winter", "16/20"), "a night warmer than its day"),
        (
            ("add", "new", "--kind", "warm-sill", "--winter", "99/16"),
            "winter_day_c: 99.0 is not a number from -30 to 55",
        ),
        (("change", "sil", "--name", "x"), "no place named 'sil'; did you mean sill?"),
        (("change", "sill"), "nothing was named to change"),
        (("change", "sill", "--name", "x", "--on", "tomorrow"), "lies ahead"),
        (
            ("change", "sill", "--name", "x", "--on", "yesterday"),
            "2026-11-24 lies before sill was added, 2026-11-25",
        ),
        (("show", "sil"), "no place named 'sil'; did you mean sill?"),
        (("rain", "sill"), "no rain falls at sill, a warm-sill"),
    ],
)
def test_places_refuse_what_cannot_be(home: Path, words: tuple[str, ...], expected: str) -> None:
    """Each refusal names the value and what is allowed; nothing is written."""
    start()
    assert expected in refused("place", *words)
    assert len(journal(home)) == 2


def test_a_place_may_bring_its_own_twelve_months(home: Path, tmp_path: Path) -> None:
    """A climate file is read whole; its faults are told all at once with their lines."""
    start()
    rows = "".join(f"{month},20,14,60,room,3\n" for month in range(1, 13))
    good = tmp_path / "climate.csv"
    good.write_text("month,day_c,night_c,rh_pct,air,light_mol_m2_d\n" + rows, encoding="utf-8")
    done("place", "add", "patio", "--kind", "patio", "--climate", good)
    shown = done("--json", "place", "show", "patio").json
    assert (shown["climate"], shown["months"][6]["night_c"]) == ("own", 14)
    bad = tmp_path / "bad.csv"
    bad.write_text(
        "month,day_c,night_c,rh_pct,air,light_mol_m2_d\n1,200,14,60,room,3\n2,20,14,900,draughty,3\n",
        encoding="utf-8",
    )
    line = refused("place", "add", "deck", "--kind", "patio", "--climate", bad)
    for part in ("bad.csv: line 2", "200", "line 3", "900", "draughty"):
        assert part in line
    assert len(journal(home)) == 3


def test_several_places_of_one_climate_file_are_told_apart(tmp_path: Path) -> None:
    """A file with a column for the place gives the rows of the place that is added."""
    start()
    lines = [f"{p},{m},{t},14,60,room,3\n" for p, t in (("deck", 20), ("attic", 25)) for m in range(1, 13)]
    file = tmp_path / "all.csv"
    file.write_text(
        "place,month,day_c,night_c,rh_pct,air,light_mol_m2_d\n" + "".join(lines), encoding="utf-8"
    )
    done("place", "add", "attic", "--kind", "shelf", "--climate", file)
    assert done("--json", "place", "show", "attic").json["months"][0]["day_c"] == 25


def test_readings_are_gathered_to_days_and_their_columns_shown(home: Path, tmp_path: Path) -> None:
    """A logger's file becomes one entry of days; absurd values name the unit they look like."""
    start()
    file = tmp_path / "logger.csv"
    file.write_text(
        "Time,Temperature (°C),Humidity (%)\n2026-11-23 08:00,18,50\n2026-11-23 20:00,20,60\n2026-11-24 08:00,17,55\n",
        encoding="utf-8",
    )
    said = done("place", "readings", "sill", file)
    assert "columns: " in said.out
    assert "2 days of readings" in said.out
    days = journal(home)[-1].data["days"]
    assert [(d["day"], d["temp_mean_c"]) for d in days] == [("2026-11-23", 19.0), ("2026-11-24", 17.0)]
    file.write_text("time,temp\n2026-11-23,68\n2026-11-24,70\n2026-11-22,71\n", encoding="utf-8")
    assert "°F" in refused("place", "readings", "sill", file)
    file.write_text("time,temp\n2026-12-23,18\n", encoding="utf-8")
    assert "lie ahead" in refused("place", "readings", "sill", file)
    assert "is not ROLE=HEADING" in refused("place", "readings", "sill", file, "--column", "temp", code=2)


def test_rain_wets_every_plant_outdoors(home: Path) -> None:
    """A rain is a watering of each plant that stands there, marked as rain."""
    start()
    done("place", "add", "patio", "--kind", "patio", "--winter", "4/1", "--summer", "22/13")
    tide()
    assert "nothing that rain would wet stands at patio" in refused("place", "rain", "patio")
    done("plant", "add", "gull", "--medium", "bark", "--container", "net", "--size", "10", "--place", "patio")
    done("place", "rain", "patio")
    record = journal(home)[-1]
    assert (record.kind, record.data) == ("done", {"care": "watering", "rain": True})


def test_only_the_id_of_a_plant_is_needed(home: Path) -> None:
    """What is unknown becomes its first task: a look that asks for it (interface §3, models I9)."""
    start()
    said = done("plant", "add", "foundling")
    assert "Foundling joins the collection" in said.out
    assert done("--json", "plant", "show", "foundling").json["missing"] == [
        "medium",
        "container",
        "place",
        "stage",
    ]
    assert done("--json", "plan", "--plant", "foundling").json["tasks"][0]["care"] == "inspection"
    assert journal(home)[-1].data == {"id": "foundling", "aids": []}


def test_all_that_is_known_of_a_plant_is_kept(home: Path) -> None:
    """Each option is a field of the entry; the potting may lie before its coming."""
    start()
    done(
        "plant", "add", "gull", "--profile", "phalaenopsis", "--medium", "moss", "--container", "clear-plastic",
        "--size", "3.5in", "--place", "sill", "--name", "Gull on a post", "--came", "2026-11-01", "--potted",
        "2024-05-01", "--watered", "2 days ago", "--stage", "new-tips", "--roots", "3", "--longest", "25", "--tips",
        "2", "--leaves", "4", "--flowering", "none", "--aid", "cloth", "--aid", "stake", "--note", "from the market",
    )  # fmt: skip
    data = journal(home)[-1].data
    assert (data["size_cm"], data["aids"], data["potted"]) == (
        8.9,
        ["cloth", "stake"],
        "2024-05-01",
    )  # 3.5 × 2.54
    shown = done("plant", "show", "gull").out
    for word in ("Gull on a post", "moss", "8.9 cm", "cloth, stake", "from the market"):
        assert word in shown
    assert "3.5 in" in done("--units", "imperial", "plant", "show", "gull").out


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("--medium", "brak"), "no medium named 'brak'; did you mean bark"),
        (("--container", "plastik"), "no container named 'plastik'; did you mean plastic"),
        (("--place", "sil"), "no place named 'sil'; did you mean sill?"),
        (("--profile", "phalenopsis"), "no profile named 'phalenopsis'; did you mean phalaenopsis"),
        (
            ("--medium", "bark", "--container", "mount"),
            "bark does not go into the container mount; allowed are plastic",
        ),
        (("--came", "tomorrow"), "came 2026-11-26 lies ahead"),
        (("--potted", "2027-01-01"), "potted 2027-01-01 lies ahead"),
        (("--watered", "in 2 days"), "watered 2026-11-27 lies ahead"),
        (("--came", "3/4"), "'3/4' may be 3 April or 4 March"),
        (("--came", "2026-02-30"), "'2026-02-30': there is no such day"),
        (("--came", "1066-10-14"), "too far away; allowed are the years 1950 to 2150"),
        (("--size", "-4"), "a size of -4 is out of range; allowed are 3 to 60 cm"),
        (("--size", "400"), "a size of 400 is out of range; allowed are 3 to 60 cm"),
        (("--roots", "-1"), "roots: -1 is not a whole number from 0 to 400"),
        (("--leaves", "9000"), "leaves: 9000 is not a whole number from 0 to 400"),
        (("--longest", "1e9"), "longest: 1000000000.0 is not a number from 0 to 2000 [mm]"),
        (("--longest", "inf"), "longest: inf is not a number"),
        (("--roots", "0", "--longest", "30"), "a longest root of 30 mm needs a root; roots is 0"),
        (
            ("--stage", "happy"),
            "stage: 'happy' is not 'rootless' or 'new-tips' or 'rooting-in' or 'established'",
        ),
        (("--flowering", "soon"), "flowering: 'soon' is not 'none'"),
        (("--aid", "crutch"), "'crutch' is not 'cloth' or"),
        (("--on-mother", "nobody"), "no plant named 'nobody'"),
        (("--name", "two\nlines"), "name: control character U+000A is not allowed"),
        (("--name", "   "), "only blanks"),
        (("--medium", "brak", "--place", "sil"), "no medium named 'brak'; did you mean bark"),
    ],
)
def test_plant_add_refuses_what_cannot_be(home: Path, words: tuple[str, ...], expected: str) -> None:
    """Each refusal names field, value and what is allowed; nothing is written."""
    start()
    assert expected in refused("plant", "add", "new", *words)
    assert len(journal(home)) == 2


def test_all_faults_of_a_newcomer_are_told_at_once() -> None:
    """Two unknown names and a day ahead stand in the same line."""
    start()
    line = refused("plant", "add", "new", "--medium", "brak", "--place", "sil", "--came", "tomorrow")
    for part in ("'brak'", "'sil'", "2026-11-26 lies ahead"):
        assert part in line
    line = refused("plant", "add", "new", "--roots", "-1", "--leaves", "9000")
    assert "roots: -1" in line
    assert "leaves: 9000" in line


@pytest.mark.parametrize("name", ["Tide", "tide!", "ti de", "tïde", "-tide", "", "t" * 41, "ti\nde"])
def test_an_id_is_of_small_letters_digits_and_hyphens(home: Path, name: str) -> None:
    """Any other id is refused with what is allowed."""
    start()
    code = 2 if name.startswith("-") else 3
    line = refused("plant", "add", name, code=code)
    assert code == 2 or "is not an id of small letters, digits and hyphens, at most 40" in line
    assert len(journal(home)) == 2


def test_an_id_names_one_plant(home: Path) -> None:
    """A second plant of the same id is refused; a freed id may be used again with a number of its own."""
    start()
    tide()
    assert "a plant 'tide' exists already" in refused("plant", "add", "tide")
    done("plant", "rename", "tide", "wave")
    done("plant", "add", "tide")
    assert [r.plant for r in journal(home) if r.kind == "added"] == [1, 2]


def test_what_does_not_suit_is_named_once_with_the_months() -> None:
    """W5: a cold place is named where the plant is added and shown, never as a task."""
    start()
    done("place", "add", "stair", "--kind", "stair", "--winter", "15/9", "--summer", "20/15")
    said = done(
        "plant", "add", "gull", "--medium", "bark", "--container", "net", "--size", "9", "--place", "stair"
    )
    assert "stair does not suit gull: nights under 16 °C in all months (9.04 to 15)" in said.out
    assert "nights under 16 °C" in done("plant", "show", "gull").out
    assert "stair does not suit gull" in done("place", "show", "stair").out
    assert not any("suit" in task["care"] for task in done("--json", "plan").json["tasks"])


def test_a_keiki_hangs_on_its_mother_without_a_pot_of_its_own(home: Path) -> None:
    """A keiki stands where its mother does; a medium of its own is refused until it is parted."""
    start()
    tide()
    done("plant", "add", "pup", "--on-mother", "tide", "--roots", "2", "--leaves", "2")
    assert journal(home)[-1].data["place"] == "sill"
    assert done("--json", "plant", "show", "pup").json["mother"] == "tide"
    line = refused("plant", "add", "pup-two", "--on-mother", "tide", "--medium", "moss")
    assert line == "pup-two hangs on tide and has no medium of its own; part it first, then say so"


def test_a_plant_leaves_and_takes_no_more_entries(home: Path) -> None:
    """After its day nothing of it is accepted; before it was entered neither."""
    start(as_of="2026-11-01")
    tide(as_of="2026-11-01")
    done("plant", "retire", "tide", "--because", "given-away", "--on", "2026-11-20")
    assert "lies after tide left, 2026-11-20" in refused("done", "watering", "tide")
    assert "left on 2026-11-20 already" in refused(
        "plant", "retire", "tide", "--because", "lost", "--on", "2026-11-19"
    )
    assert "lies before tide was entered" in refused("done", "watering", "tide", "--on", "2026-10-30")
    assert done("--json", "plant", "list").json == []
    assert done("--json", "plant", "list", "--all").json[0]["left_because"] == "given-away"
    assert len(journal(home)) == 4


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("retire", "tdie", "--because", "lost"), "no plant named 'tdie'; did you mean tide?"),
        (
            ("retire", "tide", "--because", "bored"),
            "because: 'bored' is not 'lost' or 'given-away' or 'merged'",
        ),
        (("retire", "tide", "--because", "merged"), "merged needs --into"),
        (("retire", "tide", "--because", "lost", "--into", "gull"), "merged needs --into"),
        (("retire", "tide", "--because", "merged", "--into", "tide"), "tide cannot merge into itself"),
        (
            ("retire", "tide", "--because", "merged", "--into", "gul"),
            "no plant named 'gul'; did you mean gull?",
        ),
        (("retire", "tide", "--because", "lost", "--on", "tomorrow"), "lies ahead"),
        (("rename", "tide", "gull"), "a plant 'gull' exists already"),
        (("rename", "tide"), "neither a new id nor a name was given"),
        (("rename", "tide", "Big Tide"), "to: 'Big Tide' is not an id"),
        (("show", "tied"), "no plant named 'tied'; did you mean tide?"),
    ],
)
def test_plants_refuse_what_cannot_be(home: Path, words: tuple[str, ...], expected: str) -> None:
    """Unknown ids name the near ones; nothing is written."""
    start()
    tide()
    done("plant", "add", "gull")
    assert expected in refused("plant", *words)
    assert len(journal(home)) == 4


def test_a_new_name_keeps_the_history() -> None:
    """Renaming keeps number and log; the new id is found, the old one not."""
    start()
    tide()
    done("plant", "rename", "tide", "wave", "--name", "The Wave")
    assert (
        done("--json", "plant", "show", "wave").json["number"],
        carecal("plant", "show", "tide").code,
    ) == (1, 3)
    assert "The Wave" in done("plant", "list").out


def test_settings_are_shown_and_changed(home: Path) -> None:
    """Weekdays are kept in the order of the week, each once; oracle: interface §3."""
    start()
    assert done("--json", "settings").json == {
        "weekdays": "wed,sat", "ticking": "usual", "units": "metric", "public-address": "none",
    }  # fmt: skip
    done("settings", "weekdays", "Sat,mon,saturday")
    done("settings", "ticking", "careful")
    done("settings", "public-address", "https://plants.example/")
    assert done("--json", "settings").json == {
        "weekdays": "mon,sat", "ticking": "careful", "units": "metric",
        "public-address": "https://plants.example",
    }  # fmt: skip
    done("settings", "weekdays", "none")
    assert done("--json", "settings", "weekdays").json == {"weekdays": "none"}
    with Collection.open(home) as found:
        assert found.plan(found.now().day).extra_wettings_percent is None  # models R1a: null without weekdays


@pytest.mark.parametrize(
    ("key", "value", "expected"),
    [
        (
            "weekdays",
            "wed,funday",
            "weekday 'funday' is not known; allowed are mon, tue, wed, thu, fri, sat, sun, or none",
        ),
        ("weekdays", "", "weekday '' is not known"),
        ("ticking", "sometimes", "ticking 'sometimes' is not known; allowed are usual, careful, none"),
        ("units", "cubits", "units 'cubits' is not known; allowed are metric, imperial"),
        ("public-address", "plants", "is no address; write it as https://plants.example, or none"),
        ("public-address", "javascript:alert(1)", "is no address"),
        ("public-address", "https://a b", "is no address"),
        ("clock", "wrong", "clock 'wrong' is not known; allowed are confirmed"),
        ("weekday", "wed", "no setting named 'weekday'; did you mean weekdays"),
        ("colour", "green", "no setting named 'colour'"),
    ],
)
def test_settings_refuse_with_what_is_allowed(home: Path, key: str, value: str, expected: str) -> None:
    """Unknown keys and values are refused naming those allowed."""
    start()
    assert expected in refused("settings", key, value)
    assert len(journal(home)) == 2


def test_supplies_reach_the_can(home: Path) -> None:
    """A fertiliser's label decides the grams of the round's can; oracle: models F1 by hand."""
    start()
    tide()
    done("supply", "fertiliser", "blue", "--analysis", "20-10-20", "--label-rate", "1.0")
    done("supply", "water", "tap", "--ec", "0.4")
    rounds = done("--json", "plan").json["rounds"]
    feeds = [feed for found in rounds for feed in found["can"]["feeds"]]
    assert feeds
    assert all(feed["g_per_l"] == pytest.approx(feed["ppm_n"] / (10 * 20), rel=1e-5) for feed in feeds)
    assert "fertiliser blue: 20-10-20, label 1 g/L" in done("supply", "list").out
    assert len(journal(home)) == 5


@pytest.mark.parametrize(
    ("words", "code", "expected"),
    [
        (
            ("fertiliser", "blue", "--analysis", "20-20"),
            2,
            "'20-20' is not an analysis; write N-P-K as 20-20-20",
        ),
        (("fertiliser", "blue", "--analysis", "60-30-30"), 3, "makes 120 %; allowed are 100 % in all"),
        (
            ("fertiliser", "blue", "--analysis", "20-20-20", "--label-rate", "0"),
            3,
            "label_rate_g_per_l: 0.0 is not",
        ),
        (("fertiliser", "bl\nue", "--analysis", "20-20-20"), 3, "control character U+000A"),
        (("water", "tap", "--ec", "400"), 3, "400 looks like µS/cm: that is 0.4 mS/cm"),
        (("water", "tap", "--ec", "-1"), 3, "ec: -1.0 is not a number from 0 to 5 [mS/cm]"),
    ],
)
def test_supplies_refuse_what_no_label_says(
    home: Path, words: tuple[str, ...], code: int, expected: str
) -> None:
    """Values that no label or meter shows are refused, a likely unit named."""
    start()
    assert expected in refused("supply", *words, code=code)
    assert len(journal(home)) == 2


def test_the_other_side_is_taken_by_one_key(home: Path) -> None:
    """A side holds for all, for a profile or for a plant, the nearest first (design §4)."""
    start()
    tide()
    listed = {row["key"]: row for row in done("--json", "side", "list").json}
    other = "b" if listed["flush-rhythm"]["default"] == "a" else "a"
    done("side", "flush-rhythm", other)
    done("side", "ice-or-tepid", "b", "--plant", "tide")
    assert {row["key"]: row["side"] for row in done("--json", "side", "list").json}["flush-rhythm"] == other
    assert journal(home)[-1].data == {"key": "ice-or-tepid", "side": "b", "plants": [1]}
    assert "* " in done("side", "flush-rhythm").out
    assert "no side named 'flush-rythm'; did you mean flush-rhythm" in refused("side", "flush-rythm", "a")
    assert "side 'c' is not known; allowed are a, b" in refused("side", "flush-rhythm", "c")
    assert "no profile named 'cat'" in refused("side", "flush-rhythm", "a", "--profile", "cat")
    assert "exclude each other" in refused(
        "side", "flush-rhythm", "a", "--profile", "cattleya", "--plant", "tide"
    )


def test_profiles_are_listed_and_shown_with_their_sources() -> None:
    """Each value stands with its source; no collection is needed."""
    rows = done("--json", "profiles", "list").json
    assert {row["profile"] for row in rows} >= {"phalaenopsis", "cattleya", "vanda"}
    values = done("--json", "profiles", "show", "phalaenopsis").json["values"]
    assert all(value["source"] for value in values)
    assert "no profile named 'phalenopsis'; did you mean phalaenopsis" in refused(
        "profiles", "show", "phalenopsis"
    )
    assert "are sound" in done("profiles", "verify").out


def test_a_broken_profile_is_told_whole_and_stops_planning(home: Path) -> None:
    """All faults of the grower's own file are named with file and key; commands that plan are refused."""
    start()
    (home / "profiles" / "mine.toml").write_text(
        'name = "mine"\ndepth = "guess"\ncolour = 3\n', encoding="utf-8"
    )
    said = carecal("profiles", "verify")
    assert said.code == 1
    for part in ("profiles/mine.toml: depth", "colour", "temperature"):
        assert part in said.out
    assert "profiles/mine.toml" in refused("plant", "add", "tide")
    assert len(journal(home)) == 2
    assert carecal("verify").code == 1
    (home / "profiles" / "mine.toml").unlink()
    done("plant", "add", "tide")


def test_demo_makes_the_folder_itself_the_collection(home: Path) -> None:
    """`demo FOLDER` makes FOLDER a collection whose log ends the day before (design §6)."""
    folder = home.parent / "quay"
    said = done("--json", "demo", folder)
    assert said.json["plants"] >= 20
    records = journal(folder)
    assert str(max(record.on for record in records)) < "2026-11-25"
    assert "Next round" in done("today", home=folder).out
    assert "stands in" in refused("demo", folder)
