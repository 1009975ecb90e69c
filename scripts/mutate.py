"""Break rules one at a time in a copy of the project and count which of the breaks the tests notice.

A break, or mutant, is a comparison that is turned or moves its edge, a number that is one more or less, an `and` for
an `or`, a condition denied, a loop that never runs, plus for minus. cosmic-ray makes and undoes them; here is chosen
which are made and which tests each is held against: those that ran its line, or that ran the lines which name the
constant it changes, the narrowest first. What a mutant came to is written down at once, so that a run that was stopped
goes on.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
from collections import defaultdict
from collections.abc import Iterable
from importlib import import_module
from multiprocessing import get_context
from pathlib import Path
from resource import RLIMIT_CPU, setrlimit

import pytest
from cosmic_ray.mutating import use_mutation
from cosmic_ray.plugins import get_operator
from coverage import CoverageData

from scripts.mutants import ROOT, Mutant, chosen, lines_of, modules

KEPT = ROOT / ".mutants"  # the copy, what ran which line, what each mutant came to
TREE, DATA, RESULTS, STAMP = KEPT / "tree", KEPT / "coverage", KEPT / "results.jsonl", KEPT / "stamp.json"
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
PACKAGES = ("planning", "plan", "horticulture", "calendars", "collection")
UNASKED = ("benchmarks", "browser", "examples")  # measure time, drive a browser, or run everything there is
FIRST_TESTS, MOST_TESTS = (
    40,
    400,
)  # our choice, because most fall to the first, and what 400 let pass is worth reading
CPU_S, WALL_S = 120, 1200  # a mutant that makes the tests run so long has made a loop that does not end
LIBRARIES = (  # loaded once, for each mutant's tests run in a fork
    "hypothesis",
    "pydantic",
    "icalendar",
    "recurring_ical_events",
    "starlette.testclient",
    "click.testing",
    "numpy",
    "scipy.optimize",
    "scipy.integrate",
    "freezegun",
    "argon2",
    "jinja2",
    "PIL.Image",
    "segno",
)
CONSTANT = re.compile(r"^_?([A-Z][A-Z0-9_]*)\b.*=")


def digest(paths: Iterable[Path]) -> str:
    """Return the SHA-256 over names and contents of files."""
    made = hashlib.sha256()
    for path in sorted(paths):
        made.update(f"{path.relative_to(ROOT)}\0".encode() + path.read_bytes())
    return made.hexdigest()


def prepare(*, fresh: bool) -> None:
    """Make the copy, throw away what an older program was found to do, and learn which test runs which line."""
    sources = (path for name in ("carecal", "profiles", "shared") for path in (ROOT / name).rglob("*"))
    program = digest(path for path in sources if path.suffix in {".py", ".toml"})
    kept = json.loads(STAMP.read_text()) if STAMP.is_file() else {}
    if fresh or kept.get("program") != program:
        shutil.rmtree(KEPT, ignore_errors=True)
        kept = {"program": program, "tests": {}}
    shutil.rmtree(TREE, ignore_errors=True)
    TREE.mkdir(parents=True)
    for name in COPIED:
        copy = shutil.copytree if (ROOT / name).is_dir() else shutil.copy
        copy(ROOT / name, TREE / name)
    tests = [path for path in sorted((ROOT / "tests").rglob("test_*.py")) if path.parent.name not in UNASKED]
    known = {path.relative_to(ROOT).as_posix(): digest([path]) for path in tests}
    changed = [path for path, now in known.items() if kept["tests"].get(path) != now]
    if changed:
        print(f"mutate: learning what {len(changed)} test files run", flush=True)
        learn(changed)
    kept["tests"] = known
    STAMP.write_text(json.dumps(kept))


def learn(paths: list[str]) -> None:
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


def environment() -> dict[str, str]:
    """Return the environment of the tests: examples that do not vary from run to run, no files left behind."""
    return {**os.environ, "CI": "1", "PYTHONDONTWRITEBYTECODE": "1"}


class Tests:
    """Which tests ran which lines of the program."""

    def __init__(self) -> None:
        data = CoverageData(str(DATA))
        data.read()
        self._lines = {
            path: {
                line: {context.partition("|")[0] for context in contexts if context}
                for line, contexts in data.contexts_by_lineno(path).items()
            }
            for path in data.measured_files()
        }
        self._width: dict[str, int] = defaultdict(int)
        for of_file in self._lines.values():
            for tests in of_file.values():
                for test in tests:
                    self._width[test] += 1

    def of(self, mutant: Mutant) -> list[list[str]]:
        """Return the tests to hold a mutant against: those that run the fewest lines, then those of its own package."""
        of_file = self._lines.get(mutant.path, {})
        constant = CONSTANT.match(lines_of(mutant.path)[mutant.line - 1])
        found = self._naming(constant[1]) if constant else set(of_file.get(mutant.line, set()))
        if (
            not found
        ):  # a default, a row of a table, a field's bounds: whatever runs the lines about it, or names it
            near = range(mutant.line - 30, mutant.line + 30)
            found = set().union(*(of_file.get(line, set()) for line in near))
            found = found or self._naming(self._class_of(mutant))
        ordered = sorted(found, key=lambda test: (self._width[test], test))
        own = [test for test in ordered[FIRST_TESTS:] if test.startswith(f"tests/{mutant.package}/")]
        return [part for part in (ordered[:FIRST_TESTS], own[:MOST_TESTS]) if part]

    @staticmethod
    def _class_of(mutant: Mutant) -> str:
        before = reversed(lines_of(mutant.path)[: mutant.line])
        return next(
            (line.split("(")[0].split(":")[0][6:] for line in before if line.startswith("class ")), "-"
        )

    def _naming(self, constant: str) -> set[str]:
        """Return the tests that run a line which names a constant or a class."""
        named = re.compile(rf"\b_?{constant}\b")
        return {
            test
            for path, of_file in self._lines.items()
            for line, tests in of_file.items()
            if line <= len(lines_of(path))
            and named.search(lines_of(path)[line - 1])  # an empty module has a line 1
            for test in tests
        }


def outcome(mutant: Mutant, tests: list[list[str]]) -> str:
    """Make a mutant in the copy, run tests on it, undo it, and return killed, survived or untested."""
    if not tests:
        return "untested"
    with use_mutation(Path(mutant.path), get_operator(mutant.operator)(), mutant.occurrence):
        return "survived" if all(stand(part) for part in tests) else "killed"


def stand(tests: list[str]) -> bool:
    """Return whether tests pass on the copy as it is, within a time."""
    child = get_context("fork").Process(target=fall, args=(tests,))
    child.start()
    child.join(WALL_S)
    if child.is_alive():
        child.kill()
        child.join()
    return child.exitcode == pytest.ExitCode.OK


def fall(tests: list[str]) -> None:
    """Run tests in a child that has loaded the libraries but nothing of the program, and end with pytest's code."""
    silence = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silence, 1)
    os.dup2(silence, 2)
    sys.path.insert(0, str(TREE))
    sys.dont_write_bytecode = True
    setrlimit(RLIMIT_CPU, (CPU_S, CPU_S))
    loaded = "ignore::pytest.PytestAssertRewriteWarning"  # libraries that are also plugins of pytest
    without = [word for name in ("randomly", "cacheprovider", "xdist") for word in ("-p", f"no:{name}")]
    os._exit(pytest.main(["-x", "-q", "-W", loaded, *without, *tests]))


def results() -> dict[str, str]:
    """Return what mutants came to in earlier runs."""
    if not RESULTS.is_file():
        return {}
    rows = (json.loads(line) for line in RESULTS.read_text(encoding="utf-8").splitlines())
    return {row["key"]: row["outcome"] for row in rows}


def run(mutants: list[Mutant], *, again: bool) -> dict[str, str]:
    """Try the mutants that were not yet tried, and with `again` those that survived."""
    known, tests = results(), Tests()
    os.chdir(TREE)
    os.environ.update(environment())
    for library in LIBRARIES:
        import_module(library)
    if not all(stand(part[:9]) for mutant in mutants[:3] for part in tests.of(mutant)):
        raise SystemExit("mutate: tests fall without any mutant; forget what was learned by --fresh")
    for at, mutant in enumerate(mutants, 1):
        if known.get(mutant.key) in ({"killed"} if again else {"killed", "survived", "untested"}):
            continue
        known[mutant.key] = outcome(mutant, tests.of(mutant))
        with RESULTS.open("a", encoding="utf-8") as file:
            file.write(json.dumps({"key": mutant.key, "outcome": known[mutant.key]}) + "\n")
        print(f"{at}/{len(mutants)} {known[mutant.key]}: {mutant.key}", flush=True)
    return known


def report(mutants: list[Mutant], known: dict[str, str]) -> None:
    """Print every mutant that lived with its line, then the share killed in each package and in all."""
    for mutant in mutants:
        if known[mutant.key] != "killed":
            print(f"{known[mutant.key]}: {mutant.key}\n    {lines_of(mutant.path)[mutant.line - 1].strip()}")
    for package in (*sorted({mutant.package for mutant in mutants}), ""):
        of_it = [known[mutant.key] for mutant in mutants if package in {"", mutant.package}]
        killed = of_it.count("killed")
        print(
            f"{package or 'all':14}{killed:5} of {len(of_it):5} killed, {100 * killed / max(1, len(of_it)):.0f} %"
        )


def main() -> None:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(
        prog="scripts/mutate", description="Break rules; count what the tests notice."
    )
    parser.add_argument(
        "packages", nargs="*", help=f"packages of carecal; all of {', '.join(PACKAGES)} if none"
    )
    parser.add_argument("--sample", type=int, help="so many mutants, one a line, lines drawn by lot")
    parser.add_argument("--seed", type=int, default=1, help="another number draws another sample")
    parser.add_argument("--again", action="store_true", help="try those again that survived")
    parser.add_argument("--fresh", action="store_true", help="forget all that earlier runs found")
    options = parser.parse_args()
    packages = options.packages or [name for name in PACKAGES if modules([name])]
    prepare(fresh=options.fresh)
    mutants = chosen(packages, options.sample, options.seed)
    report(mutants, run(mutants, again=options.again))


if __name__ == "__main__":
    main()
