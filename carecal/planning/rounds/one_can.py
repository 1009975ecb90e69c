"""One can a round: which strength of feed it holds, who gets it, whose feed waits; it knows no plant, no table."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

__all__ = ["Asked", "alike", "mixed_on", "one_strength"]

MOST_APART = 2.0  # our choice, because feeds are cut to half anyway where something holds them back


class Asked(NamedTuple):
    """What a plant's own plan asks of the can on a day; made of plain values.

    Attributes:
        on: The care day, as ISO text.
        task: Id of the wetting.
        plant: Number of the plant.
        ppm_n: Strength of its feed; None: plain water. [mg/L of N]
        could_ppm_n: Strength it would be fed at if the feed before it had waited; None: not. [mg/L of N]
        since: Day since which its feed waits, as ISO text; '' where none waits.
        is_given: Whether it was answered on that day already, so that the can was mixed with it.
    """

    on: str
    task: str
    plant: int
    ppm_n: float | None
    could_ppm_n: float | None = None
    since: str = ""
    is_given: bool = False


def alike(strengths: Iterable[float], first: float | None = None) -> float:
    """Return the strength that one can holds: the lowest within a factor of two of who is first in line.

    Args:
        strengths: What is asked for. [mg/L of N]
        first: What is asked for by who has waited longest; None: nobody has. [mg/L of N]
    """
    asked = sorted(strengths)
    return asked[0] if first is None else next(ppm for ppm in asked if ppm * MOST_APART >= first)


def one_strength(asked: Iterable[Asked]) -> dict[str, float | None]:
    """Return the wettings that are not as their plant's own plan asks: their strength, or None for plain water.

    Day by day one strength is mixed. Who asks for more than twice of it, or for less, takes plain water; the feed waits
    for the plant's next wetting that may carry it, and then its strength goes first. [mg/L of N].
    """
    found: dict[str, float | None] = {}
    waiting: dict[int, str] = {}
    ordered = sorted(asked, key=lambda each: (each.on, each.task))
    for on, of_day in groupby(ordered, key=lambda each: each.on):
        wanted = [row for row in (_wanted(each, waiting) for each in of_day) if row is not None]
        if not wanted:
            continue
        strength = _mixed(wanted)
        for each, ppm, since in wanted:
            if each.is_given:
                continue
            if strength <= ppm <= strength * MOST_APART:
                waiting.pop(each.plant, None)
                if each.ppm_n != strength:
                    found[each.task] = strength
            else:
                waiting[each.plant] = since or on
                if each.ppm_n is not None:
                    found[each.task] = None
    return found


def mixed_on(asked: Iterable[Asked], on: str) -> float | None:
    """Return the strength of the one can of the first day that is asked about; None: no feed is mixed. [mg/L of N].

    Args:
        asked: What is asked of the can.
        on: The day, as ISO text; no feed asked for before it waits.
    """
    wanted = [row for row in (_wanted(each, {}) for each in asked if each.on == on) if row is not None]
    return _mixed(wanted) if wanted else None


def _mixed(wanted: Sequence[tuple[Asked, float, str]]) -> float:
    """Return the strength of a day's can from what is asked of it. [mg/L of N]."""
    waits = sorted((since, ppm, each.task) for each, ppm, since in wanted if since)
    return alike((ppm for _, ppm, _ in wanted), waits[0][1] if waits else None)


def _wanted(each: Asked, waiting: Mapping[int, str]) -> tuple[Asked, float, str] | None:
    """Return what is asked of the can with its strength and since when it waits; None for plain water."""
    since = waiting.get(each.plant, "")
    ppm = each.ppm_n if each.ppm_n is not None or not since else each.could_ppm_n
    return (each, ppm, since or each.since) if ppm is not None else None
