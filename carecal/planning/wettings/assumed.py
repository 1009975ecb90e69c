"""Which wettings at the end of a chain nobody spoke of: they were taken as done, and may be asked about."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from carecal.planning.wettings.slots import Chain, Slot

__all__ = ["assumed_of"]


def assumed_of(chain: Chain) -> list[Slot]:
    """Return the wettings at the end of a chain that were taken as done because nobody said otherwise, in order."""
    found: list[Slot] = []
    for slot, _ in reversed(chain.history):
        if slot.status != "assumed":
            break
        found.insert(0, slot)
    return found
