"""Which tests ran which lines of the program: learned once under coverage, and again only for what has changed since.

What is kept stands in `.mutants`: the data of coverage, and a stamp of every module, test file and table it was learned
from. A test file that changed is learned anew; so are the test files that ran a module that changed. Other tables make
all of it void.
"""

from __future__ import annotations

import ast
import hashlib
import json
import os
import re
import shutil
import sqlite3
import subprocess
import sys
from collections import defaultdict
from collections.abc import Iterable
from contextlib import closing
from pathlib import Path

from coverage.numbits import num_in_numbits, numbits_to_nums

from scripts.mutants import ROOT, Mutant, lines_of

KEPT = ROOT / ".mutants"
TREE, DATA, STAMP = KEPT / "tree", KEPT / "coverage", KEPT / "stamp.json"
COPIED = (
    "carecal",
    "tests",
    "profiles",
    "shared",
    "examples",
    "scripts",
    ".ci",
    "pyproject.toml",
    "README.md",
    "DEVELOPERS.md",
    "CHANGELOG.md",
    "LICENSE",
)
UNASKED = ("benchmarks", "browser", "examples")  # measure time, drive a browser, or run everything there is
FIRST_TESTS, MOST_TESTS = 40, 400  # our choice, because most fall to the first
CONSTANT = re.compile(r"^_?([A-Z][A-Z0-9_]*)\b.*=")
PARTS = {"modules": "line_bits.file_id IN (SELECT id FROM file WHERE path = ?)"}
PARTS["tests"] = "line_bits.context_id IN (SELECT id FROM context WHERE context LIKE ? || '::%')"


def digest(paths: Iterable[Path]) -> str:
    """Return the SHA-256 over names and contents of files."""
    made = hashlib.sha256()
    for path in sorted(paths):
        made.update(f"{path.relative_to(ROOT)}\0".encode() + path.read_bytes())
    return made.hexdigest()


def stamp() -> dict[str, dict[str, str]]:
    """Return a digest of each module, of each test file with what stands beside it, and of the tables."""
    folders = ("profiles", "shared")
    tables = [path for name in folders for path in (ROOT / name).rglob("*.toml")]
    tests = [path for path in (ROOT / "tests").rglob("test_*.py") if path.parent.name not in UNASKED]
    beside: dict[Path, list[Path]] = defaultdict(list)
    for path in (ROOT / "tests").rglob("*"):
        folder = path.parent.parent if path.parent.name == "tables" else path.parent
        if path.suffix in {".py", ".csv"} and not path.name.startswith("test_"):
            beside[folder].append(path)

    def named(path: Path) -> str:
        return path.relative_to(ROOT).as_posix()

    return {
        "modules": {named(path): digest([path]) for path in (ROOT / "carecal").rglob("*.py")},
        "tests": {
            named(path): digest([path, *(beside[path.parent] if path.parent != ROOT / "tests" else ())])
            for path in tests
        },
        "tables": {"all": digest(tables)},
    }


def prepare(trees: int, *, fresh: bool) -> frozenset[str]:
    """Make the copies, learn which test runs which line where that is not known, and return the modules that changed.

    Args:
        trees: How many copies of the project are made.
        fresh: Whether all that is known is forgotten first.
    """
    now = stamp()
    kept = json.loads(STAMP.read_text()) if STAMP.is_file() else {}
    if fresh or kept.get("tables") != now["tables"]:
        shutil.rmtree(KEPT, ignore_errors=True)
        kept = {"modules": now["modules"], "tests": {}}
    for number in range(trees):
        copy_to(tree(number))
    changed = {kind: _changed(kept[kind], now[kind]) for kind in PARTS}
    touched = {test.partition("::")[0] for path in changed["modules"] for test in _tests_in(path)}
    for kind, paths in changed.items():
        _forget(kind, paths)
    again = sorted((changed["tests"] | touched) & now["tests"].keys())
    if again:
        print(f"mutate: learning what {len(again)} test files run", flush=True)
        _learn(again)
    STAMP.write_text(json.dumps(now))
    return changed["modules"]


def tree(number: int) -> Path:
    """Return the folder of one of the copies; the first is 0."""
    return KEPT / f"tree{number or ''}"


def copy_to(folder: Path) -> None:
    """Make a copy of the project, in place of the one that is there."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    for name in COPIED:
        copy = shutil.copytree if (ROOT / name).is_dir() else shutil.copy
        copy(ROOT / name, folder / name)


def environment() -> dict[str, str]:
    """Return the environment of the tests: examples that do not vary from run to run, no files left behind."""
    return {**os.environ, "CI": "1", "PYTHONDONTWRITEBYTECODE": "1"}


def _changed(before: dict[str, str], now: dict[str, str]) -> frozenset[str]:
    return frozenset(path for path in before.keys() | now.keys() if before.get(path) != now.get(path))


def _tests_in(path: str) -> set[str]:
    """Return the tests that ran anything of a module but its import."""
    return {test for test, _ in _ran(path)} if DATA.is_file() else set()


def _ran(path: str) -> list[tuple[str, bytes]]:
    """Return which lines of a module each test ran, as coverage keeps them; a test may come more than once."""
    rows = "SELECT context, numbits FROM line_bits JOIN context ON context.id = context_id "
    of_file = rows + "JOIN file ON file.id = file_id WHERE path = ? AND context != ''"
    with closing(sqlite3.connect(DATA)) as connection:
        return [(name.partition("|")[0], bits) for name, bits in connection.execute(of_file, (path,))]


def _forget(kind: str, paths: Iterable[str]) -> None:
    """Take modules, or test files, out of what is known."""
    if DATA.is_file():
        with closing(sqlite3.connect(DATA)) as connection, connection:
            connection.executemany(
                f"DELETE FROM line_bits WHERE {PARTS[kind]}",  # noqa: S608 - a constant of this module
                [(path,) for path in paths],
            )


def _learn(paths: list[str]) -> None:
    """Run test files once under coverage, adding to what is known.

    Raises:
        SystemExit: a test falls without any mutant.
    """
    settings = KEPT / "settings.ini"
    settings.write_text(f"[run]\nsource = carecal\nrelative_files = true\ndata_file = {DATA}\n")
    cores = ["-n", "auto", "--dist", "loadscope"] if len(paths) > 1 else ["-n", "0"]
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-q",
        *cores,
        "--cov",
        f"--cov-config={settings}",
        "--cov-context=test",
        "--cov-append",
        "--cov-report=",
        "--no-cov-on-fail",
        *paths,
    ]
    if subprocess.run(command, cwd=TREE, check=False, env=environment()).returncode:
        raise SystemExit("mutate: the tests fall as they are; mend them first")


def _kept_function(mutant: Mutant) -> str:
    """Return the function that a mutant stands in, where what it gives is kept: it runs for who asks first; else ''."""
    for node in ast.walk(ast.parse("\n".join(lines_of(mutant.path)))):
        if isinstance(node, ast.FunctionDef) and node.lineno <= mutant.line <= (node.end_lineno or 0):
            keeps = [ast.unparse(each).partition("(")[0] for each in node.decorator_list]
            if {"cache", "lru_cache"} & set(keeps):
                return node.name
    return ""


class LineTests:
    """Which tests ran which lines of the program."""

    def __init__(self) -> None:
        with closing(sqlite3.connect(DATA)) as connection:
            self._paths = [path for (path,) in connection.execute("SELECT path FROM file")]
        self._width: dict[str, int] = defaultdict(int)
        for path in self._paths:
            for test, bits in _ran(path):
                self._width[test] += len(numbits_to_nums(bits))

    def of(self, mutant: Mutant) -> list[list[str]]:
        """Return the tests to hold a mutant against: the narrowest, then its own package's, then others.

        Of the others it is one of each file, that which runs the fewest lines.
        """
        constant = CONSTANT.match(lines_of(mutant.path)[mutant.line - 1])
        found = self._naming(constant[1]) if constant else self._running(mutant.path, [mutant.line])
        if kept := _kept_function(mutant):
            found |= self._naming(kept)
        if not found:  # a default, a row of a table, bounds of a field: what runs about it, or names it
            near = range(max(1, mutant.line - 30), mutant.line + 30)
            found = self._running(mutant.path, near) or self._naming(self._class_of(mutant))
        ordered = sorted(found, key=lambda test: (self._width[test], test))
        own = [test for test in ordered[FIRST_TESTS:] if test.startswith(f"tests/{mutant.package}/")]
        held = {*ordered[:FIRST_TESTS], *own}
        others = {test.partition("::")[0]: test for test in reversed(ordered) if test not in held}
        parts = ordered[:FIRST_TESTS], own[:MOST_TESTS], list(reversed(others.values()))
        return [part for part in parts if part]

    @staticmethod
    def _class_of(mutant: Mutant) -> str:
        before = reversed(lines_of(mutant.path)[: mutant.line])
        return next(
            (line.split("(")[0].split(":")[0][6:] for line in before if line.startswith("class ")), "-"
        )

    @staticmethod
    def _running(path: str, lines: Iterable[int]) -> set[str]:
        return {test for test, bits in _ran(path) if any(num_in_numbits(line, bits) for line in lines)}

    def _naming(self, name: str) -> set[str]:
        """Return the tests that run a line which names a constant or a class."""
        named, found = re.compile(rf"\b_?{name}\b"), set()
        for path in self._paths:
            if (ROOT / path).is_file():
                lines = [at for at, line in enumerate(lines_of(path), 1) if named.search(line)]
                found |= self._running(path, lines) if lines else set()
        return found
