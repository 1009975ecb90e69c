"""What a look asks, in words; it decides nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.wording.dates import listed

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["FEEL_AND_WATER", "lacking"]

FEEL_AND_WATER = "feel its medium, water if it is dry"
"""Of a plant for which no days of water can be reckoned yet."""


def lacking(missing: Sequence[str]) -> str:
    """Return what is still to be said of a plant, as 'say its medium and size'."""
    return f"say its {listed(missing)}"
