"""`hindsight`, `tonight`, `outing` and the comparison of pots through the command line: codes, streams, documents."""

from __future__ import annotations

from pathlib import Path

import click
import pytest

from carecal.cli.context import Session
from carecal.cli.looking_around import show_compared
from tests.cli.cli_run import carecal, done, refused

SUMMER, LOSS = "2026-07-01", "2026-11-20"


@pytest.fixture
def quay(home: Path) -> Path:
    """Return a collection of two plants: one converted in September and without roots in November."""
    done("init", "Quay", "--latitude", 54.3, "--longitude", 10, "--timezone", "Europe/Berlin", as_of=SUMMER)
    done("place", "add", "sill", "--kind", "cool-sill", "--aspect", "E", as_of=SUMMER)
    done("place", "add", "balcony", "--kind", "glazed-balcony", as_of=SUMMER)
    bark = ("--medium", "bark", "--container", "plastic", "--size", 12, "--watered", "2026-06-28")
    counts = ("--tips", 2, "--roots", 5, "--longest", 120, "--leaves", 4)
    done("plant", "add", "tide", *bark, "--place", "sill", *counts, as_of=SUMMER)
    done("plant", "add", "gable", *bark, "--place", "balcony", "--stage", "rooting-in", as_of=SUMMER)
    pot = ("--medium", "lava", "--container", "reservoir", "--size", 12, "--filled", "--yes")
    done("pot", "tide", *pot, as_of="2026-09-20")
    done("observe", "tide", "--roots", 0, "--longest", 0, "--tips", 0, "--yes", as_of=LOSS)
    return home


def test_hindsight_names_the_conversion_first(quay: Path) -> None:
    """The late conversion leads, with the entry that made it; the document says the same; oracle: steps.csv."""
    assert quay.is_dir()
    text = done("hindsight", "tide", as_of=LOSS).out.splitlines()
    assert text[0] == "Tide: established → rooting-in on 20 November 2026"
    assert text[2].startswith(" 1. the conversion to a reservoir on 20 September 2026 may have come")
    assert text[2].endswith("(entry 6)")
    document = done("--json", "hindsight", "tide", as_of=LOSS).json
    assert document["loss"] == LOSS
    assert document["departures"][0]["code"] == "conversion-too-late"
    assert document["departures"][0]["entries"] == [6]


def test_hindsight_on_a_plant_that_thrives_or_is_unknown(quay: Path) -> None:
    """No loss is said in one line; an unknown id is refused with the near one."""
    assert quay.is_dir()
    assert (
        done("hindsight", "gable", as_of=LOSS).out == "Gable: no loss and no step down a stage is recorded\n"
    )
    assert "did you mean gable" in refused("hindsight", "gabel", as_of=LOSS)


def test_tonight_lists_the_urgent_first_and_takes_a_low(quay: Path) -> None:
    """The balcony before the reservoir; in summer nobody, with a low given the balcony; oracle: profiles.csv."""
    assert quay.is_dir()
    document = done("--json", "tonight", as_of=LOSS).json
    assert [(row["plant"], row["limit"]) for row in document["plants"]] == [
        ("gable", "urgent"),
        ("tide", "reservoir"),
    ]
    low = done("--json", "tonight", "--low", 4, as_of=SUMMER).json
    assert [(row["plant"], row["night_c"]) for row in low["plants"]] == [("gable", 4.0)]
    assert "°F" in done("--units", "imperial", "tonight", as_of=LOSS).out
    assert refused("tonight", "--place", "patio", as_of=LOSS).startswith("no place named 'patio'")


def test_outing_says_who_goes_and_back_by_when(quay: Path) -> None:
    """A time of day for those who go, a reason for those who stay; oracle: design rule 12."""
    assert quay.is_dir()
    document = done("--json", "outing", "--temp", 23, "--rh", 60, "--air", "gentle", as_of=SUMMER).json
    assert [(row["plant"], row["may_go"]) for row in document["plants"]] == [("gable", True), ("tide", True)]
    lines = done("outing", "--temp", 23, "--rh", 60, "--air", "gentle", as_of=SUMMER).out.splitlines()
    assert lines[0].split() == ["plant", "stage", "back", "by", "at", "most", "why"]
    assert ":" in lines[1]
    assert "stays in" in done("outing", "--temp", 2, "--rh", 60, "--air", "windy", as_of=SUMMER).out
    assert "72 °C outdoors" in refused("outing", "--temp", 72, "--rh", 60, "--air", "still", as_of=SUMMER)
    assert carecal("outing", "--temp", 20, as_of=SUMMER).code == 2


def test_pots_are_compared_side_by_side(quay: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One row a pair with seasons, coldest night and a reason; the present pot is marked."""
    session = Session()
    session.home, session.as_of = str(quay), SUMMER
    with click.Context(click.Command("pot"), obj=session):
        show_compared(session, "tide", ("bark", "lava"), ("plastic", "net"), None)
    session.close()
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("Tide at sill, established")
    assert len(lines) == 6
    assert any(line.startswith("bark in plastic (now)") for line in lines)
    assert all(season in lines[1] for season in ("summer", "autumn", "winter", "spring"))
