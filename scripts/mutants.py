"""The breaks of rules that can be made, and a sample of them drawn by lot: which operators, at which places."""

from __future__ import annotations

import random
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.plugins import get_operator

ROOT = Path(__file__).resolve().parents[1]
PACKAGES = ("planning", "plan", "horticulture", "calendars", "collection")
TURNED = {
    "Lt": ("LtE", "GtE"),
    "LtE": ("Lt", "Gt"),
    "Gt": ("GtE", "LtE"),
    "GtE": ("Gt", "Lt"),
    "Eq": ("NotEq",),
    "NotEq": ("Eq",),
    "Is": ("IsNot",),
    "IsNot": ("Is",),
}
SWAPPED = {
    "Add": "Sub",
    "Sub": "Add",
    "Mul": "Div",
    "Div": "Mul",
    "Mod": "Mul",
    "FloorDiv": "Mul",
    "BitAnd": "Sub",
}
OPERATORS = (
    *(f"core/ReplaceComparisonOperator_{a}_{b}" for a, others in TURNED.items() for b in others),
    *(f"core/ReplaceBinaryOperator_{a}_{b}" for a, b in SWAPPED.items()),
    *(
        f"core/{name}"
        for name in (
            "ReplaceUnaryOperator_Delete_Not",
            "ReplaceUnaryOperator_USub_UAdd",
            "AddNot",
            "ReplaceTrueWithFalse",
            "ReplaceFalseWithTrue",
            "ReplaceAndWithOr",
            "ReplaceOrWithAnd",
            "ReplaceBreakWithContinue",
            "ReplaceContinueWithBreak",
            "NumberReplacer",
            "ZeroIterationForLoop",
        )
    ),
)
NO_RULE = re.compile(
    r"TYPE_CHECKING|^\s*@|^__all__|^\s*raise\b|slots=True"
)  # imports for types, decorators, refusals' text
GUARDS = ("strict=True", "strict=False")  # of a zip whose parts are of one length by how they are made


@dataclass(frozen=True)
class Mutant:
    """One break: where it is, which operator makes it and which of its places in the module it takes."""

    path: str
    line: int
    operator: str
    occurrence: int

    @property
    def key(self) -> str:
        """What names it as long as its module stays as it is."""
        return f"{self.path}:{self.line} {self.operator}#{self.occurrence}"

    @property
    def package(self) -> str:
        """The package of carecal it stands in."""
        return self.path.split("/")[1]


def modules(packages: Iterable[str]) -> list[str]:
    """Return the modules of packages of carecal, as paths within the project."""
    found = (path for name in packages for path in sorted((ROOT / "carecal" / name).rglob("*.py")))
    return [path.relative_to(ROOT).as_posix() for path in found if path.name != "__init__.py"]


@cache
def lines_of(path: str) -> list[str]:
    """Return the lines of a module; the first stands at 0."""
    return (ROOT / path).read_text(encoding="utf-8").splitlines()


def mutants_of(path: str) -> Iterator[Mutant]:
    """Yield every mutant of a module that could be a rule's; a star before arguments by name is no product."""
    nodes = list(ast_nodes(get_ast((ROOT / path).read_text(encoding="utf-8"))))
    for name in OPERATORS:
        operator = get_operator(name)()
        places = [place for node in nodes for place in operator.mutation_positions(node)]
        for occurrence, (start, _) in enumerate(places):
            line = lines_of(path)[start[0] - 1]
            is_guard = line.startswith(GUARDS, max(0, start[1] - len("strict=")))
            if not NO_RULE.search(line) and not is_guard and not line.startswith("*,", start[1]):
                yield Mutant(path, start[0], name, occurrence)


def chosen(packages: list[str], sample: int | None, seed: int) -> list[Mutant]:
    """Return the mutants to make: all, or one from each of so many lines drawn by lot.

    A greater sample holds the smaller one of the same seed; lines that change draw anew, the others stay drawn.
    """
    by_line: dict[tuple[str, int], list[Mutant]] = defaultdict(list)
    for path in modules(packages):
        for mutant in mutants_of(path):
            by_line[path, mutant.line].append(mutant)
    if sample is None:
        return [mutant for of_line in by_line.values() for mutant in of_line]
    lots = {at: _lot(seed, *at) for at in by_line}
    drawn = sorted(by_line, key=lambda at: lots[at].random())[:sample]
    return [lots[at].choice(by_line[at]) for at in drawn]


def _lot(seed: int, path: str, line: int) -> random.Random:
    """Return the lot of a line: the same as long as its text stays, wherever it moves in its module."""
    lines = lines_of(path)
    text = lines[line - 1].strip()
    before = sum(each.strip() == text for each in lines[: line - 1])
    return random.Random(f"{seed} {path} {before} {text}")  # noqa: S311 - a sample, no secret
