"""One medium in one container for a plant, as a row of a comparison; it computes nothing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

__all__ = ["PairRow"]


@dataclass(frozen=True, slots=True)
class PairRow:
    """One medium in one container for a plant at a place.

    Attributes:
        medium: The medium.
        container: The container.
        is_present: Whether the plant stands in it now.
        days: Whole days between wettings, by season in the order of the coming year; empty where nothing is wetted.
        technique: How it is wetted.
        coldest_c: Coldest night of the medium in the coming year. [°C]
        coldest_on: Day of it.
        under_c: How far that is under the night its kind is made for, 0 or more. [K]
        safe: 'as it is', 'now', 'all year', 'wait', 'never' or 'no'.
        opens: First safe day of a change, if not today.
        last_safe: Last safe day of a change; None all year.
        litres: What a wetting takes. [L]
        life_months: From when the medium is looked at and when it is due; None: it does not rot.
        why_not: Why the change may not be made now whatever the season; '' for nothing.
        reason: Why it stands where it does, in one sentence.
    """

    medium: str
    container: str
    is_present: bool
    days: tuple[tuple[str, int], ...]
    technique: str
    coldest_c: float
    coldest_on: date
    under_c: float
    safe: str
    opens: date | None
    last_safe: date | None
    litres: float
    life_months: tuple[float, float] | None
    why_not: str = ""
    reason: str = ""
