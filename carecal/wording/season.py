"""Sentences on the season: a rest and its signs, cold and heat. It decides nothing."""

from __future__ import annotations

from datetime import date

from carecal.wording.dates import day_month

__all__ = ["heat_bars", "rest_question"]


def rest_question(sign: str, half_from: date | None) -> str:
    """Return what a look asks of a plant at rest.

    Args:
        sign: What ends it, as the profile says it.
        half_from: The day from which its water is half-way back where nobody answers; None: too early to say.
    """
    half = (
        f"; unanswered, its water goes half-way back on {day_month(half_from)}"
        if half_from is not None
        else ""
    )
    return f"is its rest over ({sign})? say over or goes on{half}"


def heat_bars(day_from_c: float, until: date) -> str:
    """Return that a step waits for the end of a hot spell."""
    return f"days of {day_from_c:g} °C and more: waits until it is cooler, not before {day_month(until)}"
