"""Break rules one at a time in copies of the project and count which of the breaks the tests notice.

A break, or mutant, is a comparison that is turned or moves its edge, a number that is one more or less, an `and` for
an `or`, a condition denied, a loop that never runs, plus for minus. cosmic-ray makes and undoes them; here is chosen
which are made. Each is held against the tests that ran its line, or that ran the lines which name the constant it
changes, the narrowest first. What a mutant came to is written down at once, so that a run that was stopped goes on.
Mutants that break no rule stand in `scripts/no_rules.toml`, each with its reason; they are tried and counted apart.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import tomllib
from functools import cache
from importlib import import_module
from multiprocessing import get_context
from pathlib import Path
from resource import RLIMIT_CPU, setrlimit

import pytest
from cosmic_ray.mutating import use_mutation
from cosmic_ray.plugins import get_operator

from scripts.line_tests import KEPT, LineTests, environment, prepare, tree
from scripts.mutants import PACKAGES, ROOT, Mutant, chosen, lines_of, modules

RESULTS, NO_RULES = KEPT / "results.jsonl", ROOT / "scripts" / "no_rules.toml"
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
Work = tuple[Mutant, list[list[str]]]  # a mutant and the tests to hold it against, in parts


def outcome(work: Work, folder: Path) -> str:
    """Make a mutant in a copy, run tests on it, undo it, and return killed, survived or untested."""
    mutant, tests = work
    if not tests:
        return "untested"
    with use_mutation(folder / mutant.path, get_operator(mutant.operator)(), mutant.occurrence):
        return "survived" if all(stand(part, folder) for part in tests) else "killed"


def stand(tests: list[str], folder: Path) -> bool:
    """Return whether tests pass on a copy as it is, within a time."""
    child = get_context("fork").Process(target=fall, args=(tests, folder))
    child.start()
    child.join(WALL_S)
    if child.is_alive():
        child.kill()
        child.join()
    return child.exitcode == pytest.ExitCode.OK


def fall(tests: list[str], folder: Path) -> None:
    """Run tests in a child that has loaded the libraries but nothing of the program, and end with pytest's code."""
    silence = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silence, 1)
    os.dup2(silence, 2)
    os.chdir(folder)
    sys.path.insert(0, str(folder))
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


def drop_results(changed: frozenset[str]) -> None:
    """Take out what mutants of modules that changed came to; those of others stand until `--fresh`."""
    if changed and RESULTS.is_file():
        rows = RESULTS.read_text(encoding="utf-8").splitlines(keepends=True)
        stay = (row for row in rows if json.loads(row)["key"].partition(":")[0] not in changed)
        RESULTS.write_text("".join(stay), encoding="utf-8")


def worker(folder: Path, works: list[Work]) -> None:
    """Try mutants in a copy, one after another, and write down what each came to."""
    for work in works:
        row = {"key": work[0].key, "outcome": outcome(work, folder)}
        with RESULTS.open("a", encoding="utf-8") as file:
            file.write(json.dumps(row) + "\n")
        print(f"{row['outcome']}: {row['key']}", flush=True)


def run(mutants: list[Mutant], jobs: int, *, again: bool) -> dict[str, str]:
    """Try the mutants that were not yet tried, and with `again` those that survived; return what all came to."""
    known, tests = results(), LineTests()
    os.environ.update(environment())
    for library in LIBRARIES:
        import_module(library)
    if not all(stand(part[:9], tree(0)) for mutant in mutants[:3] for part in tests.of(mutant)):
        raise SystemExit("mutate: tests fall without any mutant; forget what was learned by --fresh")
    settled = {"killed"} if again else {"killed", "survived", "untested"}
    works = [(mutant, tests.of(mutant)) for mutant in mutants if known.get(mutant.key) not in settled]
    print(f"mutate: {len(works)} to try of {len(mutants)}", flush=True)
    context = get_context("fork")
    workers = [context.Process(target=worker, args=(tree(at), works[at::jobs])) for at in range(jobs)]
    for process in workers:
        process.start()
    for process in workers:
        process.join()
    if any(process.exitcode for process in workers):
        raise SystemExit("mutate: stopped; start it again and it goes on")
    return results()


@cache
def no_rules() -> dict[tuple[str, str, str], str]:
    """Return why mutants break no rule, by module, line of code and operator.

    Raises:
        SystemExit: a row names a line that its module does not have.
    """
    rows = tomllib.loads(NO_RULES.read_text(encoding="utf-8"))["mutant"]
    for row in rows:
        if row["line"] not in (line.strip() for line in lines_of(row["module"])):
            raise SystemExit(
                f"mutate: {NO_RULES.name} names a line that {row['module']} lacks: {row['line']}"
            )
    return {(row["module"], row["line"], name): row["because"] for row in rows for name in row["operators"]}


def why_none(mutant: Mutant) -> str:
    """Return why a mutant breaks no rule, '' where it breaks one."""
    line = lines_of(mutant.path)[mutant.line - 1].strip()
    return no_rules().get((mutant.path, line, mutant.operator.removeprefix("core/")), "")


def report(mutants: list[Mutant], known: dict[str, str]) -> None:
    """Print every mutant that lived with its line, then the share killed in each package and in all."""
    for mutant in mutants:
        if known[mutant.key] != "killed":
            line = lines_of(mutant.path)[mutant.line - 1].strip()
            because = f" (no rule: {why_none(mutant)})" if why_none(mutant) else ""
            print(f"{known[mutant.key]}: {mutant.key}{because}\n    {line}")
    for package in (*sorted({mutant.package for mutant in mutants}), ""):
        of_it = [mutant for mutant in mutants if package in {"", mutant.package}]
        killed = sum(known[mutant.key] == "killed" for mutant in of_it)
        none = sum(known[mutant.key] != "killed" and bool(why_none(mutant)) for mutant in of_it)
        share, of_rules = (100 * killed / max(1, whole) for whole in (len(of_it), len(of_it) - none))
        print(
            f"{package or 'all':14}{killed:5} of {len(of_it):5} killed, {share:.0f} %; "
            f"{of_rules:.0f} % without the {none} that break no rule"
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
    parser.add_argument("--jobs", type=int, default=1, help="so many at a time, each in a copy of its own")
    parser.add_argument("--again", action="store_true", help="try those again that survived")
    parser.add_argument("--fresh", action="store_true", help="forget all that earlier runs found")
    options = parser.parse_args()
    packages = options.packages or [name for name in PACKAGES if modules([name])]
    drop_results(prepare(options.jobs, fresh=options.fresh))
    mutants = chosen(packages, options.sample, options.seed)
    report(mutants, run(mutants, options.jobs, again=options.again))


if __name__ == "__main__":
    main()
