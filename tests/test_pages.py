"""The developer pages against code, tables and citations; README and changelog are held by `test_docs`."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from carecal.app.documents.calc import interval
from carecal.app.now import real_now
from carecal.catalog.load import load_catalog
from scripts import check_links, make_tables
from tests.cli.cli_run import done
from tests.test_docs import command_spans, fenced, misnamed, spans

ROOT = Path(__file__).resolve().parents[1]
PAGES = {
    path.relative_to(ROOT).as_posix(): path.read_text(encoding="utf-8")
    for path in check_links.documents()
    if path.name not in {"CHANGELOG.md"} and path != ROOT / "README.md"
}
DEVELOPERS = PAGES["DEVELOPERS.md"]
MADE = "carecal/README.md"  # its table is the modules' own docstrings
MOST_WORDS = 2500
_ID = r"[A-Z](?:-[A-Z]{3}\b|\d*[a-z]?)"
CITATION = re.compile(
    rf"\b(?P<page>models|trade-facts) (?P<ids>{_ID}(?:(?:-|–|, | and | to ){_ID}\b)*)"
    r"|\b(?P<numbered>design|interface|ecosystem) §(?P<section>\d+)(?:,? rules? (?P<rules>\d+(?:(?:, | and |-)\d+)*))?"
)
HEADING = re.compile(r"^(#{2,6}) (.+?)\s*$", re.MULTILINE)
NUMBERED = re.compile(r"(?:^|\()((?:design|interface|ecosystem) §\d+)(?=\)| |$)")


def sections(text: str) -> Iterator[tuple[str, str]]:
    """Yield each heading of a page below its title, with all that stands under it."""
    bare = re.sub(r"^```.*?^```", "", text, flags=re.MULTILINE | re.DOTALL)
    for found in HEADING.finditer(bare):
        end = re.search(rf"^#{{2,{len(found[1])}}} ", bare[found.end() :], re.MULTILINE)
        yield found[2], bare[found.end() :][: end.start() if end else None]


def named(texts: dict[str, str]) -> Counter[tuple[str, str]]:
    """Return what a citation can lead to in some pages, each as page name and id, and how often it stands there."""
    found: Counter[tuple[str, str]] = Counter()
    for text in texts.values():
        for title, body in sections(text):
            found.update(("section", name) for name in NUMBERED.findall(title))
            for page in ("models", "trade-facts"):
                if title.endswith(f"({page})"):
                    found.update((page, name) for name in _rows(body))
            if "(design §3)" in title:
                found.update(("rule", name) for name in _rows(body))
    return found


def _rows(body: str) -> list[str]:
    """Return the first cells of a section's table rows, and the letters its subsections begin with."""
    return re.findall(rf"^\| ({_ID}|\d+) \|", body, re.MULTILINE) + re.findall(
        r"^### ([A-Z]) ", body, re.MULTILINE
    )


NAMED = named(PAGES)


def unresolved(text: str, known: Counter[tuple[str, str]] = NAMED) -> list[str]:
    """Return the citations of a text that lead to no heading or row of any page."""
    return [name for page, name in _cited(text) if (page, name) not in known]


def _cited(text: str) -> Iterator[tuple[str, str]]:
    """Yield page and name of each citation, ranges by their members."""
    for found in CITATION.finditer(text):
        if found["page"]:
            yield from ((found["page"], name) for name in _members(found["ids"]))
            continue
        yield "section", f"{found['numbered']} §{found['section']}"
        if found["rules"]:
            yield from (("rule", name) for name in _members(found["rules"]))


def _members(text: str) -> Iterator[str]:
    for part in re.split(r", | and ", text):
        if re.fullmatch(rf"{_ID}|\d+", part):
            yield part
            continue
        first, _, last = re.sub(r" to |–", "-", part).partition("-")
        letter = first.rstrip("0123456789")
        for number in range(int(first[len(letter) :]), int(last.removeprefix(letter)) + 1):
            yield f"{letter}{number}"


def _citing_files() -> list[Path]:
    kinds = (
        ("carecal", "py"),
        ("tests", "py"),
        ("tests", "csv"),
        ("scripts", "py"),
        ("shared", "toml"),
        ("profiles", "toml"),
    )
    found = {path for folder, suffix in kinds for path in (ROOT / folder).rglob(f"*.{suffix}")}
    return sorted(found - {Path(__file__).resolve()})


def test_every_citation_resolves() -> None:
    """Each page, rule, equation or fact cited in code, tests, tables and pages stands in a page under that name."""
    texts = {path.relative_to(ROOT).as_posix(): path.read_text(encoding="utf-8") for path in _citing_files()}
    texts |= PAGES
    faults = {name: found for name, text in texts.items() if (found := unresolved(text))}
    assert faults == {}
    assert sum(1 for text in texts.values() for _ in _cited(text)) > 300


def test_what_is_cited_stands_in_one_place() -> None:
    """No section, rule, equation or fact appears twice: a citation leads to one place."""
    assert {name: count for name, count in NAMED.items() if count > 1} == {}
    assert len(NAMED) > 100


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("models I3", []),
        ("models I1-I5", []),
        ("models A5, D1-D3", []),
        ("models K", []),
        ("models I11", ["I11"]),
        ("models W3-W9", ["W9"]),
        ("design §3 rule 14", []),
        ("design §3, rules 16 and 44", ["44"]),
        ("design §9", ["design §9"]),
        ("ecosystem §11", []),
        ("interface §4", []),
        ("trade-facts D9", []),
        ("trade-facts D99", ["D99"]),
        ("trade-facts I3", ["I3"]),
        ("trade-facts G-MIL, D99", ["D99"]),
        ("trade-facts G-XYZ", ["G-XYZ"]),
    ],
)
def test_citations_are_read_as_written(text: str, expected: list[str]) -> None:
    """Ranges, lists and rules are read member by member, and what stands nowhere is named; worked by hand."""
    assert unresolved(text) == expected


def test_the_first_page_is_read_in_a_quarter_of_an_hour() -> None:
    """DEVELOPERS.md has at most 2,500 words, and a way to each other page but those of examples."""
    assert len(DEVELOPERS.split()) <= MOST_WORDS
    linked = {target.partition("#")[0] for target in re.findall(r"\]\(([^)]+)\)", DEVELOPERS)}
    assert {name for name in PAGES if name not in linked} <= {"DEVELOPERS.md", "examples/README.md"}


def test_every_package_has_its_place() -> None:
    """Each package of the program has a line in the first page, and each a heading in the map of modules."""
    packages = sorted(path.parent.relative_to(ROOT) for path in (ROOT / "carecal").rglob("__init__.py"))
    assert len(packages) > 20
    first = [path.as_posix() for path in packages if len(path.parts) == 2]
    assert [name for name in first if f"\n| `{name}/` |" not in DEVELOPERS] == []
    assert [path for path in packages if f"\n### `{path.as_posix()}/`\n" not in PAGES[MADE]] == []


@pytest.mark.parametrize("page", sorted(PAGES.keys() - {MADE}))
def test_named_files_exist(page: str) -> None:
    """Each file that a page names lies where it says, seen from the page, the tree, the program or the tests."""
    found = {
        span for span in spans(PAGES[page]) if re.fullmatch(r"[\w/.*-]+\.(py|toml|csv|html|db|md)", span)
    }
    bases = (ROOT, (ROOT / page).parent, ROOT / "carecal", ROOT / "tests")
    kept = {"collection.db", "collection-before-N.db"}  # a collection's own
    assert {name for name in found - kept if not any(any(base.glob(name)) for base in bases)} == set()


@pytest.mark.parametrize("page", sorted(PAGES))
def test_named_folders_exist(page: str) -> None:
    """Each folder that a page names is one of the tree, at its end."""
    found = {span.rstrip("/") for span in spans(PAGES[page]) if re.fullmatch(r"[\w/]+/", span)}
    kept = {"photos"}  # a collection's own
    assert {name for name in found - kept if not any(ROOT.glob(f"**/{name}/"))} == set()


def _words() -> set[str]:
    folders = (
        ("carecal", "py"),
        ("carecal", "html"),
        ("shared", "toml"),
        ("profiles", "toml"),
        ("tests", "py"),
        ("scripts", "py"),
        ("tests", "csv"),
    )
    return {
        word
        for folder, suffix in folders
        for path in (ROOT / folder).rglob(f"*.{suffix}")
        if path != Path(__file__).resolve()
        for word in [path.stem, path.suffix[1:], *re.findall(r"\w+", path.read_text(encoding="utf-8"))]
    }


def test_named_functions_and_columns_exist() -> None:
    """Each name between backticks is a word of the program or of its tables."""
    found = {span for page, text in PAGES.items() if page != MADE for span in spans(text)}
    parts = {part for span in found if re.fullmatch(r"[A-Za-z]\w+(\.\w+)?", span) for part in span.split(".")}
    assert len(parts) > 200
    assert parts - _words() - {"has_", "is_"} == set()


PLACED = re.compile(
    r"((?:`[\w.]+`(?:, | and )?)+) in `([\w/.]+\.py)`|`([\w/.]+\.py)` \(((?:`[\w.]+`(?:, )?)+)\)"
)


@pytest.mark.parametrize("page", ["carecal/planning/README.md", "carecal/horticulture/README.md"])
def test_names_stand_in_the_files_named_beside_them(page: str) -> None:
    """Where a page says '`name` in `file`' or '`file` (`name`)', that file holds that name."""
    faults, count = [], 0
    for before, behind, file, inside in PLACED.findall(PAGES[page]):
        path = next(
            base / (behind or file)
            for base in (ROOT / "carecal", (ROOT / page).parent)
            if (base / (behind or file)).is_file()
        )
        words = set(re.findall(r"\w+", path.read_text(encoding="utf-8")))
        for name in re.findall(r"`([\w.]+)`", before or inside):
            count += 1
            faults += [f"{name} in {path.name}"] if not set(name.split(".")[-1:]) <= words else []
    assert faults == []
    assert count >= 10


@pytest.mark.parametrize("page", sorted(PAGES))
def test_made_tables_are_up_to_date(page: str) -> None:
    """Each made table is what code and data give today; if not, run `python -m scripts.make_tables`."""
    assert make_tables.filled(PAGES[page]) == PAGES[page]


def test_made_tables_are_there_and_a_stale_one_is_found() -> None:
    """Modules, tables, sides and intervals each have a page, and a word changed in one is put right."""
    marks = re.findall(r"make_tables\.py: (\w+) -->", "".join(PAGES.values()))
    assert sorted(marks) == sorted(make_tables.PARTS)
    stale = PAGES["shared/README.md"].replace("| D1 |", "| D0 |")
    assert stale != PAGES["shared/README.md"] == make_tables.filled(stale)


def test_links_are_checked_on_every_page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All pages of the tree are looked at, none has a link that leads nowhere, and one that does is named."""
    assert {
        "CHANGELOG.md",
        "README.md",
        "carecal/planning/README.md",
        "shared/README.md",
        "tests/README.md",
    } <= {path.relative_to(ROOT).as_posix() for path in check_links.documents()}
    assert [line for path in check_links.documents() for line in check_links.faults(path)] == []
    monkeypatch.setattr(check_links, "ROOT", tmp_path)
    page = tmp_path / "page.md"
    page.write_text("# Here\n[a](#here) [b](#there) [c](gone.md)\n", encoding="utf-8")
    assert check_links.faults(page) == [
        "page.md: no such heading: '#there'",
        "page.md: no such file: 'gone.md'",
    ]


@pytest.mark.parametrize("page", sorted(PAGES))
def test_named_commands_and_options_exist(page: str) -> None:
    """Each command, subcommand and option a page names is one that the program has; oracle: click itself."""
    faults = {line: found for line in command_spans(PAGES[page]) if (found := misnamed(line))}
    assert faults == {}


def test_the_lines_for_python_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The Python of 'From Python' runs on a collection with that plant, and writes a calendar of its potting."""
    monkeypatch.chdir(tmp_path)
    for line in (
        "init Quay --latitude 54.3 --longitude 10.1 --timezone Europe/Berlin",
        "place add sill --kind warm-sill --aspect E",
        "plant add tide --medium bark --container plastic --size 12 --place sill --roots 5 --longest 120 --leaves 4",
    ):
        done(*line.split(), home=tmp_path / "quay")
    (block,) = fenced(PAGES["carecal/app/README.md"], "python")
    names: dict[str, Any] = {}
    monkeypatch.setattr("carecal.app.door.real_now", lambda zone: real_now(zone, date(2026, 11, 25)))
    exec(block, names)  # noqa: S102 - the document's own lines are what is tested
    assert names["plan"].plants[0].medium == "lava"
    assert names["body"].startswith(b"BEGIN:VCALENDAR")


def test_worked_example_of_a_medium_loads(tmp_path: Path) -> None:
    """The three files of 'Add a medium' are a medium: read by the loader, and its days are those written there."""
    shared = tmp_path / "shared"
    shared.mkdir()
    page = PAGES["shared/README.md"]
    section = page[page.index("## Add a medium") : page.index("## Add a profile")]
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
