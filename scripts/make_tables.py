"""Writes the tables of the developer pages that follow from code and data: modules, tables, sides, computed intervals.

`python -m scripts.make_tables` writes them between their marks; with `--check` it changes nothing and returns 1 where
one is out of date. `tests/test_pages.py` holds them equal.
"""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Callable
from pathlib import Path

from carecal.catalog.grouped import GROUPED
from carecal.catalog.load import OPEN_TABLES, load_catalog
from carecal.catalog.working import Side
from carecal.collection.plain_entries import PATH
from carecal.planning.sides import CHANGES_NO_PLAN
from scripts.plain_fields import plain_fields
from tests.published.intervals import compared, report_lines
from tests.published.seasons import season_lines, seasons

__all__ = ["PARTS", "filled", "main", "modules_table", "sides_table"]

ROOT = Path(__file__).resolve().parents[1]
MARKED = re.compile(r"(<!-- made by scripts/make_tables\.py: (\w+) -->\n).*?(<!-- end -->)", re.DOTALL)


def modules_table() -> str:
    """Return one line a module, from its docstring, under a heading a package; packages lie deepest last."""
    lines: list[str] = []
    for init in sorted((ROOT / "carecal").rglob("__init__.py")):
        package = init.parent
        lines += [f"### `{package.relative_to(ROOT).as_posix()}/`", "", _first_line(init), ""]
        modules = [path for path in sorted(package.glob("*.py")) if path != init]
        if modules:
            lines += ["| module | what it is |", "|---|---|"]
            lines += [f"| `{path.name}` | {_first_line(path).replace('|', '&#124;')} |" for path in modules]
            lines.append("")
    return "\n".join(lines)


def _first_line(path: Path) -> str:
    said = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
    return said.partition("\n\n")[0].replace("\n", " ")


def tables_table() -> str:
    """Return one line a shared table: what its file says of itself, and whether a grower may add rows to it."""
    lines = ["| file | what its rows are | a grower may |", "|---|---|---|"]
    for path in sorted((ROOT / "shared").glob("*.toml")):
        said = path.read_text(encoding="utf-8").partition("\n#\n")[0].replace("\n#", "").removeprefix("# ")
        may = "add and change" if path.stem in OPEN_TABLES or path.stem in GROUPED else "change"
        lines.append(f"| `{path.name}` | {said} | {may} |")
    return "\n".join(lines) + "\n"


def sides_table() -> str:
    """Return the sides of the trade's conflicts by number, each with the modules that ask for it."""
    program = {
        path.relative_to(ROOT / "carecal").as_posix(): path.read_text(encoding="utf-8")
        for path in sorted((ROOT / "carecal").rglob("*.py"))
    }
    sides = sorted(load_catalog().sides.values(), key=lambda side: int(side.ref.removeprefix("D")))
    lines = ["| id | side | question | taken | why | asked for in |", "|---|---|---|---|---|---|"]
    return "\n".join([*lines, *(_side_row(side, program) for side in sides)]) + "\n"


def _side_row(side: Side, program: dict[str, str]) -> str:
    taken = side.side_a if side.default == "a" else side.side_b
    asked = re.compile(rf"\bside\(\s*\"{re.escape(side.id)}\"")
    places = ", ".join(f"`{name}`" for name, text in program.items() if asked.search(text))
    where = places or f"nothing: {CHANGES_NO_PLAN[side.id]}"
    return (
        f"| {side.ref} | `{side.id}` | {side.question} | {side.default}: {taken} | {side.because} | {where} |"
    )


def intervals_table() -> str:
    """Return the published intervals beside what the program computes for their conditions."""
    return "\n".join(report_lines(compared(load_catalog()))) + "\n"


def seasons_table() -> str:
    """Return the printed ratios of winter to summer beside what the program computes for their rooms."""
    return "\n".join(season_lines(seasons(load_catalog()))) + "\n"


PARTS: dict[str, Callable[[], str]] = {
    "modules": modules_table,
    "tables": tables_table,
    "sides": sides_table,
    "intervals": intervals_table,
    "seasons": seasons_table,
}


def filled(text: str) -> str:
    """Return a page with each of its marked parts made anew.

    Raises:
        KeyError: a mark names no part.
    """
    return MARKED.sub(lambda found: f"{found[1]}\n{PARTS[found[2]]()}\n{found[3]}", text)


def pages() -> list[Path]:
    """Return the pages that have a marked part."""
    found = [
        *ROOT.glob("*.md"),
        *(path for top in ("carecal", "shared") for path in (ROOT / top).rglob("*.md")),
    ]
    return sorted(path for path in found if MARKED.search(path.read_text(encoding="utf-8")))


def main(arguments: list[str]) -> int:
    """Write every table, or with `--check` only say which are out of date; return 1 when one is."""
    stale = []
    for page in pages():
        text = page.read_text(encoding="utf-8")
        if (new := filled(text)) != text:
            stale.append(page.relative_to(ROOT).as_posix())
            if "--check" not in arguments:
                page.write_text(new, encoding="utf-8")
    if PATH.read_text(encoding="utf-8") != (text := plain_fields()):
        stale.append(PATH.relative_to(ROOT).as_posix())
        if "--check" not in arguments:
            PATH.write_text(text, encoding="utf-8")
    sys.stdout.write("".join(f"{name}\n" for name in stale))
    return 1 if stale and "--check" in arguments else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
