"""Text for a terminal: aligned columns, and quantities in the units wanted; it knows no command."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

__all__ = ["amount", "columns", "grams", "length", "size", "temperature"]

CM_PER_INCH = 2.54
LITRES_PER_GALLON = 3.785411784  # of the United States
GRAMS_PER_OUNCE = 28.349523125


def columns(rows: Iterable[Sequence[object]], headings: Sequence[str] = ()) -> str:
    """Return rows as aligned columns, None as a hyphen; the last column is not padded."""
    table = [list(headings)] if headings else []
    table += [["-" if cell is None or cell == "" else str(cell) for cell in row] for row in rows]
    if not table:
        return ""
    widths = [max(len(row[i]) for row in table) for i in range(len(table[0]))]
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in table
    )


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
