"""How far a wetting may slip: the window round a due day (models I7); it chooses no day in it."""

from __future__ import annotations

from math import floor
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from carecal.planning.rhythm.beats import Beat, Beats

__all__ = ["window_of"]

QUARTER = 0.25  # models I7: aids may slip by a quarter of their interval
SOONER = 1  # a cloth, or the top of moss: every 2-4 days (R15, wraps.toml); our choice of one day, never under 2 [d]
LEAST_DAYS = 2  # nothing is damped oftener for a care day [d]


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
    is_damped = not of_pot or terms.care == "moistening"
    sooner = SOONER if is_damped and beat.days - SOONER >= LEAST_DAYS else 0
    before_days = max(floor(before * beat.days), sooner)
    earliest = max(min(due, max(due - before_days, first)), beats.run_start(beat))
    return earliest, max(due, min(due + floor(after * beat.days), beats.run_end(due)))
