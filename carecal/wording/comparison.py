"""Words of a comparison of pots: seasons of a hemisphere, names of pairs, why one stands before another."""

from __future__ import annotations

from calendar import monthrange
from datetime import date
from typing import TYPE_CHECKING

from carecal.wording.dates import MONTHS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from carecal.plan.pair_row import PairRow

__all__ = ["pair_name", "reason_of", "seasons_of"]

QUARTERS = ((12, 2), (3, 5), (6, 8), (9, 11))
NORTH = ("winter", "spring", "summer", "autumn")
EQUATOR_DEG = 10.0  # design §3 rule 17: no seasons within it
TELLING_C = 0.3  # our choice, because less is not felt [K]
WISHES = {
    "rootless": "without roots it needs the moistest air",
    "new-tips": "short tips need the medium that stays evenly moist longest",
    "rooting-in": "roots follow a medium that comes near dryness in about a week",
    "established": "with its roots it may dry slowly, and is looked after least often",
}


def seasons_of(latitude: float, day: int) -> list[tuple[str, int, int]]:
    """Return name, first and last day of the four quarters that begin with the one of a day.

    Args:
        latitude: North positive; the south's are named by its own seasons, near the equator by months. [degrees]
        day: The day (ordinal).
    """
    when, found = date.fromordinal(day), []
    start = next(index for index, (a, _) in enumerate(QUARTERS) if (when.month - a) % 12 < 3)
    year = when.year - (when.month < QUARTERS[start][0])
    for step in range(4):
        index = (start + step) % 4
        first_month, last_month = QUARTERS[index]
        begins = date(year, first_month, 1)
        ends_in = year + (last_month < first_month)
        ends = date(ends_in, last_month, monthrange(ends_in, last_month)[1])
        found.append((_season(latitude, index), begins.toordinal(), ends.toordinal()))
        year += first_month == 12
    return found


def pair_name(row: PairRow) -> str:
    """Return a pair in words: bark in a plastic pot."""
    container = row.container.replace("-", " ")
    pot = f"a {container}" if row.container in {"bag", "mount"} else f"a {container} pot"
    return f"bare roots on {pot}" if row.medium == "none" else f"{row.medium.replace('-', ' ')} in {pot}"


def reason_of(row: PairRow, rows: Sequence[PairRow], stage: str | None) -> str:
    """Return why a pair stands where it does, against the best one."""
    best = rows[0]
    if row.why_not and not row.is_present:
        return row.why_not
    if row.safe == "never":
        return f"{pair_name(row)} never stays warm enough for a change here"
    if row is best:
        other = max(rows, key=lambda each: each.under_c)
        warmer = row.coldest_c - other.coldest_c
        if warmer >= TELLING_C:
            month = MONTHS[other.coldest_on.month - 1]
            return f"{pair_name(row)} stays {warmer:.1f} °C warmer than {pair_name(other)} in {month}"
        return WISHES.get(stage or "", "it suits its stage")
    colder = best.coldest_c - row.coldest_c
    if colder >= TELLING_C:
        month = MONTHS[row.coldest_on.month - 1]
        return f"{colder:.1f} °C colder than {pair_name(best)} in {month}"
    return _by_days(row, best)


def _by_days(row: PairRow, best: PairRow) -> str:
    mine, others = dict(row.days), dict(best.days)
    gaps = [(mine[name] - others[name], name) for name in mine if name in others]
    if not gaps:
        return f"as warm as {pair_name(best)}"
    gap, season = max(gaps, key=lambda each: abs(each[0]))
    if gap == 0:
        return f"as warm as {pair_name(best)} and dries alike"
    word = "earlier" if gap < 0 else "later"
    days = "day" if abs(gap) == 1 else "days"
    return f"as warm as {pair_name(best)}, in {season} due {abs(gap)} {days} {word}"


def _season(latitude: float, index: int) -> str:
    if abs(latitude) < EQUATOR_DEG:
        first, last = QUARTERS[index]
        return f"{MONTHS[first - 1]} to {MONTHS[last - 1]}"
    return NORTH[index] if latitude > 0 else NORTH[(index + 2) % 4]
