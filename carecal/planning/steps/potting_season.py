"""When a plant may be potted besides warmth: months of light, heat, rest, quarantine, a place too dark."""

from __future__ import annotations

from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING

from carecal.horticulture.daylight import declination
from carecal.planning.places.climates import spans_where
from carecal.planning.places.weather import spells_of
from carecal.planning.rhythm.situations import situation_at
from carecal.planning.rhythm.terms import FULL
from carecal.planning.spans import Span, intersect, merge
from carecal.planning.steps.bridging import EQUATOR_DEG, dark_months
from carecal.planning.steps.case import Case, told

if TYPE_CHECKING:
    from carecal.planning.places.climates import PlaceAir
    from carecal.planning.plan_context import PlanContext

__all__ = ["held_back", "potting_season"]


def potting_season(case: Case, step: str) -> list[Span] | None:
    """Return the days on which potting may begin besides warmth: not in great heat; spring by the other side."""
    air = case.context.air(case.place, case.day)
    if air is None:
        return None
    cool = intersect(air.days_up_to(case.row(step).day_most_c), _light_months(case, air))
    after_bloom = case.state.flowering == "spent"
    if case.side("repot-season") != "a" or after_bloom or abs(case.context.facts.latitude) < EQUATOR_DEG:
        return cool
    spring = _spring(case.context.facts.latitude, air.origin, air.last)
    return intersect(cool, spans_where(spring, air.origin))


def held_back(case: Case) -> str:
    """Return what holds a repotting back besides flowers and season: quarantine, rest, a place too dark for roots."""
    holds = case.context.catalog.repot_holds
    if case.state.quarantine_since is not None:
        return f"in quarantine: no repotting until {holds['quarantine'].until}"
    stretches = case.plant_planner.stretches
    if stretches and situation_at(stretches, case.day).rest == FULL:
        return f"at rest: no repotting until {holds['rest'].until}"
    heat = holds["heat"]
    hot = [s.until for s in spells_of(case.state, case.context) if s.day_from_c >= (heat.over_c or 0)]
    waits = [until + int(heat.wait_days or 0) for until in hot if until < case.day]
    if waits and case.day <= max(waits):
        return f"after days of {heat.over_c:g} °C: no repotting before {told(max(waits) + 1)}"
    air, least = case.context.air(case.place, case.day), holds["dark-place"].under_mol
    if air is not None and least is not None and max(air.values("light_mol")) < least:
        return f"under {least:g} mol of light a day all year: no repotting until it has {holds['dark-place'].until}"
    return ""


def _light_months(case: Case, air: PlaceAir) -> list[Span]:
    """Return the days outside the dark months; those too where it stays warm and as light as in summer.

    Source: repot_holds.toml dark-months; light enough: our choice, because a lamp knows no winter.
    """
    container = case.state.container if case.state.container in case.context.catalog.containers else None
    key = "dark-months", container or "plastic"
    if key not in air.kept_spans:
        air.kept_spans[key] = _months_of(case.context, air, container or "plastic")
    return air.kept_spans[key]


def _months_of(context: PlanContext, air: PlaceAir, container: str) -> list[Span]:
    hold, dark = context.catalog.repot_holds["dark-months"], dark_months(context)
    if not dark:
        return [(air.origin, air.last)]
    days, light = air.values("day_c"), air.values("light_mol")
    medium = air.medium_ahead(container)
    bright = context.catalog.light_classes["suits"].from_mol
    warm_c, medium_c = hold.open_day_c or 0.0, hold.open_medium_c or 0.0
    warm = [days[at] >= warm_c and medium[at] >= medium_c and light[at] >= bright for at in range(len(days))]
    weeks = round(7 * (hold.open_weeks or 0))
    runs = [run for run in spans_where(warm, air.origin) if run[1] - run[0] + 1 >= weeks]
    free = [date.fromordinal(air.origin + at).month not in dark for at in range(len(days))]
    return merge([*spans_where(free, air.origin), *runs])


def _spring(latitude: float, first: int, last: int) -> list[bool]:
    """Return whether each day lies between the equinox of spring and midsummer, by the height of the sun."""
    sign = 1 if latitude >= 0 else -1
    heights = [
        sign * declination(date.fromordinal(day).timetuple().tm_yday) for day in range(first, last + 2)
    ]
    return [now >= 0 and after > now for now, after in pairwise(heights)]
