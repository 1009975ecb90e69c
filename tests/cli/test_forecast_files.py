"""A weather forecast as a file: what is read of it, what is new, who has to come in; days worked out by hand."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from carecal.cli.main import cli
from carecal.collection.forecast_file import read_forecast
from carecal.errors import DataFault
from tests.cli.cli_run import DAY, done, journal, refused, start, tide

CSV = (
    "date,min (°C),max (°C),rain\n2026-11-24,1,5,0\n2026-11-25,8,12,1\n2026-11-26,3.5,9,0\n2027-03-01,2,9,0\n"
)


def written(folder: Path, text: str, name: str = "week.csv") -> Path:
    """Return a file with a text."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    "text",
    [
        "day_low,date,high\n8,2026-11-25,12\n".replace("day_low", "low"),
        "Datum;Nacht;Tag\n25.11.2026;8,0;12,0\n",
        "time\tnight_f\tday_f\n2026-11-25T00:00\t46.4\t53.6\n",
        '[{"date": "2026-11-25", "min": 8, "max": 12.0, "text": "showers"}]',
        '{"for": "2026-11-25T00:00+01:00", "night": "8 °C", "day": 12}',
    ],
    ids=["plain", "decimal commas", "fahrenheit", "json list", "json object"],
)
def test_a_day_is_read_however_it_is_written(tmp_path: Path, text: str) -> None:
    """25 November, 8 °C (46.4 °F) and 12 °C (53.6 °F)."""
    found = read_forecast(written(tmp_path, text))
    assert [(str(row.day), row.night_c, row.high_c) for row in found] == [("2026-11-25", 8.0, 12.0)]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("date,wind\n2026-11-25,3\n", "no forecast among date, wind"),
        ("min,max\n1,2\n", "needed are date"),
        ("date,min,low\n2026-11-25,3,4\n", "'min' and 'low' may both be the night"),
        ("date,min\nsoon,3\n", "'soon' is not a date"),
        ("date,min\n2026-11-25,3\n2026-11-25,4\n", "more than once"),
        ("date,min\n2026-11-25,cold\n", "'cold' is not a number"),
        ("date,min\n2026-11-25,45\n2026-11-26,50\n", "it looks like °F"),
        ("date,min,max\n2026-11-25,12,8\n", "line 2: the night is warmer than its day"),
        ("date,min\n", "no forecast below"),
        ("[3]", "allowed is an object"),
    ],
)
def test_what_cannot_be_is_refused(tmp_path: Path, text: str, told: str) -> None:
    """One line says what stands where, and what is allowed."""
    with pytest.raises(DataFault, match=told):
        read_forecast(written(tmp_path, text))


def test_days_ahead_are_written_down_once(home: Path, tmp_path: Path) -> None:
    """Of four days two lie within sixteen from today; the same file again says nothing new, a colder night does."""
    start()
    tide()
    file = written(tmp_path, CSV)
    said = done("place", "forecast", "sill", file)
    assert [(r.data["day"], r.data["night_c"]) for r in journal(home) if r.kind == "forecast"] == [
        ("2026-11-25", 8),
        ("2026-11-26", 3.5),
    ]
    assert said.out.count("Tide") >= 1  # a warm sill's plant bears no night of 8 °C
    assert "told already, 2 days of sill" in refused("place", "forecast", "sill", file)
    colder = CliRunner().invoke(
        cli,
        ["--as-of", DAY, "place", "forecast", "sill", "-"],
        input=CSV.replace("3.5", "2"),
        prog_name="carecal",
    )
    assert colder.exit_code == 0
    assert [r.data["night_c"] for r in journal(home) if r.kind == "forecast"] == [8, 3.5, 2]


def test_a_file_stands_alone_and_lies_ahead(home: Path, tmp_path: Path) -> None:
    """A file beside --night, or of last year, writes nothing."""
    start()
    file = written(tmp_path, CSV.replace("2026", "2025").replace("2027", "2025"))
    assert "give it alone" in refused("place", "forecast", "sill", file, "--night", "3")
    assert "no day from 2026-11-25 to 2026-12-11" in refused("place", "forecast", "sill", file)
    assert [r.kind for r in journal(home)] == ["collection", "place"]
