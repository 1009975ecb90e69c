"""Sides of the trade's conflicts that change no plan, and why: so that a list of sides can say so."""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["CHANGES_NO_PLAN"]

CHANGES_NO_PLAN: Mapping[str, str] = MappingProxyType(
    {
        "cinnamon": "it is a thing of the bench: no task names what goes on a cut",
        "misting": "no wetting of a potted plant is planned as mist on either side",
        "rootless-wrap": "give or take off the aid wrap; the plan follows what the plant has, closed or open",
        "acid-medium": "nothing is planned from the acidity of a medium on either side",
        "peroxide-in-crown": "no task asks for it on either side",
    }
)
