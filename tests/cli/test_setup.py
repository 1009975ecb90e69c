"""Set-up commands: init, settings, supplies, sides, profiles, the example; and every refusal of theirs."""

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
    assert "Quay begins in " in said.out
    (record,) = journal(home)
    assert record.data == {
        "name": "Quay",
        "latitude": -35.0,
        "longitude": 149.0,
        "elevation_m": 560.0,
        "timezone": "Australia/Sydney",
    }
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
        (("Quay", "--latitude", "91", "--longitude", "0"), "latitude: 91.0 is not a number from -90 to 90"),
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
        (("n" * 81, *SOUTH), "is too long; at most 80 characters are allowed"),
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


def test_settings_are_shown_and_changed(home: Path) -> None:
    """Weekdays are kept in the order of the week, each once; oracle: interface §3."""
    start()
    assert done("--json", "settings").json == {
        "weekdays": "wed,sat",
        "ticking": "usual",
        "units": "metric",
        "public-address": "none",
        "feed-ppm": "none",
        "notes-in-calendars": "no",
        "care-days": "ask",
    }
    done("settings", "weekdays", "Sat,mon,saturday")
    done("settings", "ticking", "careful")
    done("settings", "public-address", "https://plants.example/")
    assert done("--json", "settings").json == {
        "weekdays": "mon,sat",
        "ticking": "careful",
        "units": "metric",
        "public-address": "https://plants.example",
        "feed-ppm": "none",
        "notes-in-calendars": "no",
        "care-days": "ask",
    }
    done("settings", "notes-in-calendars", "yes")
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
        ("public-address", "plants", "is not an address; write it as https://plants.example, or none"),
        ("public-address", "javascript:alert(1)", "is not an address"),
        ("public-address", "https://a b", "is not an address"),
        ("notes-in-calendars", "maybe", "notes-in-calendars 'maybe' is not known; allowed are yes, no"),
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
    done("supply", "fertiliser", "red", "--analysis", "13-6.546-12.453", "--elemental")
    assert (
        "fertiliser red: 13-15-15" in done("supply", "list").out
    )  # oracle: MOLMASS, 15 × 0.4364 and 15 × 0.8302
    assert len(journal(home)) == 6


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


def test_a_setting_is_said_as_it_was_typed() -> None:
    """An address keeps its hyphens; one that is taken away is none."""
    start()
    said = done("settings", "public-address", "http://my-machine.local:8321").out
    assert "is http://my-machine.local:8321." in said
    assert "public address is none" in done("settings", "public-address", "none").out
