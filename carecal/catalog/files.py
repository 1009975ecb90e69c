"""Hand-written TOML files read to plain values, with faults that name the line; it knows no columns."""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING, Any

from carecal.errors import Fault, StorageError

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["read_toml"]

LARGEST_BYTES = 5_000_000  # our choice, because a start file of 10,000 plants takes half of it
DEEPEST = 12  # our choice, because the deepest table of ours lies four deep
_AT = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)$")


def read_toml(file: str, path: Path) -> tuple[dict[str, Any], list[Fault]]:
    """Values of a TOML file, or its fault and nothing.

    Args:
        file: Name of the file, for the fault.
        path: Where it lies.

    Raises:
        StorageError: The file cannot be read.
    """
    try:
        with path.open("rb") as opened:
            content = opened.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise StorageError(f"{path} cannot be read: {(error.strerror or 'unknown').lower()}") from error
    if len(content) > LARGEST_BYTES:
        return {}, [Fault(file, "line 1", f"the file is too large; allowed are {LARGEST_BYTES / 1e6:g} MB")]
    try:
        values = tomllib.loads(content.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        return {}, [
            Fault(file, f"line {line}", f"byte {content[error.start]:#04x} is not UTF-8; save as UTF-8")
        ]
    except tomllib.TOMLDecodeError as error:
        return {}, [_toml_fault(file, str(error))]
    except ValueError as error:  # more digits than are read, which has no line
        told = str(error).partition(";")[0][:120]
        return {}, [Fault(file, "line 1", f"a number cannot be read: {told[:1].lower()}{told[1:]}")]
    except RecursionError:
        return {}, [_too_deep(file)]
    if _is_deep(values):
        return {}, [_too_deep(file)]
    if not values:
        return {}, [Fault(file, "line 1", "the file is empty; fill it in or delete it")]
    return values, []


def _is_deep(value: object, level: int = 0) -> bool:
    """Whether tables and lists lie deeper in each other than any file of ours needs."""
    if level > DEEPEST:
        return True
    parts = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return any(_is_deep(part, level + 1) for part in parts)


def _too_deep(file: str) -> Fault:
    return Fault(file, "line 1", "lists are nested too deeply; at most a list in a table is allowed")


def _toml_fault(file: str, message: str) -> Fault:
    at = _AT.search(message)
    sentence = _AT.sub("", message)
    place = f"line {at[1]}, column {at[2]}" if at and at[1] else "end of file"
    return Fault(file, place, f"not TOML: {sentence[:1].lower()}{sentence[1:]}")
