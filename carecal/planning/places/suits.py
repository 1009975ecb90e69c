"""Whether a place suits a kind of orchid: normals outside what its profile asks for, by month (models W5)."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from carecal.horticulture.daylight import daily_light
from carecal.horticulture.rounding import significant
from carecal.planning.rhythm.resting import rest_months
from carecal.planning.spans import cut, merge
from carecal.wording.dates import MONTHS

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Sequence

    from carecal.catalog.tables import Catalog, Profile
    from carecal.horticulture.climate import MonthlyClimate

__all__ = ["MONTHS", "cool_months", "least_spike_mol", "months_text", "noon_mol", "unsuitable"]

BORNE_PCT = 5.0  # our choice, because a hygrometer of the house tells no closer [% humidity]
BORNE_K = 3.0  # our choice, because a few degrees more by night harm no kind [K]
NOON_HOURS = 12.0  # our choice, because a figure of noon in a greenhouse holds for half a day [h]
BEST_MONTHS = 6  # our choice, because a plant lives through the dark half of the year on the light one


def unsuitable(
    profile: Profile, normals: MonthlyClimate, resting: Collection[int] = (), yardstick: str = "b"
) -> list[str]:
    """Return what does not suit, one line a quantity with its months and values; none where all does.

    Args:
        profile: What the plant's kind asks for.
        normals: Monthly means of the place.
        resting: Months in which cold nights are those of its rest, 0 is January.
        yardstick: The side taken of light-yardstick.

    Light is judged by the mean of the six brightest months, as the day's light at the leaf.

    Source: our choice, because the twelve means tell a grower enough to choose a place (models W5); light: KONOW2001
    and PAMAB-LIGHT by the profile's light_mol columns.
    """
    nights = [
        profile.night_low_c if month in resting and night >= profile.urgent_below_c else night
        for month, night in enumerate(normals.night_c)
    ]
    checks = (
        ("nights", "under", nights, profile.night_low_c, "°C", 0.0),
        ("days", "over", normals.day_c, profile.day_high_c, "°C", 0.0),
        ("humidity", "under", normals.rh_pct, profile.rh_low, "%", BORNE_PCT),
        ("humidity", "over", normals.rh_pct, profile.rh_high, "%", BORNE_PCT),
    )
    found = [line for check in checks if (line := _line(*check))]
    return [*found, *_halves(profile, normals), *_light(profile, normals.light_mol, yardstick)]


def _halves(profile: Profile, normals: MonthlyClimate) -> list[str]:
    """Return whether the warm half of the year is too cool by day, or the cool half too warm by night. [°C].

    Source: our choice, because a kind bears a season beside what it asks for, not a year.
    """
    warm = significant(sum(sorted(normals.day_c)[-BEST_MONTHS:]) / BEST_MONTHS)
    cool = significant(sum(sorted(normals.night_c)[:BEST_MONTHS]) / BEST_MONTHS)
    found = []
    if warm < profile.day_low_c:
        found.append(f"days under {profile.day_low_c:.3g} °C in the warm half of the year ({warm:.3g})")
    if cool > profile.night_high_c + BORNE_K:
        found.append(f"nights over {profile.night_high_c:.3g} °C in the cool half of the year ({cool:.3g})")
    return found


def cool_months(profile: Profile, latitude: float, catalog: Catalog) -> frozenset[int]:
    """Return the months of a dry rest whose cold nights belong to it, 0 is January; none for other kinds."""
    if not any(row.profile == profile.profile for row in catalog.rest_waters.values()):
        return frozenset()
    first, last = (date(2001, 1, 1).toordinal(), date(2001, 12, 31).toordinal())
    spans = cut(merge(rest_months(profile, latitude, first, last)), first, last)
    return frozenset(date.fromordinal(day).month - 1 for a, b in spans for day in range(a, b + 1))


def noon_mol(ppfd: float) -> float:
    """Return the day's light of a greenhouse whose noon is so bright [mol/m²/d].

    Args:
        ppfd: Light at noon. [µmol/m²/s]

    Source: our choice, because half a day of it is what the figure was read as (side a of light-yardstick).
    """
    return daily_light(ppfd, NOON_HOURS)


def least_spike_mol(profile: Profile, yardstick: str) -> float | None:
    """Return the least daily light for a spike by the side taken, None for a kind without one. [mol/m²/d]."""
    if profile.spike_light_mol is None or yardstick == "b":
        return profile.spike_light_mol
    return noon_mol(profile.ppfd_low)


def _light(profile: Profile, light_mol: Sequence[float], yardstick: str) -> list[str]:
    """Return whether the best half of the year is too dark or too bright, at most one line. [mol/m²/d]."""
    best = significant(sum(sorted(light_mol)[-BEST_MONTHS:]) / BEST_MONTHS)
    low = profile.light_mol_unfit if profile.light_mol_unfit is not None else profile.light_mol_low
    high = profile.light_mol_high
    if yardstick == "a" and profile.spike_light_mol is not None:
        low, high = noon_mol(profile.ppfd_low), noon_mol(profile.ppfd_high)
    if low is not None and best < low:
        return [f"light under {low:.3g} mol a day in the best half of the year ({best:.3g})"]
    if high is not None and best > high:
        return [f"light over {high:.3g} mol a day in the best half of the year ({best:.3g})"]
    return []


def _line(what: str, side: str, values: Sequence[float], limit: float, unit: str, borne: float) -> str:
    """Return the months beyond a limit, if one of them is beyond it by more than is borne; else nothing."""
    months = [i for i, value in enumerate(values) if (value < limit if side == "under" else value > limit)]
    if not any(abs(values[i] - limit) > borne for i in months):
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
