"""What a form of a plant's page does: its entries, what is said of them, where the person goes on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from carecal.collection.entries import Entry

__all__ = ["Act"]


@dataclass(frozen=True, slots=True)
class Act:
    """What a form asks for: its entries, what is said of them, and where the person goes on."""

    entries: Sequence[Entry]
    title: str
    remarks: tuple[str, ...] = ()
    to: str = ""
