"""How far a wetting may slip: the window round a due day (models I7); it chooses no day in it."""

from __future__ import annotations

from math import floor
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from carecal.planning.rhythm.beats import Beat, Beats

__all__ = ["window_of"]

QUARTER = 0.25  # models I7: aids may slip by a quarter of their interval
SOONER = 1  # trade-facts R15: a cloth every 2-4 days; our choice of a day, because sooner harms no cloth [d]


def window_of(beats: Beats, beat: Beat, due: int, first: int, *, of_pot: bool) -> tuple[int, int]:
    """Return the earliest and the latest day of a wetting, both included; it never leaves its run of wettings.

    Args:
        beats: The rhythm it belongs to.
        beat: The beat in force on its due day.
        due: Its due day.
        first: No day before this one, but the due day itself.
        of_pot: False for the moistening of an aid.
    """
    terms = beat.terms
    before, after = terms.window_before * terms.scale, terms.window_after * terms.scale
    if not of_pot:
        before = after = QUARTER
    sooner = 0 if of_pot or beat.days <= SOONER else SOONER
    before_days = max(floor(before * beat.days), sooner)
    earliest = max(min(due, max(due - before_days, first)), beats.run_start(beat))
    return earliest, max(due, min(due + floor(after * beat.days), beats.run_end(due)))
