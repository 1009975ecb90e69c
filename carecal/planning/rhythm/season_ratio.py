"""Days between wettings in winter against summer, beside what growers see in such a room (season_ratios.toml)."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from carecal.catalog.tables import SeasonRatio
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["Ratio", "season_ratio"]

MIDWINTER, MIDSUMMER = (1, 15), (7, 15)  # of the north


class Ratio(NamedTuple):
    """How many times as long a pot takes in winter as in summer, and the row of its room."""

    value: float
    row: SeasonRatio


def season_ratio(plant_planner: PlantPlanner) -> Ratio | None:
    """Return the ratio of a plant's days, if its place is in winter as warm and dry as a row's room; None else.

    Source: season_ratios.toml.
    """
    context, line = plant_planner.context, plant_planner.line
    ends = (MIDWINTER, MIDSUMMER) if context.facts.latitude >= 0 else (MIDSUMMER, MIDWINTER)
    winter, summer = (_next(context.as_of, *end) for end in ends)
    air = context.air(line.state_at(context.as_of).place, context.as_of)
    beats = plant_planner.beats.at(winter), plant_planner.beats.at(summer)
    if air is None or beats[0] is None or beats[1] is None or not air.origin <= winter <= air.last:
        return None
    if any(beat.situation.is_settling or beat.situation.rest for beat in beats if beat is not None):
        return None
    day, night, rh = (round(air.at(name, winter)) for name in ("day_c", "night_c", "rh_pct"))
    for row in context.catalog.season_ratios.values():
        is_warm = row.day_low_c <= day <= row.day_high_c and row.night_low_c <= night <= row.night_high_c
        if is_warm and row.rh_low <= rh <= row.rh_high:
            return Ratio(beats[0].raw_days / beats[1].raw_days, row)
    return None


def _next(as_of: int, month: int, day: int) -> int:
    on = date(date.fromordinal(as_of).year, month, day).toordinal()
    return on if on >= as_of else date(date.fromordinal(as_of).year + 1, month, day).toordinal()
