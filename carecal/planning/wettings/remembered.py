"""What is told of a pot's wettings from before its plant was entered: where its slots begin from; none of it is one."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from carecal.horticulture.rounding import half_up
from carecal.planning.wettings.feeding import Tally
from carecal.planning.wettings.salting import Pour

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from carecal.collection.plants import Event
    from carecal.planning.rhythm.beats import Beats

__all__ = ["OFF", "UNKNOWN_DAYS", "Remembered", "again_on", "remembered"]

LEFT_SHARE = 0.25  # design §3 rule 3: again after a quarter of the days
UNKNOWN_DAYS = 4  # models I9: what is missing is asked for every 4 days
OFF = frozenset({"damp", "parched"})  # felt so, the next wetting is a look: the interval was wrong


class Remembered(NamedTuple):
    """How a pot stands before its first slot.

    Attributes:
        tally: What has gone in.
        last: Day of the last wetting (ordinal).
        again: Day on which it is looked at again, since it was left; None: it was not.
        is_honest: Whether an answer stands behind its rhythm.
        felt_off: How the medium felt last, where that was damp or parched.
    """

    tally: Tally
    last: int
    again: int | None = None
    is_honest: bool = False
    felt_off: str = ""


def remembered(
    events: Sequence[Event], beats: Beats, counted: Callable[[Tally, Pour], Tally]
) -> Remembered | None:
    """Return how a pot stands after what is told of it; None where no wetting is.

    Args:
        events: Wettings and looks of this pot, in order.
        beats: Its rhythm.
        counted: Returns the tally after a wetting, salts included.
    """
    found: Remembered | None = None
    for event in events:
        if event.kind == "wet":
            tally = counted(found.tally if found is not None else Tally(event.day), Pour.of(event))
            if event.unseen:
                is_honest, felt = (found.is_honest, found.felt_off) if found is not None else (False, "")
            else:
                is_honest = found is not None  # what is felt tells a pace only from a wetting on
                felt = event.felt if event.felt in OFF and event.felt is not None else ""
            found = Remembered(tally, event.day, None, is_honest, felt)
        elif event.kind == "left" and found is not None:
            beat = beats.first_from(event.day)
            again = again_on(event, beat.days if beat is not None else UNKNOWN_DAYS)
            found = found._replace(again=again, is_honest=True, felt_off="damp")
    return found


def again_on(event: Event, days: int) -> int:
    """Return the day on which what was left is looked at again, from the days of its rhythm."""
    return event.day + (event.again_days or max(1, half_up(LEFT_SHARE * days)))
