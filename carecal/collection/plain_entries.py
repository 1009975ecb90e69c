"""Entries of every day whose values are plainly allowed, taken without the library that checks entries.

What their models allow is read from `plain_fields.json`, which `python -m scripts.make_tables` writes from the models:
they alone hold the rule. What is not plain is left to them, which take or refuse it; nothing is refused here.
"""

from __future__ import annotations

import json
import re
from datetime import date
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from carecal.collection.entry_limits import one_line

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

__all__ = ["PATH", "PlainEntry", "plain_entry"]

PATH = Path(__file__).with_name("plain_fields.json")


class PlainEntry:
    """An entry as the journal takes it, with the fields of its model.

    Args:
        kind: Its kind.
        values: All fields of the model in their order, checked; None where nothing was said.
    """

    model_fields = ("on",)
    """The fields that may hold days."""

    def __init__(self, kind: str, values: Mapping[str, Any]) -> None:
        self.kind = kind
        self._values = values

    def __getattr__(self, name: str) -> Any:
        """Return the value of a field."""
        try:
            return self.__dict__["_values"][name]
        except KeyError:
            raise AttributeError(name) from None

    def model_dump(self, *, mode: str, exclude_none: bool, exclude: Collection[str]) -> dict[str, Any]:
        """Return the fields as JSON holds them, as the models do."""
        if mode != "json":
            raise ValueError(f"an entry dumps itself as JSON, not as {mode}")
        return {
            name: value.isoformat() if isinstance(value, date) else value
            for name, value in self._values.items()
            if name not in exclude and not (exclude_none and value is None)
        }


def plain_entry(kind: str, values: Mapping[str, object]) -> PlainEntry | None:
    """Return an entry whose model takes these values as they are; None where only the model can tell.

    Args:
        kind: Kind of the entry.
        values: What was said; None counts as not said.
    """
    fields = _fields().get(kind)
    if fields is None or not values.keys() <= fields.keys():
        return None
    found: dict[str, Any] = {}
    for name, row in fields.items():
        value = values.get(name)
        if value is None:
            if "default" not in row:
                return None
            found[name] = row["default"]
            continue
        found[name] = _plain(row, value)
        if found[name] is None:
            return None
    return PlainEntry(kind, found)


def _plain(row: Mapping[str, Any], value: object) -> object:
    """Return a value as its model keeps it; None where it is not plain."""
    match row["type"]:
        case "date" if type(value) is date:
            return value
        case "name" if type(value) is str and value in row["names"]:
            return value
        case "true" if value is True:
            return value
        case "pattern" if type(value) is str and re.fullmatch(row["pattern"], value):
            return value
        case "line" if type(value) is str and len(value) <= row["longest"] and _is_line(value):
            return value
        case "number" if type(value) in {int, float} and _is_between(row, float(value)):  # type: ignore[arg-type]
            return float(value)  # type: ignore[arg-type]
        case "whole" if type(value) is int and _is_between(row, value):
            return value
    return None


def _is_line(text: str) -> bool:
    try:
        one_line(text)
    except ValueError:
        return False
    return True


def _is_between(row: Mapping[str, Any], value: float) -> bool:
    return bool(row.get("ge", value) <= value <= row.get("le", value) and row.get("gt", value - 1) < value)


@cache
def _fields() -> dict[str, dict[str, dict[str, Any]]]:
    found: dict[str, dict[str, dict[str, Any]]] = json.loads(PATH.read_text(encoding="utf-8"))
    return found
