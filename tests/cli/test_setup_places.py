"""Places on the command line: added, shown, changed, read into, rained on; and every refusal of theirs."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.cli_run import done, journal, refused, start, tide

pytestmark = pytest.mark.usefixtures("home")
SOUTH = ("--latitude", "-35", "--longitude", "149")


def test_a_place_is_added_shown_and_changed(home: Path) -> None:
    """What is named is kept, what is not named stays, and the twelve months follow."""
    start(as_of="2026-11-20")
    done(
        "place",
        "add",
        "cabinet",
        "--kind",
        "cabinet",
        "--lamp",
        "120",
        "--hours",
        "12",
        "--name",
        "Glow box",
        as_of="2026-11-20",
    )
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
    assert "stand already" in refused("place", "readings", "sill", file)
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


def test_shade_is_put_up_or_taken_down_and_never_both(home: Path) -> None:
    """Neither and both are asked; nothing is written."""
    start()
    before = len(journal(home))
    for words in ((), ("--up", "--down")):
        assert refused("place", "shade", "sill", *words, code=2) == "say --up or --down, one of them"
    assert len(journal(home)) == before
