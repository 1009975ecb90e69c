"""Facts that hold for the tree as a whole, read from its files; the oracle is the project's own rules of writing."""

from __future__ import annotations

import ast
import importlib
import io
import os
import pkgutil
import re
import shutil
import subprocess
import tokenize
from pathlib import Path

import pytest

import carecal

ROOT = Path(__file__).resolve().parents[1]
SCRIPTS = ("scripts/setup", "scripts/test", "scripts/check", "scripts/demo", "scripts/mutate", ".ci/run")
MODULE_LINES = 320
FUNCTION_LINES = 70

# Written with a tilde inside each word, so that this file does not hold what it forbids.
FORBIDDEN = (
    r"/(wo~rk|op~t|ro~ot)/\w",
    r"bash_jo~bs",
    r"/ho~me/\w+/",
    r"py~pi\.org|pythonho~sted|registry\.np~mjs|proxy\.gol~ang|artifac~tory",
    r"\b(clau~de|anthro~pic|open~ai|chat~gpt|copi~lot|ll~ms?)\b",
    r"language mod~el|machine-gener~ated|sub-?ag~ent|coding ag~ent|artificial intel~ligence",
    r"(?-i:\bA~I\b)",
    r"seed docu~ment|transcr~ipt\b",
    r"\b(design|interface|models|trade-facts|ecosystem)\.m~d\b",
)
FEED = r"(calendar|ics|ical|subscribed|published)[- ]fe~ed\b|\bfe~ed (url|address|reader|token)"


def _tracked() -> list[Path]:
    """Return the files git tracks, or, outside a checkout, every file that is neither hidden nor made."""
    if (ROOT / ".git").exists() and shutil.which("git"):
        listed = subprocess.run(
            ["git", "ls-files", "-z"], cwd=ROOT, check=True, capture_output=True, text=True
        )
        return [path for name in listed.stdout.split("\0") if name and (path := ROOT / name).is_file()]
    made = {"__pycache__", "dist", "build", "demo"}
    paths = (path for path in ROOT.rglob("*") if path.is_file())
    return [
        path
        for path in paths
        if not any(p in made or p.startswith(".") for p in path.relative_to(ROOT).parts)
    ]


def _texts() -> list[tuple[str, str]]:
    """Return name and text of each tracked text file."""
    texts = []
    for path in _tracked():
        raw = path.read_bytes()
        if b"\0" not in raw:
            texts.append((path.relative_to(ROOT).as_posix(), raw.decode("utf-8")))
    return texts


def _modules() -> list[tuple[str, str]]:
    """Return name and source of each tracked Python file."""
    return [(name, text) for name, text in _texts() if name.endswith(".py")]


def _comments(source: str) -> list[tuple[int, str]]:
    """Return line and text of every comment."""
    tokens = tokenize.generate_tokens(io.StringIO(source).readline)
    return [(token.start[0], token.string) for token in tokens if token.type == tokenize.COMMENT]


def _places(name: str, text: str, pattern: str) -> list[str]:
    """Return 'file:line: match' for each match of a pattern whose tildes stand for nothing."""
    found = re.finditer(pattern.replace("~", ""), text, re.IGNORECASE)
    return [f"{name}:{text.count(chr(10), 0, match.start()) + 1}: {match[0]}" for match in found]


def _unexplained_ignores(source: str) -> list[int]:
    """Return the lines of comments that switch a check off without naming its code, or a lint without a reason."""
    lines = []
    for line, comment in _comments(source):
        typed = re.search(r"type:\s*ignore(?!\[[a-z-]+)", comment)
        bare = re.search(r"\bnoqa\b", comment) and not re.search(
            r"noqa: [A-Z]+\d+(, ?[A-Z]+\d+)*\W+\w", comment
        )
        if typed or bare:
            lines.append(line)
    return lines


def test_licence_is_mit_and_names_the_authors() -> None:
    """The licence is there, is MIT, and belongs to the carecal authors."""
    text = (ROOT / "LICENSE").read_text(encoding="utf-8")
    assert text.startswith("MIT License\n")
    assert "the carecal authors" in text
    assert 'license = "MIT"' in (ROOT / "pyproject.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize("pattern", FORBIDDEN)
def test_no_tracked_file_tells_where_or_how_it_was_written(pattern: str) -> None:
    """No file holds a path of a machine, the host of a registry, or a word about how the project is developed."""
    assert [place for name, text in _texts() for place in _places(name, text, pattern)] == []


@pytest.mark.parametrize(
    "line",
    [
        "see /ro~ot/x",
        "index: https://py~pi.org/simple",
        "written by an A~I",
        "as design.m~d says",
        "the Transcr~ipt",
    ],
)
def test_forbidden_words_are_found_where_they_stand(line: str) -> None:
    """A line that must not be is found by one of the patterns, in whatever case."""
    assert any(_places("x", line.replace("~", ""), pattern) for pattern in FORBIDDEN)


def test_a_published_calendar_is_never_called_a_feed() -> None:
    """To a grower feed is fertiliser, so no text of the project speaks of the feed of a calendar."""
    pattern = (
        r"(calendar|i"
        r"cs|i"
        r"cal|subscribed|published)[- ]fe"
        r"ed\b|\bfe"
        r"ed (url|address|reader|token)"
    )
    assert [place for name, text in _texts() for place in _places(name, text, pattern)] == []


@pytest.mark.parametrize("name", SCRIPTS)
def test_scripts_are_executable_and_stop_at_the_first_error(name: str) -> None:
    """Each script can be run as it stands, by bash, and does not go on after an error or an unset name."""
    path = ROOT / name
    assert os.access(path, os.X_OK)
    lines = path.read_text(encoding="utf-8").splitlines()
    assert lines[0] == "#!/usr/bin/env bash"
    assert "set -euo pipefail" in lines


def test_a_check_switched_off_names_its_code() -> None:
    """Every ignored type error names its code, every silenced lint its code and a reason."""
    found = [f"{name}:{line}" for name, text in _modules() for line in _unexplained_ignores(text)]
    assert found == []


@pytest.mark.parametrize(
    ("comment", "fault"),
    [
        ("# type: ignore", True),
        ("# type: ignore[arg-type]", False),
        ("# noqa", True),
        ("# noqa: S608", True),
        ("# noqa: S608 (the names are constants)", False),
        ("# a comment", False),
    ],
)
def test_unexplained_ignores_are_told_from_explained_ones(comment: str, fault: bool) -> None:
    """A code is asked of both kinds, a reason of a silenced lint."""
    assert _unexplained_ignores(f"x = 1  {comment}\n") == ([1] if fault else [])


def test_modules_stay_short() -> None:
    """No module of the package is longer than 320 lines."""
    counts = {name: text.count("\n") for name, text in _modules() if name.startswith("carecal/")}
    assert {name: lines for name, lines in counts.items() if lines > MODULE_LINES} == {}


def test_the_formatter_lays_out_the_package() -> None:
    """No line of it is kept as somebody laid it out by hand; only tables of the tests are."""
    found = {name for name, text in _modules() if re.search(r"#\s*fmt:", text)}
    assert {name for name in found if not name.startswith("tests/")} == set()


def test_functions_stay_short() -> None:
    """No function of the package is longer than 70 lines, its docstring included."""
    long = []
    for name, text in _modules():
        for node in ast.walk(ast.parse(text)) if name.startswith("carecal/") else ():
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                lines = (node.end_lineno or node.lineno) - node.lineno + 1
                long += [f"{name}:{node.lineno} {node.name}: {lines}"] if lines > FUNCTION_LINES else []
    assert long == []


def test_every_module_can_be_imported() -> None:
    """Every module of the package imports; one that needs an extra that is not installed is left out."""
    broken: list[str] = []
    for module in pkgutil.walk_packages(carecal.__path__, "carecal.", onerror=broken.append):
        if module.name.endswith("__main__"):
            continue
        try:
            importlib.import_module(module.name)
        except ModuleNotFoundError as error:
            broken += [f"{module.name}: {error}"] if str(error.name).startswith("carecal") else []
        except ImportError as error:
            broken.append(f"{module.name}: {error}")
    assert broken == []
