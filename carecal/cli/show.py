"""Text for a terminal: aligned columns, and quantities in the units wanted; it knows no command."""

from __future__ import annotations

import os
import shutil
import sys
import textwrap
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

__all__ = ["amount", "columns", "grams", "length", "size", "temperature"]

LEAST_ROOM = 20  # letters; our choice, because a word of a table is hardly longer
CM_PER_INCH = 2.54
LITRES_PER_GALLON = 3.785411784  # of the United States
GRAMS_PER_OUNCE = 28.349523125


def columns(rows: Iterable[Sequence[object]], headings: Sequence[str] = ()) -> str:
    """Return rows as aligned columns, None as a hyphen; the last column is not padded.

    On a terminal that is narrower a table with headings is folded: a block a row, its first cell alone on a line.
    """
    body = [["-" if cell is None or cell == "" else str(cell) for cell in row] for row in rows]
    table = [list(headings), *body] if headings else body
    if not table:
        return ""
    widths = [max(len(row[i]) for row in table) for i in range(len(table[0]))]
    room = _room()
    if headings and room and sum(widths) + 2 * (len(widths) - 1) > room:
        return "\n".join(line for row in body for line in _folded(row, headings, room))
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in table
    )


def _room() -> int | None:
    """Return how many letters a line of the terminal holds; None where nobody reads it there."""
    if not (os.environ.get("COLUMNS", "").isdigit() or sys.stdout.isatty()):
        return None
    return shutil.get_terminal_size().columns


def _folded(row: Sequence[str], headings: Sequence[str], room: int) -> list[str]:
    """Return a row as lines: its first cell, then what else it has, each under its heading."""
    told = "; ".join(
        f"{head}: {cell}" if head else cell
        for head, cell in zip(headings[1:], row[1:], strict=True)
        if cell != "-"
    )
    lines = textwrap.wrap(
        told, max(room, LEAST_ROOM), initial_indent="  ", subsequent_indent="  ", break_on_hyphens=False
    )
    return [row[0], *lines]


def temperature(temp_c: float, units: str) -> str:
    """Return a temperature with its unit."""
    return f"{temp_c * 9 / 5 + 32:.1f} °F" if units == "imperial" else f"{temp_c:.1f} °C"


def size(size_cm: float | None, units: str) -> str | None:
    """Return a size of a pot with its unit; None where it is not known."""
    if size_cm is None:
        return None
    return f"{size_cm / CM_PER_INCH:.1f} in" if units == "imperial" else f"{size_cm:g} cm"


def length(length_mm: float, units: str) -> str:
    """Return a length with its unit."""
    return f"{length_mm / 10 / CM_PER_INCH:.1f} in" if units == "imperial" else f"{length_mm:g} mm"


def amount(litres: float, units: str) -> str:
    """Return an amount of water with its unit."""
    return f"{litres / LITRES_PER_GALLON:.3g} gal" if units == "imperial" else f"{litres:.3g} L"


def grams(weight_g: float, units: str) -> str:
    """Return a weight with its unit."""
    return f"{weight_g / GRAMS_PER_OUNCE:.3g} oz" if units == "imperial" else f"{weight_g:.3g} g"
