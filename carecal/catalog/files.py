"""Hand-written TOML files read to plain values, with faults that name the line; it knows no columns."""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING, Any

from carecal.errors import Fault, StorageError

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["read_toml"]

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
        content = path.read_bytes()
    except OSError as error:
        raise StorageError(f"{path} cannot be read: {(error.strerror or 'unknown').lower()}") from error
    try:
        values = tomllib.loads(content.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        return {}, [
            Fault(file, f"line {line}", f"byte {content[error.start]:#04x} is not UTF-8; save as UTF-8")
        ]
    except tomllib.TOMLDecodeError as error:
        return {}, [_toml_fault(file, str(error))]
    except RecursionError:
        return {}, [
            Fault(file, "line 1", "lists are nested too deeply; at most a list in a table is allowed")
        ]
    if not values:
        return {}, [Fault(file, "line 1", "the file is empty; fill it in or delete it")]
    return values, []


def _toml_fault(file: str, message: str) -> Fault:
    at = _AT.search(message)
    sentence = _AT.sub("", message)
    place = f"line {at[1]}, column {at[2]}" if at and at[1] else "end of file"
    return Fault(file, place, f"not TOML: {sentence[:1].lower()}{sentence[1:]}")
