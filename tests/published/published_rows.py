"""Reads the published tables beside it and holds an answer against a row's expected values and tolerance."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

TABLES = Path(__file__).parent / "tables"

Functions = Mapping[str, Callable[..., Any]]


@dataclass(frozen=True)
class Row:
    """One check: a function, its inputs, what it must answer and how near."""

    id: str
    function: str
    inputs: dict[str, Any]
    expected: str
    tolerance: str


def table(name: str) -> list[dict[str, str]]:
    """Return the rows of a published table."""
    with (TABLES / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def one(name: str, **keys: str) -> dict[str, str]:
    """Return the single row of a published table whose columns hold the given values."""
    (found,) = (row for row in table(name) if all(row[key] == value for key, value in keys.items()))
    return found


def checks(name: str) -> list[Row]:
    """Return the checks of a table."""
    return [
        Row(row["id"], row["function"], json.loads(row["inputs"]), row["expected"], row["tolerance"])
        for row in table(name)
    ]


def params(name: str) -> pytest.MarkDecorator:
    """Return the checks of a table as a parametrisation with their ids."""
    return pytest.mark.parametrize("row", [pytest.param(row, id=row.id) for row in checks(name)])


def having(name: str, *functions: str) -> pytest.MarkDecorator:
    """Return the checks of a table but those of functions that nothing in the program needs."""
    rows = [row for row in checks(name) if row.function not in functions]
    return pytest.mark.parametrize("row", [pytest.param(row, id=row.id) for row in rows])


def answer(row: Row, functions: Functions) -> Any:
    """Return what the code answers to a row; a function that the dispatch table lacks fails the test."""
    if row.function not in functions:
        pytest.fail(f"{row.id}: no code for the function {row.function}")
    return functions[row.function](**row.inputs)


def labelled(expected: str) -> dict[str, float | None]:
    """Return 'low 0.5, high unknown' as a number or None by label, blanks in labels as underscores."""
    found: dict[str, float | None] = {}
    for part in expected.split(", "):
        label, _, value = part.rpartition(" ")
        found[label.replace(" ", "_")] = None if value == "unknown" else float(value)
    return found


def near(got: float, expected: float, tolerance: float) -> bool:
    """Return whether a number lies within a tolerance, the last bits of binary fractions forgiven."""
    return abs(got - expected) <= tolerance + 1e-12


def hold(row: Row, got: Any) -> None:
    """Fail unless an answer, a number or numbers by label, is as near to a row's expected one as it says."""
    tolerances = [float(part) for part in row.tolerance.split(";")]
    if isinstance(got, float | int):
        assert near(got, float(row.expected), tolerances[0]), (row.id, got, row.expected)
        return
    expected = labelled(row.expected)
    values = got if isinstance(got, Mapping) else got._asdict()
    limits = tolerances if len(tolerances) == len(expected) else tolerances * len(expected)
    for (label, wanted), tolerance in zip(expected.items(), limits, strict=True):
        value = values[label if label in values else label.lower()]
        if wanted is None:
            assert value is None, (row.id, label, value)
        else:
            assert near(value, wanted, tolerance), (row.id, label, value, wanted)


def number(text: str) -> float:
    """Return the first number of a text."""
    found = re.search(r"-?\d+(\.\d+)?", text)
    assert found is not None, text
    return float(found.group())
