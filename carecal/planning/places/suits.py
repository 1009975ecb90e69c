"""Whether a place suits a kind of orchid: normals outside what its profile asks for, by month (models W5)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.horticulture.daylight import daily_light
from carecal.wording.dates import MONTHS

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from carecal.catalog.tables import Profile
    from carecal.horticulture.climate import MonthlyClimate

__all__ = ["MONTHS", "months_text", "unsuitable"]

LIGHT_HOURS = 12  # models W5: a PPFD counts over 12 h [h]


def unsuitable(profile: Profile, normals: MonthlyClimate) -> list[str]:
    """Return what does not suit, one line a quantity with its months and values; none where all does.

    Args:
        profile: What the plant's kind asks for.
        normals: Monthly means of the place.

    Source: our choice, because the twelve means tell a grower enough to choose a place (models W5).
    """
    dark, bright = (daily_light(ppfd, LIGHT_HOURS) for ppfd in (profile.ppfd_low, profile.ppfd_high))
    checks = (
        ("nights", "under", normals.night_c, profile.night_low_c, "°C"),
        ("days", "over", normals.day_c, profile.day_high_c, "°C"),
        ("light", "under", normals.light_mol, dark, "mol a day"),
        ("light", "over", normals.light_mol, bright, "mol a day"),
        ("humidity", "under", normals.rh_pct, profile.rh_low, "%"),
        ("humidity", "over", normals.rh_pct, profile.rh_high, "%"),
    )
    return [line for check in checks if (line := _line(*check))]


def _line(what: str, side: str, values: Sequence[float], limit: float, unit: str) -> str:
    months = [i for i, value in enumerate(values) if (value < limit if side == "under" else value > limit)]
    if not months:
        return ""
    seen = [values[i] for i in months]
    span = " to ".join(dict.fromkeys(f"{value:.3g}" for value in (min(seen), max(seen))))
    return f"{what} {side} {limit:.3g} {unit} in {months_text(months)} ({span})"


def months_text(months: Iterable[int]) -> str:
    """Return months in words, runs joined across the turn of the year: 'November to February and June'.

    Args:
        months: 0 is January.
    """
    found = sorted(set(months))
    if len(found) == len(MONTHS):
        return "all months"
    runs: list[list[int]] = []
    for month in found:
        if runs and month == runs[-1][-1] + 1:
            runs[-1].append(month)
        else:
            runs.append([month])
    if len(runs) > 1 and runs[0][0] == 0 and runs[-1][-1] == len(MONTHS) - 1:
        runs[0] = runs.pop() + runs[0]
    return " and ".join(" to ".join(dict.fromkeys((MONTHS[run[0]], MONTHS[run[-1]]))) for run in runs)
