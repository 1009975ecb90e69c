"""From which day to which a window wants shade, by the height of the noon sun (sun_shades.toml); it shades nothing."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from carecal.horticulture.noon_sun import high_sun
from carecal.planning.spans import merge

if TYPE_CHECKING:
    from carecal.catalog.tables import Catalog, SunShade
    from carecal.planning.places.climates import PlaceAir
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.spans import Span

__all__ = ["shade_row", "shade_spans"]


def shade_row(context: PlanContext, place: str, day: int) -> SunShade | None:
    """Return the row of a window's compass point; None where no sun shines in: lamps alone, no window, outdoors.

    Out of doors `hardening` tells of shade.
    """
    spec = context.facts.places[place].spec_at(day)
    kind = context.catalog.place_kinds[spec.place_kind]
    if kind.outdoors or not kind.light_fraction:
        return None
    return _row_of(spec.aspect, context.facts.latitude, context.catalog)


def _row_of(compass: str | None, latitude: float, catalog: Catalog) -> SunShade | None:
    for row in catalog.aspects.values():
        if compass in (row.compass_north if latitude >= 0 else row.compass_south):
            return catalog.sun_shades.get(row.aspect)
    return None


def shade_spans(context: PlanContext, place: str, day: int) -> list[Span]:
    """Return the days on which a window wants shade, of the year of a day, the one before and the one after.

    Sun that is high all year is one span without a gap; a window that wants none has no span.

    Source: sun_shades.toml; where the sun stands, `high_sun`.
    """
    row, air = shade_row(context, place, day), context.air(place, day)
    if row is None or air is None:
        return []
    year = date.fromordinal(day).year
    key = place, context.facts.places[place].spec_at(day).day, year
    if key not in context.kept_shades:
        found = [_of_year(row, context.facts.latitude, each) for each in (year - 1, year, year + 1)]
        warm = [_warm_part(row, air, span) for span in found if span is not None]
        context.kept_shades[key] = merge([span for span in warm if span is not None])
    return context.kept_shades[key]


def _of_year(row: SunShade, latitude: float, year: int) -> Span | None:
    """Return the days of high sun that begin in a year; a run over the turn of the year ends in the next one."""
    sun = high_sun(latitude, year, row.noon_deg)
    if sun.always:
        return date(year, 1, 1).toordinal(), date(year, 12, 31).toordinal()
    if sun.first is None or sun.last is None:
        return None
    last = sun.last if sun.first <= sun.last else high_sun(latitude, year + 1, row.noon_deg).last
    first = sun.first.toordinal() + int(row.later_days)
    return (first, last.toordinal()) if last is not None and first <= last.toordinal() else None


def _warm_part(row: SunShade, air: PlaceAir, span: Span) -> Span | None:
    """Return the days of a span from the first to the last one that is warm enough by its normal, None without any."""
    if row.day_c is None:
        return span
    known = range(max(span[0], air.origin), min(span[1], air.last) + 1)
    warm = [day for day in known if air.at("day_c", day) >= row.day_c]
    return (warm[0], warm[-1]) if warm else None
