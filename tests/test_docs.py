"""The documents against the program: README run from nothing, DEVELOPERS.md against code, tables and citations."""

from __future__ import annotations

import csv
import re
import shlex
from collections.abc import Iterator
from datetime import date
from math import ceil, floor
from pathlib import Path
from typing import Any

import click
import pytest

from carecal.app.documents.calc import interval
from carecal.app.now import real_now
from carecal.catalog.load import load_catalog
from carecal.catalog.tables import Catalog
from carecal.cli.main import cli
from carecal.cli.table import COMMANDS
from carecal.collection.plant_states import PlantState
from carecal.horticulture.air import vapour_pressure_deficit_of_day
from carecal.horticulture.drydown import held_interval, raw_interval, relative_demand
from carecal.planning.rhythm.terms import terms_of
from tests.cli.cli_run import done

ROOT = Path(__file__).resolve().parents[1]
DOCUMENTS = ("README.md", "DEVELOPERS.md", "CHANGELOG.md")
TEXTS = {name: (ROOT / name).read_text(encoding="utf-8") for name in DOCUMENTS}
README, DEVELOPERS = TEXTS["README.md"], TEXTS["DEVELOPERS.md"]
FENCES = re.compile(r"^```(\w*)\n(.*?)^```", re.MULTILINE | re.DOTALL)
PAGES = ("design", "models", "interface", "trade-facts", "ecosystem")
_ID = r"[A-Z]\d*[a-z]?"
CITATION = re.compile(
    rf"\b(?P<page>models|trade-facts) (?P<ids>{_ID}(?:(?:-|–|, | and | to ){_ID}\b)*)"
    r"|\b(?P<numbered>design|interface|ecosystem) §(?P<section>\d+)(?:,? rules? (?P<rules>\d+(?:(?:, | and |-)\d+)*))?"
)


def fenced(text: str, language: str) -> list[str]:
    """Return the bodies of a document's fenced blocks in a language."""
    return [body for found, body in FENCES.findall(text) if found == language]


def readme_commands() -> list[str]:
    """Return the command lines of the README's console blocks, in order."""
    return [
        line.removeprefix("$ carecal ")
        for block in fenced(README, "console")
        for line in block.splitlines()
        if line
    ]


def spans(text: str) -> list[str]:
    """Return what stands between single backticks outside fenced blocks."""
    return re.findall(r"`([^`\n]+)`", FENCES.sub("", text))


def command_spans(text: str) -> list[str]:
    """Return the command lines a text names, without the program's name: `carecal …` and `COMMAND words`."""
    found = [span.removeprefix("carecal ") for span in spans(text) if span.startswith("carecal ")]
    return found + [span for span in spans(text) if span.split()[0] in COMMANDS and " " in span]


def misnamed(line: str) -> list[str]:
    """Return what a command line names that the program does not have; values are not judged."""
    command: click.Command = cli
    known, faults, takes_value = _options(cli), [], False
    for word in shlex.split(line.replace("|", " ").replace("…", "")):
        if takes_value:
            takes_value = False
        elif word.startswith("-"):
            if word not in known:
                faults.append(word)
            takes_value = isinstance(command, click.Group) and not known.get(word, True)
        elif isinstance(command, click.Group) and re.fullmatch(r"[a-z]+", word):
            below = command.get_command(click.Context(command), word)
            if below is None:
                return [*faults, word]
            command, known = below, {**known, **_options(below)}
    return faults


def _options(command: click.Command) -> dict[str, bool]:
    """Return the options of a command, and whether each is a flag, which takes no value."""
    found = {"--help": True}
    for parameter in command.params:
        names = (*parameter.opts, *parameter.secondary_opts)
        found.update(dict.fromkeys(names, isinstance(parameter, click.Option) and parameter.is_flag))
    return found


def test_every_document_is_there() -> None:
    """README has commands to run and DEVELOPERS.md something to hold them to; an empty search would prove nothing."""
    assert len(readme_commands()) >= 15
    assert len(command_spans(README)) >= 10
    assert len(command_spans(DEVELOPERS)) >= 10


@pytest.mark.parametrize(
    "day", ["2026-11-25", "2027-07-01", "2028-02-29"], ids=["winter", "summer", "leap day"]
)
@pytest.mark.usefixtures("home")
def test_readme_runs_from_nothing(day: str) -> None:
    """Every console line of the README succeeds in order, on an empty home, on any day; oracle: exit code 0."""
    for line in readme_commands():
        assert done(*shlex.split(line), as_of=day).code == 0, line


def test_the_lines_for_python_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The Python of 'From Python' runs on a collection with that plant, and writes a calendar of its potting."""
    monkeypatch.chdir(tmp_path)
    for line in (
        "init Quay --latitude 54.3 --longitude 10.1 --timezone Europe/Berlin",
        "place add sill --kind warm-sill --aspect E",
        "plant add tide --medium bark --container plastic --size 12 --place sill --roots 5 --longest 120 --leaves 4",
    ):
        done(*shlex.split(line), home=tmp_path / "quay")
    (block,) = fenced(DEVELOPERS, "python")
    names: dict[str, Any] = {}
    monkeypatch.setattr("carecal.app.door.real_now", lambda zone: real_now(zone, date(2026, 11, 25)))
    exec(block, names)  # noqa: S102 - the document's own lines are what is tested
    assert names["plan"].plants[0].medium == "lava"
    assert names["body"].startswith(b"BEGIN:VCALENDAR")


@pytest.mark.parametrize("document", ["README.md", "DEVELOPERS.md"])
def test_named_commands_and_options_exist(document: str) -> None:
    """Each command, subcommand and option a document names is one that the program has; oracle: click itself."""
    faults = {line: found for line in command_spans(TEXTS[document]) if (found := misnamed(line))}
    assert faults == {}


@pytest.mark.parametrize("line", ["water tide", "place remove sill", "today --weeks 2"])
def test_a_command_that_does_not_exist_is_found(line: str) -> None:
    """The check above can fail: command, subcommand and option that are not there are named."""
    assert misnamed(line) != []


@pytest.mark.parametrize("document", DOCUMENTS)
def test_relative_links_lead_somewhere(document: str) -> None:
    """Each relative link of a document leads to a file of the tree, and each anchor to a heading of it."""
    for target in re.findall(r"\]\((?![a-z]+:)([^)\s]+)\)", FENCES.sub("", TEXTS[document])):
        file, _, anchor = target.partition("#")
        path = ROOT / file if file else ROOT / document
        assert path.exists(), target
        assert not anchor or anchor in _anchors(path.read_text(encoding="utf-8")), target


def _anchors(text: str) -> set[str]:
    headings = re.findall(r"^#{1,6} (.+?)\s*$", FENCES.sub("", text), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings}


def _section(title: str) -> str:
    """Return a section of DEVELOPERS.md, by the name in brackets or at the start of its heading."""
    start = re.search(
        rf"^(##+) (?:.*\({re.escape(title)}\)|{re.escape(title)}\b.*)$", DEVELOPERS, re.MULTILINE
    )
    if start is None:
        return ""
    rest = DEVELOPERS[start.end() :]
    end = re.search(rf"^#{{2,{len(start[1])}}} ", rest, re.MULTILINE)
    return rest[: end.start()] if end else rest


def _rows(text: str) -> set[str]:
    """Return the first cells of a section's table rows, and the letters its subsections begin with."""
    return set(re.findall(r"^\| (\w+) \|", text, re.MULTILINE)) | set(
        re.findall(r"^### ([A-Z]) ", text, re.MULTILINE)
    )


def unresolved(text: str) -> list[str]:
    """Return the citations of a text that lead to no heading or row of DEVELOPERS.md."""
    return [name for page, name in _cited(text) if not _leads(page, name)]


def _leads(page: str, name: str) -> bool:
    if page == "rule":
        return name in _rows(_section("design §3"))
    return (
        bool(_section(name))
        if page in {"design", "interface", "ecosystem"}
        else name in _rows(_section(page))
    )


def _cited(text: str) -> Iterator[tuple[str, str]]:
    """Yield page and name of each citation, ranges by their members."""
    for found in CITATION.finditer(text):
        if found["page"]:
            yield from ((found["page"], name) for name in _members(found["ids"]))
            continue
        yield found["numbered"], f"{found['numbered']} §{found['section']}"
        if found["rules"]:
            yield from (("rule", name) for name in _members(found["rules"]))


def _members(text: str) -> Iterator[str]:
    for part in re.split(r", | and ", text):
        first, _, last = re.sub(r" to |–", "-", part).partition("-")
        if not last:
            yield first
            continue
        letter = first.rstrip("0123456789")
        for number in range(int(first[len(letter) :]), int(last.removeprefix(letter)) + 1):
            yield f"{letter}{number}"


def _citing_files() -> list[Path]:
    return sorted(
        path
        for folder, suffix in (("carecal", "py"), ("tests", "py"), ("shared", "toml"), ("profiles", "toml"))
        for path in (ROOT / folder).rglob(f"*.{suffix}")
        if path != Path(__file__).resolve()
    )


def test_every_citation_resolves() -> None:
    """Each page, rule, equation or fact cited in code, tests and tables stands in DEVELOPERS.md under that name."""
    faults, count = {}, 0
    for path in _citing_files():
        text = path.read_text(encoding="utf-8")
        count += sum(1 for _ in _cited(text))
        if found := unresolved(text):
            faults[path.relative_to(ROOT).as_posix()] = found
    assert faults == {}
    assert count > 100


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("models I3", []),
        ("models I1-I5", []),
        ("models A5, D1-D3", []),
        ("models K", []),
        ("models I11", ["I11"]),
        ("models W3-W7", ["W6", "W7"]),
        ("design §3 rule 14", []),
        ("design §3, rules 16 and 24", ["24"]),
        ("design §9", ["design §9"]),
        ("ecosystem §11", []),
        ("interface §4", []),
        ("trade-facts D9", []),
        ("trade-facts D21", ["D21"]),
    ],
)
def test_citations_are_read_as_written(text: str, expected: list[str]) -> None:
    """Ranges, lists and rules are read member by member, and what stands nowhere is named; worked by hand."""
    assert unresolved(text) == expected


def test_every_package_has_its_line() -> None:
    """Each package of the program has a heading of its own in DEVELOPERS.md."""
    packages = {path.parent.name for path in (ROOT / "carecal").glob("*/__init__.py")}
    assert {name for name in packages if f"### `carecal/{name}/`" not in DEVELOPERS} == set()


def test_named_modules_exist() -> None:
    """Each Python file that DEVELOPERS.md names stands somewhere in the tree; a star stands for several."""
    named = {span for span in spans(DEVELOPERS) if re.fullmatch(r"[\w/.*]+\.py", span)}
    assert len(named) > 100
    missing = {name for name in named if not (next(ROOT.glob(name), None) or next(_anywhere(name), None))}
    assert missing == set()


def _anywhere(name: str) -> Iterator[Path]:
    for folder in ("carecal", "tests", "scripts"):
        yield from (ROOT / folder).rglob(name)


def test_named_functions_and_columns_exist() -> None:
    """Each name in the sections on rules and equations is a word of the program or of its tables."""
    words = {
        word
        for folder, suffix in (("carecal", "py"), ("shared", "toml"), ("profiles", "toml"))
        for path in (ROOT / folder).rglob(f"*.{suffix}")
        for word in re.findall(r"\w+", path.read_text(encoding="utf-8"))
    }
    found = [span for title in ("design §3", "models", "Glossary") for span in spans(_section(title))]
    named = {
        part for span in found if re.fullmatch(r"(?!test_)\w+(\.\w+)?", span) for part in span.split(".")
    }
    assert len(named) > 100
    assert named - words - {"py"} == set()


def test_worked_example_of_a_medium_loads(tmp_path: Path) -> None:
    """The three files of 'Add a medium' are a medium: read by the loader, and its days are those written there."""
    shared = tmp_path / "shared"
    shared.mkdir()
    section = _section("Add a medium")
    files = re.findall(r"^`shared/(\w+\.toml)`:\n\n```toml\n(.*?)^```", section, re.MULTILINE | re.DOTALL)
    for name, body in files:
        (shared / name).write_text(body, encoding="utf-8")
    assert [name for name, _ in files] == ["media.toml", "pairs.toml", "reference_intervals.toml"]
    found = interval(
        load_catalog(tmp_path),
        "cork",
        "plastic",
        12.0,
        day_c=21,
        night_c=21,
        rh_pct=50,
        air_class="room",
        light_mol=2,
    )
    assert (found["demand"], found["reference_days"], found["days"]) == (1.0, 5.0, 5)


@pytest.fixture(scope="module")
def catalog() -> Catalog:
    """Return the program's own tables."""
    return load_catalog()


def test_table_of_intervals_is_what_the_program_gives(catalog: Catalog) -> None:
    """Each row of the table says what the equations give today; all but I09 lie within what is published."""
    rows = {line.split(" | ")[0][2:]: line.strip("| ").split(" | ") for line in _interval_lines()}
    with (ROOT / "tests/published/tables/intervals_published.csv").open(encoding="utf-8", newline="") as file:
        published = list(csv.DictReader(file))
    assert list(rows) == [row["id"] for row in published]
    outside = set()
    for row in published:
        raw, days = computed(catalog, row)
        written = rows[row["id"]]
        assert written[5:7] == [f"{raw:.1f}", str(days)], row["id"]
        low, high = float(row["published_min_days"]), float(row["published_max_days"])
        is_within = floor(low) <= days <= ceil(high)
        assert (written[7] == "within") == is_within, row["id"]
        if not is_within:
            outside.add(row["id"])
    assert outside == {"I09"}


def _interval_lines() -> list[str]:
    return re.findall(r"^\| I\d\d \|.*$", _section("Computed against published intervals"), re.MULTILINE)


def computed(catalog: Catalog, row: dict[str, str]) -> tuple[float, int]:
    """Return raw and whole days of an established plant in a row's conditions."""

    def number(key: str) -> float:
        return float(row[key])

    state = PlantState(
        day=0, entry=0, written="", profile=row["profile"], medium=row["medium"], container=row["container"],
        size_cm=number("size_cm"), place="-", hand_stage="established",
        reservoir="filled" if catalog.containers[row["container"]].has_reservoir else None,
    )  # fmt: skip
    waits = "until empty" in row["statement"]
    terms = terms_of(state, catalog, settling=False, resting=False, wait_until_empty=waits, spec_day=0)
    demand = relative_demand(
        vapour_pressure_deficit_of_day(
            number("assumed_day_c"), number("assumed_night_c"), number("assumed_rh_pct")
        ),
        number("assumed_air_m_s"),
        catalog.containers[terms.container].wind_sensitivity,
        number("assumed_light_mol"),
    )
    raw = raw_interval(terms.product, demand)
    return raw, held_interval(raw, terms.min_days, terms.max_days).days
