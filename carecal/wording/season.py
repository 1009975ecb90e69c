"""Sentences on the season: a rest and its signs, cold and heat. It decides nothing."""

from __future__ import annotations

from datetime import date

from carecal.wording.dates import day_month

__all__ = ["rest_question"]


def rest_question(sign: str, half_from: date | None) -> str:
    """Return what a look asks of a plant at rest.

    Args:
        sign: What ends it, as the profile says it.
        half_from: The day from which its water is half-way back where nobody answers; None: too early to say.
    """
    half = f"; unanswered, its water goes half-way back on {day_month(half_from)}" if half_from is not None else ""
    return f"is its rest over ({sign})? say over or goes on{half}"
