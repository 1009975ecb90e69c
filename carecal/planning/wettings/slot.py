"""One numbered wetting as a plain value, and where its drying was counted from; how wettings go on is elsewhere."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from carecal.plan.model import Status
    from carecal.planning.rhythm.beats import Beat
    from carecal.planning.wettings.feeding import Tally

__all__ = ["Anchor", "Slot"]


class Slot(NamedTuple):
    """One numbered wetting, with its window and what became of it."""

    id: str
    number: int
    potting: int
    due: int
    earliest: int
    latest: int
    day: int  # the care day
    deadline: int  # `latest`, or the day of return from an absence that holds it
    beat: Beat
    care: str
    ppm_n: float | None = None
    why: str = ""
    status: Status = "planned"
    answered: int | None = None  # day
    entry: int | None = None
    is_certain: bool = False
    is_excepted: bool = False
    is_first_look: bool = False
    salt_ms_cm: float | None = None  # in the medium before it, where salts are reckoned
    waits_since: int | None = None  # day since which the feed that it asks for has not been given
    could_ppm_n: float | None = None  # plain water: strength of a feed here if the feed before it had waited


class Anchor(NamedTuple):
    """Where the drying was counted from before a slot: enough to go back to it."""

    last: int | None
    forced: int | None
    tally: Tally
    assumed: int
