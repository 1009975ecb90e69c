"""Heat and cold at a place by readings, forecasts and normals: hot spells, and a medium too cold to drench.

Source: weather_limits.toml. Its numbers are those of Phalaenopsis; another kind has one limit, the most its profile
bears by day.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from carecal.planning.places.known_days import forecast_days
from carecal.planning.rhythm.terms import profile_of
from carecal.planning.spans import FOREVER, Span, merge

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from carecal.catalog.tables import Profile, WeatherLimit
    from carecal.collection.plants import PlantState
    from carecal.planning.plan_context import PlanContext

__all__ = [
    "AFTER",
    "Spell",
    "asks_after_heat",
    "cold_media",
    "day_high",
    "feed_spells",
    "heat_look_days",
    "is_medium_cold",
    "spell_on",
    "spells_of",
]

BEST_KNOWN = "phalaenopsis"  # the kind whose numbers stand in weather_limits.toml
AFTER = "after-heat"  # its row for the days after a spell
UNDER_K = 1.0  # our choice, because 31 and 32 °C lie so far apart: a spell is over so far under its limit [K]


class Spell(NamedTuple):
    """A hot spell at a place: its days (ordinals, the cooler ones that end it included), its limit and what it asks."""

    start: int
    until: int
    day_from_c: float
    row: WeatherLimit


def spells_of(state: PlantState, context: PlanContext) -> list[Spell]:
    """Return the hot spells of the place where a plant stands, by the limits of its kind, the mildest limit first."""
    place = state.place
    if place is None or place not in context.facts.places:
        return []
    profile = profile_of(state, context.catalog)
    key = place, profile.profile
    if key not in context.kept_spells:
        found: list[Spell] = []
        for row, begins, ends in _limits(profile, context.catalog.weather_limits):
            runs = _runs(_highs(place, context, begins), begins, ends, int(row.ends_days or 1))
            found.extend(Spell(start, until, begins, row) for start, until in runs)
        context.kept_spells[key] = found
    return context.kept_spells[key]


def spell_on(state: PlantState, day: int, context: PlanContext) -> Spell | None:
    """Return the hottest spell that holds a day where a plant stands, None without any."""
    held = [spell for spell in spells_of(state, context) if spell.start <= day <= spell.until]
    return max(held, key=lambda spell: spell.day_from_c, default=None)


def feed_spells(state: PlantState, context: PlanContext) -> list[Span]:
    """Return the spells in which nothing is fed where a plant stands."""
    return merge((s.start, s.until) for s in spells_of(state, context) if not s.row.feed_factor)


def heat_look_days(state: PlantState, day: int, context: PlanContext) -> int | None:
    """Return the days to the next look for a spell's sake: without roots daily in it, once a week after it. [d].

    Source: weather_limits.toml rootless_look_days, after_days.
    """
    for spell in spells_of(state, context):
        if spell.start <= day <= spell.until and state.stage == "rootless" and spell.row.rootless_look_days:
            return int(spell.row.rootless_look_days)
        after = int(context.catalog.weather_limits[AFTER].after_days or 0)
        if spell.until < day <= spell.until + after:
            return after
    return None


def asks_after_heat(state: PlantState, day: int, context: PlanContext) -> bool:
    """Return whether a look on a day asks for the pests that come after heat: mites and thrips."""
    after = int(context.catalog.weather_limits[AFTER].after_days or 0)
    return any(s.until + after <= day <= s.until + 3 * after for s in spells_of(state, context))


def day_high(context: PlanContext, place: str, day: int) -> float | None:
    """Return the highest temperature of a day at a place: as read, as forecast, else its normal. [°C]."""
    facts, air = context.facts.places.get(place), context.air(place, day)
    if facts is None or air is None or not air.origin <= day <= air.last:
        return None
    read, told = facts.readings.get(day), facts.forecasts.get(day)
    if read is not None and read.temp_max_c is not None:
        return read.temp_max_c
    if told is not None and told.day_c is not None:
        return told.day_c
    return air.at("day_c", day)


def cold_media(context: PlanContext, place: str, container: str, below_c: float) -> list[int]:
    """Return the days whose night a forecast puts so low that the medium falls under a limit.

    Args:
        context: Climate and forecasts.
        place: The place.
        container: What the medium is in.
        below_c: The limit. [°C]
    """
    found = []
    for day in sorted(context.facts.places[place].forecasts):
        air = context.air(place, day)
        known = forecast_days(context, air, place, context.as_of).get(day) if air is not None else None
        if air is not None and known is not None and known.medium_night(context, air, container) < below_c:
            found.append(day)
    return found


def is_medium_cold(state: PlantState, day: int, context: PlanContext) -> bool:
    """Return whether a plant's medium is under the night its kind is made for in the mean of a day.

    Source: HACKNEY: the temperature of the pot decides; the kind's own night by its profile.
    """
    place, container = state.place, state.container
    air = context.air(place, day)
    if place is None or air is None or container not in context.catalog.containers or container is None:
        return False
    limit = profile_of(state, context.catalog).night_min_c
    forecasts = context.facts.places[place].forecasts
    known = forecast_days(context, air, place, context.as_of).get(day) if day in forecasts else None
    if known is not None:
        return known.medium(context, air, container)[0] < limit
    return air.origin <= day <= air.last and air.medium(container)[0][day - air.origin] < limit


def _limits(
    profile: Profile, rows: Mapping[str, WeatherLimit]
) -> Iterator[tuple[WeatherLimit, float, float]]:
    """Yield the rows that hold for a kind, with the day that begins a spell and the one that ends it. [°C]."""
    hot = sorted(
        (row for row in rows.values() if row.day_from_c is not None), key=lambda row: row.day_from_c or 0.0
    )
    if profile.profile == BEST_KNOWN:
        yield from ((row, row.day_from_c or 0.0, row.ends_under_c or 0.0) for row in hot)
    elif hot:
        yield hot[-1], profile.day_max_c, profile.day_max_c - UNDER_K


def _highs(place: str, context: PlanContext, least_c: float) -> Iterator[tuple[int, float]]:
    """Yield the highest temperature of each day planned at a place, in order; none where no day is so hot. [°C]."""
    facts = context.facts.places[place]
    for spec, later in zip(facts.specs, [*facts.specs[1:], None], strict=True):
        air = context.air(place, spec.day)
        if air is None:
            continue
        first = spec.day if spec is not facts.specs[0] else air.origin
        last = min(air.last, later.day - 1 if later is not None else FOREVER)
        told = {day for day in (*facts.readings, *facts.forecasts) if first <= day <= last}
        if max(air.values("day_c")) < least_c and all(
            (day_high(context, place, d) or 0) < least_c for d in told
        ):
            continue
        for day in range(first, last + 1):
            high = day_high(context, place, day) if day in told else air.at("day_c", day)
            if high is not None:
                yield day, high


def _runs(highs: Iterator[tuple[int, float]], begins_c: float, ends_c: float, days: int) -> Iterator[Span]:
    """Yield the spells among days in order: from the first hot one to the last of so many cooler ones in a row."""
    start, cooler, last = None, 0, 0
    for day, high in highs:
        if start is None:
            if high >= begins_c:
                start, cooler = day, 0
        else:
            cooler = cooler + 1 if high < ends_c else 0
            if cooler >= days:
                yield start, day
                start = None
        last = day
    if start is not None:
        yield start, last
