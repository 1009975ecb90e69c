"""Published intervals worked through the project's own path, as `calc interval` does; shared by test and report."""

from __future__ import annotations

from dataclasses import dataclass, replace

from carecal.app.documents.calc import interval
from carecal.catalog.growing import AirClass
from carecal.catalog.tables import Catalog
from carecal.horticulture.drydown import held_interval
from carecal.planning.rhythm.terms import WAIT_UNTIL_EMPTY
from tests.published.published_rows import table

WAITING_UNTIL_EMPTY = "I24"  # the one row that waits for an empty reservoir instead of filling by time


@dataclass(frozen=True)
class Compared:
    """One published interval beside what the project computes for its conditions. [d]."""

    id: str
    statement: str
    pot: str  # medium, container and size
    low: float
    high: float
    raw: float
    days: int
    row: dict[str, str]

    @property
    def verdict(self) -> str:
        """Return 'within', 'shorter' or 'longer', on whole days: as the table judges."""
        if self.days < self.low:
            return "shorter"
        return "longer" if self.days > self.high else "within"


def compared(catalog: Catalog) -> list[Compared]:
    """Return every published interval with the days computed for the conditions it assumes."""
    return [_compared(catalog, row) for row in table("intervals_published")]


def report_lines(found: list[Compared]) -> list[str]:
    """Return the table of computed against published intervals in Markdown, what lies outside named below it."""
    lines = [
        "| id | statement | stands in | day/night, RH, air, light | published [d] | raw [d] | days | verdict | role "
        "| source |",
        "|---|---|---|---|---|---|---|---|---|---|",
    ]
    for row in found:
        printed = f"{row.low:g}" if row.low == row.high else f"{row.low:g}–{row.high:g}"
        lines.append(
            f"| {row.id} | {row.statement} | {row.pot} | {_conditions(row.row)} | {printed} | {row.raw:.1f} "
            f"| {row.days} | {row.verdict} | {row.row['role']} | {row.row['source']} |"
        )
    outside = [row for row in found if row.verdict != "within"]
    named = "; ".join(f"{row.id} ({row.statement}): {row.days} days, {row.verdict}" for row in outside)
    return [
        *lines,
        "",
        f"{len(found) - len(outside)} of {len(found)} within on whole days; outside: {named or 'none'}",
    ]


def _conditions(row: dict[str, str]) -> str:
    """Return the conditions a row assumes, with their units."""
    return (
        f"{row['assumed_day_c']}/{row['assumed_night_c']} °C, {row['assumed_rh_pct']} %, "
        f"{row['assumed_air_m_s']} m/s, {row['assumed_light_mol']} mol"
    )


def _compared(catalog: Catalog, row: dict[str, str]) -> Compared:
    speed, medium = row["assumed_air_m_s"], row["medium"]
    found = interval(
        _with_speed(catalog, speed),
        medium,
        row["container"],
        float(row["size_cm"]),
        day_c=float(row["assumed_day_c"]),
        night_c=float(row["assumed_night_c"]),
        rh_pct=float(row["assumed_rh_pct"]),
        air_class=speed,
        light_mol=float(row["assumed_light_mol"]),
        profile=row["profile"],
    )
    raw, days = found["raw_days"], int(found["days"])
    if row["id"] == WAITING_UNTIL_EMPTY:
        bounds = catalog.media[medium]
        raw *= WAIT_UNTIL_EMPTY
        days = held_interval(raw, bounds.min_days, bounds.max_days_in_reservoir or bounds.max_days).days
    return Compared(
        row["id"],
        row["statement"],
        f"{medium}, {row['container']} {row['size_cm']} cm",
        float(row["published_min_days"]),
        float(row["published_max_days"]),
        raw,
        days,
        row,
    )


def _with_speed(catalog: Catalog, speed: str) -> Catalog:
    """Return the catalog with one class of air more, of exactly the speed that a row assumes. [m/s]."""
    added = AirClass(speed, float(speed), "as the row assumes", "intervals_published.csv")
    return replace(catalog, air_classes={**catalog.air_classes, speed: added})
