"""How the wettings of a plant go on beyond the one that stands next; what became of them lies in `slots`."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.planning.wettings.feeding import PLAIN, Tally, counted
from carecal.planning.wettings.salting import Pour

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.plan.model import Grouping
    from carecal.planning.wettings.slot import Slot
    from carecal.planning.wettings.slots import Chain

__all__ = ["slots_ahead"]


def slots_ahead(chain: Chain, grouping: Grouping, until: int) -> Iterator[Slot]:
    """Yield the pending slot of a chain and those that follow it, to a last day (ordinal)."""
    slot, tally, number = chain.pending, chain.tally, chain.number
    if slot is None:
        return
    short: Tally | None = None  # as if the last feed had been plain water
    yield slot
    while slot.status != "overdue":
        anchor = slot.day if grouping == "rounds" else slot.due
        if slot.deadline > slot.latest and slot.day <= chain.context.as_of:  # it waits for the day of return
            anchor = max(anchor, slot.deadline)
        short = _short(short, tally, slot.care, anchor) if grouping == "rounds" else None
        if chain.salting is not None and chain.salting.may_matter(tally):
            tally = chain.counted(tally, Pour(slot.care, anchor, ppm_n=slot.ppm_n))
        else:
            tally = counted(tally, slot.care, anchor)
        due = chain.beats.next_due(anchor)
        if due is None or due > until:
            return
        number += 1
        made = chain.slot(number, due, anchor, tally)
        if made is None or made.due > until:
            return
        slot = made
        if short is not None and slot.care in PLAIN:
            could = chain.feeds_as(slot, short, anchor)
            slot, short = slot._replace(could_ppm_n=could), None if could is not None else short
        yield slot


def _short(short: Tally | None, tally: Tally, care: str, day: int) -> Tally | None:
    """Return what has gone in after a wetting if the last feed had been plain water; None where none was held."""
    if care == "feeding":
        return counted(tally, "", day)
    return counted(short, care, day) if short is not None else None
