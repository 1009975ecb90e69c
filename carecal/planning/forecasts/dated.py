"""A forecast as a band of days with the sentence that tells it; it knows no plant."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from carecal.wording.dates import day_month

if TYPE_CHECKING:
    from carecal.horticulture.roots import RootDate

__all__ = ["MOST_AHEAD_DAYS", "Forecast", "dated", "when_of"]

MOST_AHEAD_DAYS = 731  # our choice, because a date more than two years away tells a grower nothing [d]


class Forecast(NamedTuple):
    """A thing expected in a band of days (ordinals); None is unknown.

    Attributes:
        what: Code: longest-root, leaf, stage or first-flower.
        text: One sentence with the numbers behind it.
        early: First day of the 80 % band.
        likely: Its middle.
        late: Its last day.
        is_own: Whether the plant's own pace tells it, not the usual one.
    """

    what: str
    text: str
    early: int | None
    likely: int | None
    late: int | None
    is_own: bool


def dated(what: str, target: str, text: str, found: RootDate, today: int, *, is_own: bool) -> Forecast:
    """Return a forecast by its band of days, told in words; what lies more than two years ahead is no date.

    Args:
        what: Its code.
        target: What is reached, in words.
        text: What stands behind it.
        found: First, likely and last day.
        today: The plan's day (ordinal).
        is_own: Whether the plant's own pace tells it.
    """
    early, likely, late = (
        int(part) if part is not None and part <= today + MOST_AHEAD_DAYS else None for part in found
    )
    if early is None:
        said = f"{target}: not within two years at this pace: {text}"
    elif late is None or likely is None:
        said = f"{target} not before {when_of(early)}: {text}"
    elif early == late:
        said = f"{target} reached on {when_of(early)}: {text}"
    elif late < today:
        said = f"{target} was expected by {when_of(late)}, count again: {text}"
    else:
        said = f"{target} between {when_of(early)} and {when_of(late)}, likely {when_of(likely)}: {text}"
    return Forecast(what, said, early, likely, late, is_own)


def when_of(day: int) -> str:
    """Return a day in words."""
    return day_month(date.fromordinal(day))
