"""Sentences on a plant's rhythm: why so many days, and why they change on that day. It decides nothing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import TYPE_CHECKING

from carecal.wording.dates import day_month, day_text

if TYPE_CHECKING:
    from carecal.catalog.tables import RestWater

__all__ = [
    "NO_ROOM",
    "REPOTTED",
    "REST_NIGHTS",
    "SHOWN",
    "STARTS_AGAIN",
    "STOPS",
    "aids",
    "air",
    "air_change",
    "buds",
    "changed",
    "factor",
    "heard",
    "held",
    "light_change",
    "moved",
    "place_changed",
    "pot",
    "reference",
    "reservoir",
    "rest_water",
    "resting",
    "settling",
    "shown",
    "stage_now",
]

SHOWN = "what this plant has shown"
STARTS_AGAIN = "wetting starts again"
STOPS = {
    "cold": "no water from today, its medium is too cold by night",
    "rest": "no water from today, nights are too cold in its dry rest",
    "paused": "no water from today, watering is paused",
    "rot": "no water from today, for rot",
}
"""Why nothing is wetted from a day on, by the gap that begins."""
NO_ROOM = "its water alone is as salty as water and feed together may be: no feed"
REPOTTED = "repotted"
REST_NIGHTS = "other nights in its dry rest"
_FACTORS = {
    "profile": "its kind asks for",
    "settling": "settling in after potting",
    "resting": "its rest",
    "resting-half": "its rest, half-way back since nobody has said that it is over",
    "buds": "buds swell and must not dry",
    "wait-until-empty": "waiting until the reservoir is empty",
    "moss-nearly-dry": "moss left until it is nearly dry",
}
_AIR = {"night_c": ("nights", "°C"), "day_c": ("days", "°C"), "rh_pct": ("humidity", "%")}
_BARE = frozenset({"mount", "bag"})
_ALIKE = (0.95, 1.05)  # our choice, because one part in twenty is not seen in a pot [-]


def changed(days: int, former: int, since: date, because: str) -> str:
    """Return that a rhythm changed: new days, since when, former days and why."""
    text = f"every {_days(days)} from {day_month(since)}, was {_days(former)}"
    return f"{text}: {because}" if because else text


def reference(stands: tuple[str | None, str | None, float | None] | None, days: float) -> str:
    """Return the days of a pot in a room; medium, container and size [cm], or None for a bare surface."""
    what = "a bare surface" if stands is None else pot(*stands)
    return f"{what}: {days:.3g} days in a room at 21 °C and 50 %"


def air(place: str, means: Sequence[float], demand: float) -> str:
    """Return the air of a place and how fast a pot dries in it.

    Args:
        place: Its name.
        means: Day and night temperature [°C], humidity [%], light [mol/m²/d].
        demand: Drying against that of the room. [-]
    """
    pace = "as fast as there" if _ALIKE[0] <= demand <= _ALIKE[1] else f"{demand:.2f} times as fast as there"
    return (
        f"{place}: {means[0]:.0f} °C by day, {means[1]:.0f} °C by night, {means[2]:.0f} % humidity, "
        f"{means[3]:.1f} mol of light a day: dries {pace}"
    )


def factor(code: str, value: float) -> str:
    """Return what a term of the interval contributes."""
    if code.startswith("stage-"):
        text = f"stage {code.removeprefix('stage-')}"
    elif code.startswith("aid-"):
        text = f"with {code.removeprefix('aid-')}"
    else:
        text = _FACTORS.get(code, code)
    return f"{text}: ×{value:g}"


def shown(value: float) -> str:
    """Return the plant's own factor."""
    return f"{SHOWN}: ×{value:.2f}"


def heard(felt: str | None, weight_g: float | None, on: date, *, is_own: bool) -> str:
    """Return the answer that moved a plant's own pace, as 'you felt it damp on 12 November'; weight in g."""
    if felt is None:
        return f"it weighed {weight_g:g} g on {day_text(on)}"
    return f"{'you felt it' if is_own else 'it was felt'} {felt} on {day_text(on)}"


def held(bound: str, days: float) -> str:
    """Return that an interval is held at its floor or ceiling. [d]."""
    return f"held at {bound}: {days:g} days"


def pot(medium: str | None, container: str | None, size_cm: float | None) -> str:
    """Return what a plant stands in, as 'bark in a 12 cm plastic pot'."""
    if container in _BARE:
        return f"{medium} in a {container}"
    size = f"{size_cm:g} cm " if size_cm else ""
    return f"{medium} in {article(size)} {size}{container} pot"


def article(size: str) -> str:
    """Return 'an' before 8, 11, 18 and 80 to 89, as they are spoken, else 'a'."""
    whole = size.partition(" ")[0].partition(".")[0]
    return "an" if whole in {"11", "18"} or whole.startswith("8") else "a"


def moved(place: str | None) -> str:
    """Return that a plant stands elsewhere now."""
    return f"moved to {(place or 'nowhere').replace('-', ' ')}"


def stage_now(stage: str | None) -> str:
    """Return the stage that a plant has reached."""
    return f"now {stage}"


def settling(begins: bool) -> str:
    """Return that settling in begins or is over."""
    return "settling in" if begins else "settled"


def resting(rest: str) -> str:
    """Return that a rest begins ('full'), is over (''), or that water is half-way back as nobody has said so."""
    if rest == "half":
        return "nobody has said whether its rest is over, so water is half-way back"
    return "its rest begins" if rest else "its rest is over"


def rest_water(row: RestWater) -> str:
    """Return what a dry rest gives at these nights, as 'nights of 10 °C and more: a little every 10 to 15 days'."""
    every = (
        f"every {row.again_days_low} to {row.again_days_high} days"
        if row.again_days_low and row.again_days_high
        else "when it is dry"
    )
    amount = "a little water" if row.amount == "light" else "very little water"
    return (
        f"dry rest, nights of {row.night_from_c:g} °C and more: {amount} {every}, against shrivelling alone"
    )


def buds(*, begins: bool) -> str:
    """Return that buds begin to swell, or no longer do."""
    return "buds swell" if begins else "no more buds"


def reservoir(state: str) -> str:
    """Return how a reservoir stands."""
    return f"reservoir {state}"


def aids(names: Iterable[str]) -> str:
    """Return the aids in use."""
    return f"aids: {', '.join(sorted(names)) or 'none'}"


def place_changed(place: str) -> str:
    """Return that something about a place changed."""
    return f"{place} changed"


def air_change(name: str, before: int, after: int) -> str:
    """Return a change of temperature or humidity."""
    word, unit = _AIR[name]
    return f"{word} {before} → {after} {unit}"


def light_change(before: float, after: float) -> str:
    """Return a change of the day's light. [mol/m²/d]."""
    return f"light {before:.1f} → {after:.1f} mol a day"


def _days(days: int) -> str:
    return "day" if days == 1 else f"{days} days"
