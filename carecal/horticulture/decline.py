"""How a plant's firmness and leaves go down over weeks; what follows from it is for tables and rules to say."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["fall_within", "loss_within"]


def fall_within(scores: Sequence[tuple[int, int]], days: int, until: int) -> int:
    """Return by how many steps leaves went softer, at most, between two looks within some days [steps].

    Args:
        scores: Day of a look, as an ordinal, and its score, 0 firm to 3 folded; in the order of days. [d]
        days: Days up to and including `until` that count; the look before them is where they begin. [d]
        until: Last day that counts, as an ordinal.

    Returns:
        0 or more; a plant that went firmer again is judged by where it stands last.

    Source: our choice, because nobody measured firmness; the newest look decides against the firmest before it.
    """
    return -_change([(day, -score) for day, score in scores], days, until)


def loss_within(counts: Sequence[tuple[int, int]], days: int, until: int) -> int:
    """Return how many leaves went, at most, up to the newest count within some days [leaves].

    Args:
        counts: Day of a count, as an ordinal, and the leaves; in the order of days. [d]
        days: Days up to and including `until` that count; the count before them is where they begin. [d]
        until: Last day that counts, as an ordinal.

    Source: our choice, because new leaves hide lost ones and a count is all that is told.
    """
    return -_change(counts, days, until)


def _change(values: Sequence[tuple[int, int]], days: int, until: int) -> int:
    """Return the newest value less the highest before it within the days, 0 or less."""
    known = [(day, value) for day, value in values if day <= until]
    if not known:
        return 0
    begins = until - days
    before = [value for day, value in known if day <= begins][-1:]
    inside = [value for day, value in known if day > begins]
    if not inside:
        return 0
    return inside[-1] - max([*before, *inside])
