"""Steps: what is done once, when safe, with status, opening, last safe start, margin and reasons."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from carecal.planning.desk import Desk
    from carecal.planning.model import Step

__all__ = ["steps_of"]


def steps_of(desk: Desk) -> list[Step]:
    """Return the steps of one plant that are wanted or whose gates matter on the plan's day."""
    del desk
    return []
