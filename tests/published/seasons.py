"""Winter against summer, worked through the project's own path as `calc interval` does; shared by test and report."""

from __future__ import annotations

from dataclasses import dataclass

from carecal.app.documents.calc import interval
from carecal.catalog.tables import Catalog
from tests.published.published_rows import table

POTS = ("bark", "moss")  # in plastic of 12 cm, as season_ratios.toml says
SLACK = 0.05  # our choice, because it is half a day in ten


@dataclass(frozen=True)
class Season:
    """One printed ratio of winter to summer beside what the project computes for the two rooms it assumes."""

    row: dict[str, str]
    days: dict[str, tuple[float, float]]  # raw days in winter and in summer, by medium [d]

    @property
    def ratio(self) -> float:
        """Days between wettings of bark in winter over those in summer."""
        winter, summer = self.days["bark"]
        return winter / summer

    @property
    def verdict(self) -> str:
        """Return 'within', 'lower' or 'higher', within a twentieth of what is printed."""
        if self.ratio < float(self.row["published_low"]) * (1 - SLACK):
            return "lower"
        return "higher" if self.ratio > float(self.row["published_high"]) * (1 + SLACK) else "within"


def seasons(catalog: Catalog) -> list[Season]:
    """Return every printed ratio with the days computed for both of its rooms."""
    return [
        Season(
            row,
            {
                medium: (_days(catalog, medium, row["winter"]), _days(catalog, medium, row["summer"]))
                for medium in POTS
            },
        )
        for row in table("season_ratios_published")
    ]


def season_lines(found: list[Season]) -> list[str]:
    """Return the table of computed against printed ratios in Markdown, what lies outside named below it."""
    lines = [
        "| id | statement | winter | summer | printed ratio | bark [d] | moss [d] | ratio | verdict | source |",
        "|---|---|---|---|---|---|---|---|---|---|",
    ]
    for each in found:
        row, (low, high) = each.row, (float(each.row["published_low"]), float(each.row["published_high"]))
        printed = f"{low:.1f}" if low == high else f"{low:.1f}–{high:.1f}"
        days = [f"{each.days[medium][1]:.1f} → {each.days[medium][0]:.1f}" for medium in POTS]
        lines.append(
            f"| {row['id']} | {row['statement']} | {_room(row['winter'])} | {_room(row['summer'])} | {printed} "
            f"| {days[0]} | {days[1]} | {each.ratio:.1f} | {each.verdict} | {row['source']} |"
        )
    outside = [
        f"{each.row['id']} ({each.ratio:.1f}, {each.verdict})" for each in found if each.verdict != "within"
    ]
    return [
        *lines,
        "",
        f"{len(found) - len(outside)} of {len(found)} within; outside: {', '.join(outside) or 'none'}",
    ]


def _room(text: str) -> str:
    temperatures, rh, air, mol = text.split(",")
    return f"{temperatures} °C, {rh} %, {air} air, {mol} mol"


def _days(catalog: Catalog, medium: str, room: str) -> float:
    """Return the raw days of a pot in a room written as 'day/night,rh,air,mol'. [d]."""
    temperatures, rh, air, mol = room.split(",")
    day_c, night_c = map(float, temperatures.split("/"))
    found = interval(
        catalog,
        medium,
        "plastic",
        12.0,
        day_c=day_c,
        night_c=night_c,
        rh_pct=float(rh),
        air_class=air,
        light_mol=float(mol),
        profile="phalaenopsis",
    )
    return float(found["raw_days"])
