"""`carecal sitter`: an address for some days, listed, ended, printed; oracle: interface §3 and the days named."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from tests.cli.cli_run import carecal, done, quay, refused

LAST = "2026-12-05"


@pytest.fixture(autouse=True)
def _collection(home: Path) -> None:
    """Have a collection with two plants whose rhythm is known."""
    assert not home.exists()
    quay()


def test_the_address_is_shown_once_and_ends_by_itself() -> None:
    """`add` shows it, `list` only the days; the day after the last one nobody is listed."""
    said = done("sitter", "add", "Ada", "--until", LAST)
    address = said.out.splitlines()[0]
    base, _, path = address.rpartition("/")
    assert base == "http://127.0.0.1:8321/sitter"
    assert len(path) == 32  # 192 bits
    listed = done("sitter", "list").out
    assert listed == f"Ada: 2026-11-25 to {LAST}, both included\n"
    assert path not in listed
    assert done("sitter", "list", as_of="2026-12-06").out == "no sitter has an address\n"


def test_with_a_public_address_it_is_shown_whole() -> None:
    """So that it can be sent as it is."""
    done("settings", "public-address", "https://plants.example")
    told = done("--json", "sitter", "add", "Ada", "--from", "1 December", "--until", LAST).json
    assert told["address"] == f"https://plants.example{told['path']}"


def test_the_sheet_begins_with_what_not_to_do(tmp_path: Path) -> None:
    """On standard output or in a file, the same; only the sitter's days stand in it."""
    done("sitter", "add", "Ada", "--from", "1 December", "--until", LAST)
    text = done("sitter", "sheet", "ada").out
    lines = text.splitlines()
    assert lines[0] == "For Ada: 1 December to 5 December"
    assert lines.index("DO NOT") < lines.index("WHERE THINGS STAND")
    assert "25 November 2026" not in text
    done("sitter", "sheet", "Ada", "-o", tmp_path / "sheet.txt")
    assert (tmp_path / "sheet.txt").read_text(encoding="utf-8") == text
    days = done("--json", "sitter", "sheet", "Ada").json["days"]
    assert days
    assert all(date(2026, 12, 1) <= date.fromisoformat(day["on"]) <= date(2026, 12, 5) for day in days)


def test_an_end_is_an_end() -> None:
    """Ended by hand, the sitter is listed no more and cannot be ended twice."""
    done("sitter", "add", "Ada", "--until", LAST)
    assert done("sitter", "end", "ADA").out == "the address of Ada has ended\n"
    assert refused("sitter", "end", "Ada") == "no sitter named 'Ada'"
    assert refused("sitter", "sheet", "Ada") == "no sitter named 'Ada'"


def test_what_cannot_be_is_refused() -> None:
    """In one line; without a last day it is wrong usage."""
    assert refused("sitter", "add", "owner", "--until", LAST).startswith(
        "sitter 'owner' has no name that fits"
    )
    assert carecal("sitter", "add", "Ada").code == 2
    done("sitter", "add", "Ada", "--until", LAST)
    assert "has an address already" in refused("sitter", "add", "ada", "--until", LAST)
    assert refused("sitter", "end", "Ad") == "no sitter named 'Ad'; did you mean Ada?"
