"""Sentences on the season: a rest and its signs, cold and heat. It decides nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from carecal.wording.dates import day_month, day_text

__all__ = [
    "bridge_asks",
    "cold_line",
    "degrees",
    "heat_bars",
    "heat_line",
    "held_text",
    "lent_text",
    "little_water",
    "ratio_text",
    "rest_begins_question",
    "rest_question",
    "rest_text",
    "still_wet_text",
]


def degrees(temp_c: float, units: str = "metric") -> str:
    """Return a temperature in the units of the collection, as '4.9 °C'."""
    return f"{temp_c * 9 / 5 + 32:.0f} °F" if units == "imperial" else f"{round(temp_c, 1):g} °C"


def rest_question(sign: str, half_from: date | None, *, is_half: bool = False) -> str:
    """Return what a look asks of a plant at rest.

    Args:
        sign: What ends it, as the profile says it.
        half_from: The day from which its water is half-way back where nobody answers; None: too early to say.
        is_half: Whether that day has come.
    """
    half = ""
    if half_from is not None:
        since = "has been half-way back since" if is_half else "goes half-way back on"
        half = f"; unanswered, its water {since} {day_text(half_from)}"
    return f"is its rest over ({sign})? say over or goes on{half}"


def rest_begins_question(sign: str) -> str:
    """Return what a look asks some weeks before the usual month of a rest."""
    return f"has its rest begun ({sign})? say begun if it has"


def rest_text(since: date, sign: str, half_from: date | None, *, is_half: bool, dries: bool) -> str:
    """Return how a plant rests: since when, what ends it, and what silence does.

    Args:
        since: First day of the rest.
        sign: What ends it, as the profile says it.
        half_from: The day from which its water is half-way back unanswered; None where a month ends it.
        is_half: Whether that day has come.
        dries: Whether it gets less water in its rest at all.
    """
    text = f"rests since {day_month(since)}, until the plant shows it is over: {sign}"
    if half_from is None:
        return f"rests since {day_month(since)}, until the usual months are over"
    if not dries:
        return text
    if is_half:
        return f"{text}; nobody has said so, so water has been half-way back since {day_month(half_from)}"
    return f"{text}; if nobody says so, water goes half-way back on {day_month(half_from)}"


def cold_line(row: Mapping[str, Any], on: date, today: date, units: str = "metric") -> str:
    """Return what a cold night asks of a plant, with the numbers.

    Args:
        row: The plant under a limit: name, place, night_c, medium_c, limit_c [°C], text.
        on: Day on which the night begins.
        today: The day it is said on.
        units: Of the collection.
    """
    when = "tonight" if on == today else f"in the night of {day_text(on)}"
    return (
        f"{row['name']} at {row['place']}: {row['text']}. Air {degrees(row['night_c'], units)} {when}, medium "
        f"{degrees(row['medium_c'], units)}; its limit is {degrees(row['limit_c'], units)}"
    )


def heat_line(row: Mapping[str, Any], units: str = "metric") -> str:
    """Return what a hot day asks at a place, with the number and the plants."""
    when = "today" if row["is_today"] else day_text(date.fromisoformat(row["on"]))
    high, names = degrees(row["high_c"], units), ", ".join(row["names"])
    return f"Heat at {row['place']}, {high} {when}: {row['does']}. For {names}"


def lent_text(place: str) -> str:
    """Return that a plant is lent, and that nothing is planned for it meanwhile."""
    return (
        f"lent: it stands at {place}, where nothing is known of the air; nothing is planned until it is back"
    )


def heat_bars(day_from_c: float, until: date) -> str:
    """Return that a step waits for the end of a hot spell."""
    return f"days of {day_from_c:g} °C and more: waits until it is cooler, not before {day_month(until)}"


def held_text(why: str, days: Sequence[date | None], limit_c: float, mild_c: float, *, is_now: bool) -> str:
    """Return that water is held back, until when, and what does no harm meanwhile.

    Args:
        why: 'cold' or 'rest'.
        days: First and last day of it; the last is None where it lasts as long as the plan.
        limit_c: The night under which nothing is wetted. [°C]
        mild_c: A day mild enough for a little water. [°C]
        is_now: Whether it holds today.
    """
    first, last = days
    until = f" until {day_month(last)}" if last is not None else ""
    begun = (
        "No water now" if is_now else f"No water from {day_month(first)}" if first is not None else "No water"
    )
    if why == "rest":
        nights = f"nights under {limit_c:g} °C in its dry rest"
        return f"{begun}{until}: {nights}; once it shrivels, one wetting about noon, no feed"
    cold = f"its medium falls under {limit_c:g} °C at night, and cold and wet together rot roots"
    return (
        f"{begun}{until}: {cold}; on a day of {mild_c:g} °C and more a little tepid water about noon is safe"
    )


def little_water(name: str, place: str | None, why: str) -> str:
    """Return the offer of a careful little water to a plant whose wetting is held back."""
    where = f" at {place}" if place else ""
    if why == "rest":
        return f"{name}{where} has shrivelled in its cold rest: one wetting about noon on a mild day, no feed"
    return (
        f"{name}{where} is held back for the cold and has dried, and today is mild: a little tepid water at the edge "
        "about noon, none of it running out"
    )


def bridge_asks(*, is_seen: bool, wet_days: float | None) -> str:
    """Return what a look asks of a plant whose old medium is bridged to the spring.

    Args:
        is_seen: Whether roots are seen through the wall.
        wet_days: From when a medium counts as wet for too long; None: by its intervals. [d]
    """
    wet = f", wet after {wet_days:g} days" if wet_days is not None else ", wet for too long"
    wall = "brown roots at the wall, " if is_seen else ""
    return f"old medium, let it dry further: {wall}a sour smell{wet}?"


def still_wet_text(medium: str, days: int) -> str:
    """Return that an old medium stays wet in the dark months, which is an emergency."""
    return (
        f"old {medium.replace('-', ' ')} still damp {days} days after water: changed now, whatever the season"
    )


def ratio_text(value: float, room: str, low: float, high: float) -> str:
    """Return how winter's days compare with summer's, beside what growers see in such a room."""
    return (
        f"winter takes {value:.1f} times the days of summer; growers see {low:g} to {high:g} in a {room} room"
    )
