"""Spans of whole days, both ends included, as ordinals: unions, intersections, gaps. Knows nothing of plants."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from datetime import date
from functools import lru_cache

__all__ = [
    "FOREVER",
    "WEEKDAYS",
    "Span",
    "covers",
    "cut",
    "day_of",
    "intersect",
    "invert",
    "merge",
    "next_covered",
    "run_end",
]

Span = tuple[int, int]
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
FOREVER = 3_652_059  # the ordinal of 31 December 9999


@lru_cache(maxsize=4096)  # tasks name the same days over and over; a date of their own each takes memory
def day_of(ordinal: int) -> date:
    """Return the date of a day."""
    return date.fromordinal(ordinal)


def merge(spans: Iterable[Span]) -> list[Span]:
    """Return the union as disjoint spans in order; touching spans become one."""
    merged: list[Span] = []
    for start, until in sorted(span for span in spans if span[0] <= span[1]):
        if merged and start <= merged[-1][1] + 1:
            merged[-1] = (merged[-1][0], max(merged[-1][1], until))
        else:
            merged.append((start, until))
    return merged


def intersect(one: Sequence[Span], other: Sequence[Span]) -> list[Span]:
    """Return the days that both hold; both must be disjoint and in order."""
    found, i, j = [], 0, 0
    while i < len(one) and j < len(other):
        start, until = max(one[i][0], other[j][0]), min(one[i][1], other[j][1])
        if start <= until:
            found.append((start, until))
        if one[i][1] < other[j][1]:
            i += 1
        else:
            j += 1
    return found


def invert(spans: Sequence[Span], first: int, last: int) -> list[Span]:
    """Return the days from first to last that no span holds."""
    found, day = [], first
    for start, until in spans:
        if start > last:
            break
        if start > day:
            found.append((day, start - 1))
        day = max(day, until + 1)
    if day <= last:
        found.append((day, last))
    return found


def cut(spans: Sequence[Span], first: int, last: int) -> list[Span]:
    """Return the spans limited to the days from first to last."""
    return [(max(a, first), min(b, last)) for a, b in spans if a <= last and b >= first]


def covers(spans: Sequence[Span], day: int) -> bool:
    """Return whether a day lies in one of the disjoint spans in order."""
    at = bisect_right(spans, (day, FOREVER)) - 1
    return at >= 0 and spans[at][0] <= day <= spans[at][1]


def next_covered(spans: Sequence[Span], day: int) -> int | None:
    """Return the first day from `day` on that a span holds, or None."""
    return next((max(a, day) for a, b in spans if b >= day), None)


def run_end(spans: Sequence[Span], day: int) -> int | None:
    """Return the last day of the span that holds `day`, or None."""
    return next((b for a, b in spans if a <= day <= b), None)
