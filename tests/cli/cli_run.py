"""What tests of commands share: a command line run as a shell would, and small collections made by it."""

from __future__ import annotations

import json
import shlex
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from click.testing import CliRunner

from carecal.app import Collection
from carecal.cli.main import cli
from carecal.collection.records import Record

DAY = "2026-11-25"


@dataclass(frozen=True)
class Said:
    """What a command left: exit code and both streams."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """The one document on standard output."""
        return json.loads(self.out)


def carecal(*words: object, as_of: str | None = DAY, home: Path | None = None) -> Said:
    """Run a command line on a named day, in the folder of CARECAL_HOME or another; a bug is raised."""
    front = [*(("--as-of", as_of) if as_of else ()), *(("--home", str(home)) if home else ())]
    found = CliRunner().invoke(cli, [*front, *map(str, words)], prog_name="carecal")
    if found.exception is not None and not isinstance(found.exception, SystemExit):
        raise found.exception
    return Said(found.exit_code, found.stdout, found.stderr)


def typed(line: str) -> list[str]:
    """Return the words of a command line as it is typed, quotes and all."""
    return shlex.split(line)


def done(*words: object, as_of: str | None = DAY, home: Path | None = None) -> Said:
    """Run a command line that must succeed and complain of nothing."""
    said = carecal(*words, as_of=as_of, home=home)
    assert (said.code, said.err) == (0, "")
    return said


def refused(*words: object, as_of: str | None = DAY, home: Path | None = None, code: int = 3) -> str:
    """Run a command line that must be refused in one line, and return the line."""
    said = carecal(*words, as_of=as_of, home=home)
    assert said.code == code
    assert said.out == ""
    line, end, rest = said.err.partition("\n")
    assert (end, rest) == ("\n", "")
    assert line.startswith("carecal: ")
    assert not line.endswith(".")
    return line.removeprefix("carecal: ")


def start(as_of: str | None = DAY) -> None:
    """Make a collection at a harbour with a warm sill."""
    done(
        "init",
        "Quay",
        "--latitude",
        "54.3",
        "--longitude",
        "10.1",
        "--timezone",
        "Europe/Berlin",
        as_of=as_of,
    )
    done("place", "add", "sill", "--kind", "warm-sill", "--aspect", "E", as_of=as_of)


def plant(
    plant_id: str,
    *more: object,
    pair: str = "bark/plastic",
    size: float = 12,
    place: str = "sill",
    as_of: str | None = DAY,
) -> None:
    """Add a plant in a medium and container, at a place; further words are those of the command line."""
    medium, container = pair.split("/")
    pot = ("--medium", medium, "--container", container, "--size", size, "--place", place)
    done("plant", "add", plant_id, *pot, *more, as_of=as_of)


def tide(as_of: str = DAY) -> None:
    """Add an established plant whose last wetting is known."""
    plant("tide", "--stage", "established", "--watered", "yesterday", as_of=as_of)


def journal(home: Path) -> list[Record]:
    """Return what stands in a collection's journal."""
    with Collection.open(home, readonly=True) as found:
        return found.journal.records()


def quay() -> None:
    """Make a collection with two plants whose rhythm is known and one of which nothing is."""
    start()
    tide()
    told = ("--stage", "new-tips", "--came", "2026-11-20", "--watered", "yesterday")
    plant("gull", *told, pair="moss/clear-plastic", size=9)
    done("plant", "add", "foundling")


def two_places() -> None:
    """Make a collection with an established plant on a sill and a young one at a stair window."""
    start()
    tide()
    done("place", "add", "stair", "--kind", "stair", "--aspect", "N")
    told = ("--stage", "rooting-in", "--watered", "yesterday")
    plant("gull", *told, pair="moss/clear-plastic", size=9, place="stair")
