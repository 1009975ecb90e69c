"""A place's year as a picture: air and medium with the days that open and shut gates."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from carecal.planning.places.suits import months_text
from carecal.web.pictures.frame import Chart, Line, Sign, Table, scales, short_day, shown, signs
from carecal.web.pictures.scale import month_ticks, nice_ticks, path_of
from carecal.wording.dates import MONTHS, day_month

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from markupsafe import Markup

    from carecal.app.documents.pictures import ClimateYear

__all__ = ["air_and_light", "climate_picture"]

FLAT_C, NEARLY_C = (
    1.0,
    0.5,
)  # nights that differ by less have no coldest day; our choice, because nobody feels it
MOST_COLDEST_DAYS = 45  # a longer stretch is told by its months
MIDDLE = 15  # day of a month for which its mean stands
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
    caption = _coldest(year, lambda c: f"{convert(c):.0f} {unit}")
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


def _coldest(year: ClimateYear, said: Callable[[float], str]) -> str:
    """Return when nights are coldest: a day only where the curve has one, months where it lies flat, else all year."""
    low, high = min(year.night_c), max(year.night_c)
    if high - low < FLAT_C:
        return f"Nights are about {said((low + high) / 2)} all year"
    days = [year.first + timedelta(days=i) for i, c in enumerate(year.night_c) if c - low < NEARLY_C]
    if len(days) > MOST_COLDEST_DAYS:
        return f"Nights are coldest in {months_text(day.month - 1 for day in days)} with {said(low)}"
    coldest = year.first + timedelta(days=min(range(len(year.night_c)), key=lambda i: year.night_c[i]))
    return f"Nights are coldest about {short_day(coldest)} with {said(low)}"


def air_and_light(place: Mapping[str, Any], year: int, bears: Mapping[str, float]) -> list[Markup]:
    """Return a place's humidity and light over the year against what its plants bear.

    Args:
        place: What `place_of` returned.
        year: Any year; months are the same in all.
        bears: Least humidity ('rh_pct') and least light ('light_mol_m2_d') of the plants that stand there.
    """
    pictures = []
    for key, name, unit, look in (
        ("rh_pct", "humidity", "%", "night"),
        ("light_mol_m2_d", "light", "mol/m²/d", "day"),
    ):
        points = [(date(year, m["month"], MIDDLE), float(m[key])) for m in place["months"]]
        least = bears.get(key)
        values = [v for _, v in points] + ([least] if least is not None else [])
        ticks = nice_ticks(0, max(values), 4)
        x, y = scales(date(year, 1, 1), date(year, 12, 31), ticks)
        below = [day.month - 1 for day, value in points if least is not None and value < least]
        caption = f"{min(v for _, v in points):.3g} to {max(v for _, v in points):.3g} {unit}"
        if least is not None:
            caption += f"; its plants ask for {least:.3g}" + (
                f", too little in {months_text(below)}" if below else ""
            )
        chart = Chart(
            f"{key}-{place['place']}",
            f"{place['name']}: {name} over the year",
            caption,
            "",
            unit,
            signs(x, month_ticks(date(year, 1, 1), date(year, 12, 31))),
            signs(y, ticks),
            Table(("month", f"{name} [{unit}]"), tuple((MONTHS[d.month - 1], f"{v:.3g}") for d, v in points)),
            lines=(Line(look, name, path_of(((d.toordinal(), v) for d, v in points), x, y)),),
            levels=(Sign(y.at(least), "least", "limit"),) if least is not None else (),
        )
        pictures.append(shown("pictures_chart.html", chart=chart))
    return pictures


def _pot(container: str) -> str:
    return container.replace("-", " ")
