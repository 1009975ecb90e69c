"""One plant in pictures: its pot drying since the last wetting, its roots and leaves against the date."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from carecal.web.pictures.frame import Chart, Line, Sign, Table, scales, short_day, shown, signs
from carecal.web.pictures.scale import Tick, day_ticks, month_ticks, nice_ticks, path_of
from carecal.wording.dates import day_month

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from markupsafe import Markup

    from carecal.app.documents.pictures import Mark
    from carecal.app.documents.pictures_plants import DryDown, Growth

__all__ = ["dry_down_picture", "growth_pictures"]


def dry_down_picture(dried: DryDown, name: str) -> Markup:
    """Return a pot's water since it was wetted, with its band, the window of the next wetting and the entries."""
    last = dried.wetted + timedelta(days=len(dried.left) - 1)
    ticks = tuple(Tick(float(n), f"{n}") for n in range(0, 101, 20))
    x, y = scales(dried.wetted, last, ticks)
    start = dried.wetted.toordinal()
    band = [
        *((start + i, 100 * v) for i, v in enumerate(dried.high)),
        *((start + i, 100 * dried.low[i]) for i in reversed(range(len(dried.low)))),
    ]
    today = min(max((dried.today - dried.wetted).days, 0), len(dried.left) - 1)
    text = (
        f"{'Assumed wetted' if dried.is_assumed else 'Wetted'} {short_day(dried.wetted)}; "
        f"about {100 * dried.left[today]:.0f} % of the water is left today "
        f"({100 * dried.low[today]:.0f} to {100 * dried.high[today]:.0f} %), reckoned, not measured. "
        f"It is wetted again at {100 * dried.target:.0f} %"
    )
    spans: tuple[tuple[float, float, str], ...] = ()
    if dried.window is not None:
        a = x.at(max(dried.window[0].toordinal(), start))
        b = x.at(min(dried.window[2].toordinal(), last.toordinal()))
        spans = ((a, max(round(b - a, 1), 2.0), "next wetting"),)
        first, due, latest = map(short_day, dried.window)
        text += f": due {due}, may be {first} to {latest}"
    letters = [(chr(ord("a") + i % 26), mark) for i, mark in enumerate(dried.marks)]
    rows = tuple(
        (
            day_month(dried.wetted + timedelta(days=i)),
            *(f"{100 * v[i]:.0f}" for v in (dried.left, dried.low, dried.high)),
        )
        for i in range(len(dried.left))
    )
    chart = Chart(
        "drying",
        f"{name}: water left in the pot",
        text,
        "",
        "%",
        signs(x, day_ticks(dried.wetted, last)),
        signs(y, ticks),
        Table(("day", "left [%]", "at least [%]", "at most [%]"), rows),
        lines=(
            Line(
                "medium",
                "water left",
                path_of(((start + i, 100 * v) for i, v in enumerate(dried.left)), x, y),
            ),
        ),
        bands=(Line("band", "80 % band", path_of(band, x, y)),),
        spans=spans,
        levels=(Sign(y.at(100 * dried.target), "wet again", "limit"),),
        days=(Sign(x.at(dried.today.toordinal()), "today", "today"),),
        dots=tuple((x.at(m.on.toordinal()), y.at(100 * _share(dried, m)), letter) for letter, m in letters),
        notes=tuple((letter, f"{short_day(m.on)}: {m.text}") for letter, m in letters),
    )
    return shown("pictures_chart.html", chart=chart)


def growth_pictures(found: Growth, name: str) -> tuple[Markup, ...]:
    """Return the longest root, and roots and leaves, against the date with what enters each stage."""
    pictures = []
    if found.longest_mm:
        levels = tuple((stage, mm) for stage, mm, _, _ in found.stages if mm)
        pictures.append(
            _counts(
                "roots-mm",
                f"{name}: longest root",
                "mm",
                levels,
                found.marks,
                (("roots", "longest root", found.longest_mm),),
            )
        )
    series = tuple(
        row for row in (("roots", "living roots", found.roots), ("leaves", "leaves", found.leaves)) if row[2]
    )
    if series:
        levels = tuple((stage, roots) for stage, _, roots, _ in found.stages if roots)
        pictures.append(
            _counts("counts", f"{name}: roots and leaves", "counted", levels, found.marks, series)
        )
    return tuple(pictures)


def _counts(
    key: str,
    title: str,
    unit: str,
    levels: Sequence[tuple[str, float]],
    marks: Sequence[Mark],
    series: Sequence[tuple[str, str, Sequence[tuple[date, float]]]],
) -> Markup:
    days = sorted({day for _, _, points in series for day, _ in points})
    first, last = days[0], max(days[-1], days[0] + timedelta(days=30))
    ticks = nice_ticks(0, max([*(v for _, _, points in series for _, v in points), *(v for _, v in levels)]))
    x, y = scales(first, last, ticks)
    text = "; ".join(
        f"{what.capitalize()} {points[0][1]:g} on {day_month(points[0][0])}, "
        f"then {points[-1][1]:g} on {day_month(points[-1][0])}"
        for _, what, points in series
    )
    if levels:
        text += ". Stages begin at " + ", ".join(f"{stage} {value:g}" for stage, value in levels)
    by_name = [(what, dict(points)) for _, what, points in series]
    rows = tuple((day_month(day), *(_number(points.get(day)) for _, points in by_name)) for day in days)
    potted = [m for m in marks if first <= m.on <= last]
    chart = Chart(
        key,
        title,
        text,
        "",
        unit,
        signs(x, month_ticks(first, last)),
        signs(y, ticks),
        Table(("day", *(f"{what}{' [mm]' if unit == 'mm' else ''}" for what, _ in by_name)), rows),
        lines=tuple(
            Line(look, what, path_of(((day.toordinal(), v) for day, v in points), x, y))
            for look, what, points in series
        ),
        levels=tuple(Sign(y.at(value), stage, "limit") for stage, value in levels),
        days=tuple(Sign(x.at(m.on.toordinal()), "p", "potted") for m in potted),
        dots=tuple((x.at(day.toordinal()), y.at(v), "") for _, _, points in series for day, v in points),
        notes=(("p", "potted " + ", ".join(short_day(m.on) for m in potted)),) if potted else (),
    )
    return shown("pictures_chart.html", chart=chart)


def _share(dried: DryDown, mark: Mark) -> float:
    """Return the share a weight tells, else the reckoned one of that day."""
    return mark.value if mark.value is not None else dried.left[(mark.on - dried.wetted).days]


def _number(value: float | None) -> str:
    return "–" if value is None else f"{value:g}"
