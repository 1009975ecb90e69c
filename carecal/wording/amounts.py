"""Amounts as people read them, metric or imperial."""

from __future__ import annotations

__all__ = ["grams_text", "litres_text"]

L_PER_GALLON = 3.785411784  # US gallon, by definition [L]
G_PER_OUNCE = 28.349523125  # by definition [g]
SMALL_GALLON = 0.25


def litres_text(litres: float, units: str) -> str:
    """Return a volume in litres, or in US gallons and fluid ounces."""
    if units != "imperial":
        return f"{litres:.1f} L" if litres >= 0.1 else f"{litres * 1000:.0f} mL"
    gallons = litres / L_PER_GALLON
    return f"{gallons:.2f} gal" if gallons >= SMALL_GALLON else f"{gallons * 128:.0f} fl oz"


def grams_text(grams: float, units: str) -> str:
    """Return a weight in grams, or in ounces."""
    return f"{grams:.2g} g" if units != "imperial" else f"{grams / G_PER_OUNCE:.2g} oz"
