"""What the coming rounds are made from: the part of a collection that they read; the door stands above them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from pathlib import Path

    from carecal.collection.journal import Journal
    from carecal.collection.records import Record
    from carecal.planning.planner import Planner

__all__ = ["WHOLE", "Source"]

WHOLE = 0  # stands for the collection as a whole among the numbers of plants


class Source(Protocol):
    """A collection as the coming rounds read it."""

    journal: Journal

    @property
    def folder(self) -> Path:
        """The collection's folder."""

    def planner(
        self, as_of: date, *, until: date | None = None, records: Sequence[Record] | None = None
    ) -> Planner:
        """Return the planner of a day."""
