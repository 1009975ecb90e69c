"""Each column of profiles and tables is read by a rule, or said here to be for people; the type checker tells which.

A copy of the program whose rows have no columns is type-checked: every read of a column is then an error that names
the row and the column. A search for the name alone would take another class's attribute for it.
"""

from __future__ import annotations

import ast
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
ROWS = ("growing", "working", "profile", "season", "sick")  # modules of the catalog whose classes are rows
READERS = ("tables",)  # modules of the catalog that give values to rules in another form
IN_WORDS = "what the row means, in words: for who reads the table or writes a row of their own"
BY_METER = "what a grower holds a meter or a lamp's clock against; `profiles show` prints it"
BY_EYE = "what a grower compares a plant or a place with; `profiles show` prints it"
FOR_PEOPLE: Mapping[str, Mapping[str, str]] = {
    "Medium": {"describes": IN_WORDS},
    "Container": {"describes": IN_WORDS},
    "AirClass": {"describes": IN_WORDS},
    "Stage": {"feed_gate": IN_WORDS},
    "State": {"kind": IN_WORDS, "begins": IN_WORDS, "ends": IN_WORDS, "blocks": IN_WORDS},
    "Technique": {"does": IN_WORDS, "fits": IN_WORDS, "keeps_in_mind": IN_WORDS},
    "Aid": {"describes": IN_WORDS},
    "Caution": {"attaches_to": IN_WORDS, "who_decides": IN_WORDS},
    "Pest": {"development": IN_WORDS},
    "FeedingGate": {"opens_when": IN_WORDS, "shuts_when": IN_WORDS},
    "Step": {"needs": IN_WORDS, "never_when": IN_WORDS, "emergency": IN_WORDS},
    "Rest": {"first_wetting": IN_WORDS},
    "Wrap": {"describes": IN_WORDS, "bearable": IN_WORDS},
    "Firmness": {"describes": IN_WORDS},
    "LosingGround": {"says": IN_WORDS},
    "Asking": {"unanswered": IN_WORDS},
    "Side": {"ref": "number of the question, by which design and sources name it"},
    "Source": {
        "kind": IN_WORDS,
        "reference": IN_WORDS,
        "support": "how the source was read: for who checks a number",
    },
    "Profile": {
        **dict.fromkeys(
            (
                "light_rule",
                "dry_rule",
                "feed_rule",
                "flush_rule",
                "rest_rule",
                "repot_signal",
                "flowering_rule",
            ),
            IN_WORDS,
        ),
        "step_notes": IN_WORDS,
        "look_for": IN_WORDS,
        **dict.fromkeys(
            (
                "light_fc_low",
                "light_fc_high",
                "lamp_hours_low",
                "lamp_hours_high",
                "ppfd_harm",
                "water_min_c",
                "water_ec_max",
                "feed_ph_low",
                "feed_ph_high",
            ),
            BY_METER,
        ),
        **dict.fromkeys(
            ("repot_months_low", "repot_months_high", "keiki_above_c"),
            BY_EYE,
        ),
    },
}
EVERYWHERE = {"source": "the source of the row, held by the tests of the catalog"}
_PASSED = re.compile(r'incompatible type "[^"]*\b(\w+)\]?"; expected "[^"]*\b(\w+)\]?"')
_READ = re.compile(r'"(?:type\[)?(\w+)\]?"(?: of "[^"]*")? has no attribute "(\w+)"')


def columns() -> dict[str, list[str]]:
    """Columns of each row but the first, which is its name, by class."""
    found: dict[str, list[str]] = {}
    for module in ROWS:
        for node in ast.parse(_source(module)).body:
            if isinstance(node, ast.ClassDef):
                found[node.name] = list(_fields(node))
    return {row: names[1:] for row, names in found.items()}


def reads(folder: Path) -> set[tuple[str, str]]:
    """Rows and columns that code outside of the catalog reads, or a row's own property does.

    Args:
        folder: Where the copy may be made.
    """
    shutil.copytree(ROOT / "carecal", folder / "carecal", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", folder)
    own: set[tuple[str, str]] = set()
    for module in ROWS:
        tree = ast.parse(_source(module))
        for row in (node for node in tree.body if isinstance(node, ast.ClassDef)):
            own.update((row.name, name) for name in _own_reads(row))
            row.body = [node for node in row.body if not isinstance(node, ast.AnnAssign)] or [ast.Pass()]
        (folder / "carecal" / "catalog" / f"{module}.py").write_text(ast.unparse(tree), encoding="utf-8")
    command = [sys.executable, "-m", "mypy", "--cache-dir", str(ROOT / ".mypy_cache" / "columns"), "carecal"]
    told = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)  # noqa: S603 - own words
    if not told.stdout.strip():
        raise SystemExit(f"check_columns: the type checker said nothing: {told.stderr.strip()}")
    outside = re.compile(rf"(?!carecal/catalog/(?!{'|'.join(READERS)}))")
    text = "\n".join(line for line in told.stdout.splitlines() if outside.match(line))
    members = _protocols()
    through = {(row, name) for row, protocol in _PASSED.findall(text) for name in members.get(protocol, ())}
    return own | through | set(_READ.findall(text))


def faults(known: Mapping[str, list[str]], read: set[tuple[str, str]]) -> Iterator[str]:
    """Yield what is wrong: a column that nothing reads, and a name in the list that is read or is no column."""
    for row, names in known.items():
        told = FOR_PEOPLE.get(row, {})
        for name in names:
            if (row, name) not in read and name not in told and name not in EVERYWHERE:
                yield f"{row}.{name} is read by no rule; read it, remove it, or say here why it is for people"
        for name in told:
            if name not in names:
                yield f"{row}.{name} is said to be for people, but is no column"
            elif (row, name) in read:
                yield f"{row}.{name} is said to be for people, but a rule reads it"


def _protocols() -> dict[str, list[str]]:
    """Members of every protocol of the program: who asks for one reads them."""
    found = {}
    for path in (ROOT / "carecal").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef) and any(ast.unparse(base) == "Protocol" for base in node.bases):
                found[node.name] = [each.name for each in node.body if isinstance(each, ast.FunctionDef)]
    return found


def _source(module: str) -> str:
    return (ROOT / "carecal" / "catalog" / f"{module}.py").read_text(encoding="utf-8")


def _fields(row: ast.ClassDef) -> Iterator[str]:
    for node in row.body:
        if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            yield node.target.id


def _own_reads(row: ast.ClassDef) -> Iterator[str]:
    for node in ast.walk(row):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "self":
            yield node.attr


def main() -> int:
    """Print every fault; 1 where there are some."""
    with tempfile.TemporaryDirectory() as folder:
        found = list(faults(columns(), reads(Path(folder))))
    sys.stdout.write("".join(f"{line}\n" for line in found))
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
