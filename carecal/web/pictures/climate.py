"""A place's year as a picture: air and medium with the days that open and shut gates."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from carecal.web.pictures.frame import Chart, Line, Sign, Table, scales, short_day, shown, signs
from carecal.web.pictures.scale import month_ticks, nice_ticks, path_of
from carecal.wording.dates import day_month

if TYPE_CHECKING:
    from markupsafe import Markup

    from carecal.app.documents.pictures import ClimateYear

__all__ = ["climate_picture"]

EVERY_DAYS = 14  # our choice, because a table of a year by fortnights fits a page


def climate_picture(year: ClimateYear, units: str = "metric") -> Markup:
    """Return a place's year: air by day and night, the medium, and the days that open and shut gates."""
    unit = "°F" if units == "imperial" else "°C"

    def convert(temp_c: float) -> float:
        return temp_c * 9 / 5 + 32 if units == "imperial" else temp_c

    series = [("day", "air by day", year.day_c), ("night", "air at night", year.night_c)]
    if year.medium_c:
        series.append(("medium", f"medium, {_pot(year.container)}", year.medium_c))
    values = [convert(c) for _, _, part in series for c in part]
    values += [convert(year.limit_c)] if year.limit_c is not None else []
    ticks = nice_ticks(min(values), max(values))
    last = year.first + timedelta(days=len(year.day_c) - 1)
    x, y = scales(year.first, last, ticks)
    start = year.first.toordinal()
    letters = [(chr(ord("a") + i), mark) for i, mark in enumerate(year.marks)]
    lowest = min(range(len(year.night_c)), key=lambda i: year.night_c[i])
    coldest = year.first + timedelta(days=lowest)
    caption = f"Nights are coldest about {short_day(coldest)} with {convert(year.night_c[lowest]):.0f} {unit}"
    gates = ". ".join(f"{short_day(m.on)}: {m.text}" for m in year.marks)
    caption += "" if gates or not year.kinds else ". No gate opens or shuts by warmth in this year"
    heads = ("day", *(f"{name} [{unit}]" for _, name, _ in series))
    rows = tuple(
        (day_month(year.first + timedelta(days=i)), *(f"{convert(part[i]):.1f}" for _, _, part in series))
        for i in range(0, len(year.day_c), EVERY_DAYS)
    )
    limit = (Sign(y.at(convert(year.limit_c)), "feed", "limit"),) if year.limit_c is not None else ()
    chart = Chart(
        f"climate-{year.place}",
        f"{year.name}: the year's warmth",
        caption,
        gates,
        unit,
        signs(x, month_ticks(year.first, last)),
        signs(y, ticks),
        Table(heads, rows),
        lines=tuple(
            Line(look, name, path_of(((start + i, convert(c)) for i, c in enumerate(part)), x, y))
            for look, name, part in series
        ),
        levels=limit,
        days=tuple(Sign(x.at(m.on.toordinal()), letter, m.kind.split()[-1]) for letter, m in letters),
        notes=tuple((letter, f"{short_day(m.on)}: {m.text}") for letter, m in letters),
    )
    return shown("pictures_chart.html", chart=chart)


def _pot(container: str) -> str:
    return container.replace("-", " ")
