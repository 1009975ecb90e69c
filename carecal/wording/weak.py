"""Sentences on the weak: looks at a wrap, what its place lacks, losing ground, what to try. It decides nothing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from carecal.wording.dates import day_text

__all__ = [
    "FLOWERS_OVER",
    "IN_BUD",
    "LEVELS",
    "ROOTS_WAIT",
    "alone_text",
    "fault_text",
    "going_on_text",
    "hands_off_text",
    "hazard_text",
    "losing_text",
    "over_text",
    "reservoir_text",
    "try_text",
    "usual_text",
    "wrap_asks",
]

LEVELS = {"warning": "losing a little", "losing": "losing ground", "go-on": "losing ground; go on with it?"}
"""Each level of losing_ground.toml as a mark on lists."""
ROOTS_WAIT, IN_BUD, FLOWERS_OVER = "roots wait for a better place", "in bud", "flowers taken as over"


def wrap_asks(
    air_minutes: float,
    stops: Sequence[str],
    *,
    damp: str,
    root: bool,
    remark: str = "",
    is_opened: bool = False,
) -> str:
    """Return what a look at a plant without roots does and asks, shortest first.

    Args:
        air_minutes: How long the wrap stands open. [min]
        stops: Signs at which it is taken out at once.
        damp: Whether its moss 'may' or 'must' have paled by now; '' for neither.
        root: Whether a new root is looked for by now.
        remark: What is said after so long without a root; '' for nothing.
        is_opened: Whether it is opened by stages or waits for that, so that no minutes are named.
    """
    parts = ["air it"] if is_opened else [f"open for {air_minutes:g} minutes"] if air_minutes else []
    parts += [{"may": "moss pale? damp it again", "must": "damp its moss again"}[damp]] if damp else []
    parts += ["a new root? its length in mm and the tips"] if root else []
    parts += [remark] if remark else []
    signs = f"{', '.join(stops[:-1])} or {stops[-1]}" if len(stops) > 1 else "".join(stops)
    return "; ".join([*parts, f"out at once for {signs}" if air_minutes or is_opened else f"{signs}?"])


def fault_text(gate: str, value: float, low: float, high: float, ppfd: float, place: str) -> str:
    """Return what a place lacks for roots to come, with its numbers."""
    shown = f"{value:.1f}".removesuffix(".0")
    return {
        "day": f"days of {shown} °C at {place}, roots ask for {low:g} to {high:g}",
        "night": f"nights of {shown} °C at {place}, roots ask for {low:g} and more",
        "dark": f"{shown} mol of light a day at {place}, a leaf without roots asks for {low:g} to {high:g}",
        "bright": f"{shown} mol of light a day at {place}, in a wrap or without roots {high:g} at most"
        f" ({ppfd:g} µmol/m²/s by a meter) and never sun",
    }[gate]


def losing_text(
    reasons: Iterable[str], trying: str, until: date | None, *, worth: str, is_asked: bool
) -> str:
    """Return a plant's loss of ground in whole sentences: why, what is tried, what is worth trying.

    Args:
        reasons: What was told of it.
        trying: What is being tried; '' for nothing.
        until: Last day on which nothing else is tried.
        worth: What is worth trying next; '' where all was tried.
        is_asked: Whether the grower is asked to go on or not.
    """
    parts = ["; ".join(reasons)]
    if is_asked:
        parts.append("go on with it, or give it up? That is yours to say")
    if trying and until is not None:
        parts.append(f"being tried: {trying}; nothing else before {day_text(until)}")
    elif worth:
        parts.append(f"worth trying: {worth}. One thing at a time; feed is no remedy")
    else:
        parts.append("all that is worth trying was tried: give it time")
    return " ".join(f"{part[:1].upper()}{part[1:]}." for part in parts if part)


def try_text(does: str, low: float | None, high: float | None) -> str:
    """Return what is worth trying, with the day's light it aims at, if any. [mol m⁻² d⁻¹]."""
    return does if low is None or high is None else f"{does}: {low:g} to {high:g} mol a day"


def reservoir_text() -> str:
    """Return why a wrapped plant goes over no reservoir."""
    return "wrapped: no reservoir before it stands in the open"


def hazard_text(value: str, says: str) -> str:
    """Return what of a place makes buds drop: its value, then what to do."""
    return f"{value}: {says}"


def over_text(since: date) -> str:
    """Return that flowers were taken as over because nobody said how they fared."""
    return (
        f"nobody said how its flowers fared: since {day_text(since)} they count as over; if they last, say so"
    )


def going_on_text(name: str) -> str:
    """Return the question whether a plant is gone on with."""
    return f"go on with {name}, or give it up? Only you decide"


def alone_text(name: str) -> str:
    """Return that a plant which loses ground is not to be left alone for days."""
    return f"{name} will not keep: it is losing ground; ask a sitter to look at it"


def hands_off_text(name: str) -> str:
    """Return what a sitter is told of a plant that loses ground."""
    return f"Do not try anything new on {name}: it is losing ground. Write down what looks worse."


def usual_text(first: date, last: date) -> str:
    """Return when new roots usually show."""
    return f"new roots usually show between {day_text(first)} and {day_text(last)}"
