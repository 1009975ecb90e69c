"""How fast a pot dries and how many days lie between wettings; it looks nothing up in tables."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from math import exp, inf, isfinite, log
from typing import Literal, NamedTuple

from carecal.errors import Refused
from carecal.horticulture.air import vapour_pressure_deficit_of_day
from carecal.horticulture.climate import DailyClimate
from carecal.horticulture.normals import LAMP
from carecal.horticulture.rounding import half_up

__all__ = [
    "Held",
    "demand_series",
    "held_interval",
    "next_due",
    "pot_volume_l",
    "raw_interval",
    "reference_interval",
    "relative_demand",
    "two_stage_days",
    "two_stage_left",
    "water_fraction",
]

WIND_STILL_POT = 1.24  # energy balance of a wet pot in room air [mm d⁻¹ kPa⁻¹]; our choice, models D1
WIND_RISE = 1.4  # the same [mm d⁻¹ kPa⁻¹ per m/s]
ROOM_AIR_M_S = 0.1  # air class 'room', the reference
LIGHT_MM_PER_MOL = 0.06  # our choice, because it gives the seasons their sign
LAMP_MM_PER_MOL = 0.03  # our choice, because a lamp carries less heat per mol
REFERENCE_VPD_KPA = vapour_pressure_deficit_of_day(21, 21, 50)  # FAO56 eq. 12: 1.2435
REFERENCE_LIGHT_MOL = 2.0
REFERENCE_MM = WIND_STILL_POT * REFERENCE_VPD_KPA + LIGHT_MM_PER_MOL * REFERENCE_LIGHT_MOL
VOLUME_L_PER_CM3 = 0.0005  # our choice, because height is 0.9 of the top diameter, tapering to 0.71
EPSILON = 1e-9


def two_stage_days(
    start_g: float, critical_g: float, residual_g: float, target_g: float, loss_g_d: float
) -> float:
    """Return the days from one weight of water to another, first at an even loss, then at a falling one [d].

    Args:
        start_g: Water held at the start. [g]
        critical_g: Water at which the loss begins to fall. [g]
        residual_g: Water that is never given off, less than critical_g. [g]
        target_g: Water held at the end, above residual_g. [g]
        loss_g_d: Loss of the first stage, above 0. [g/d]

    Raises:
        Refused: the target is not above the residual, the critical not above it, or the loss not above 0.

    Source: FAO56 ch. 7; critical 50 % and residual 5 % of the water held: our choice, because coarse media
    give off half freely.
    """
    if not loss_g_d > 0:
        raise Refused(f"loss {loss_g_d:g} g/d must be above 0")
    if not (target_g > residual_g and critical_g > residual_g):
        raise Refused(
            f"target {target_g:g} g and critical {critical_g:g} g must be above the residual {residual_g:g} g"
        )
    if target_g >= start_g:
        return 0.0
    even = max(0.0, start_g - max(critical_g, target_g)) / loss_g_d
    if target_g >= critical_g:
        return even
    reach = critical_g - residual_g
    return even + reach / loss_g_d * log((min(start_g, critical_g) - residual_g) / (target_g - residual_g))


def two_stage_left(
    start_g: float, critical_g: float, residual_g: float, days: float, loss_g_d: float
) -> float:
    """Return the water held some days after a weight of water, the inverse of `two_stage_days` [g].

    Args:
        start_g: Water held at the start, above residual_g. [g]
        critical_g: Water at which the loss begins to fall. [g]
        residual_g: Water that is never given off, less than critical_g. [g]
        days: Days passed, 0 or more. [d]
        loss_g_d: Loss of the first stage, above 0. [g/d]

    Raises:
        Refused: the loss is not above 0, or a weight does not lie above the residual.

    Source: FAO56 ch. 7, as `two_stage_days`.
    """
    if not loss_g_d > 0:
        raise Refused(f"loss {loss_g_d:g} g/d must be above 0")
    if not (start_g > residual_g and critical_g > residual_g):
        raise Refused(
            f"start {start_g:g} g and critical {critical_g:g} g must be above the residual {residual_g:g} g"
        )
    falling = days - max(0.0, start_g - critical_g) / loss_g_d
    if falling <= 0:
        return start_g - days * loss_g_d
    reach = critical_g - residual_g
    return residual_g + (min(start_g, critical_g) - residual_g) * exp(-falling * loss_g_d / reach)


def water_fraction(now_g: float, dry_g: float, full_g: float) -> float:
    """Return the share of the water held that is left, by weight; outside 0 to 1 when the marks are off [-].

    Args:
        now_g: Weight of the pot now. [g]
        dry_g: Weight of the pot dry. [g]
        full_g: Weight of the pot after a drench, above dry_g. [g]

    Raises:
        Refused: full_g is not above dry_g.

    Source: definition; DUMROESE2015.
    """
    if not full_g > dry_g:
        raise Refused(f"full weight {full_g:g} g must be above the dry weight {dry_g:g} g")
    return (now_g - dry_g) / (full_g - dry_g)


def pot_volume_l(size_cm: float) -> float:
    """Return the volume of a pot [L].

    Args:
        size_cm: Top diameter. [cm]

    Source: our choice, because height is 0.9 of the diameter and the base 0.71 of it (models D5).
    """
    return VOLUME_L_PER_CM3 * size_cm**3


def relative_demand(
    vpd_kpa: float,
    wind_m_s: float,
    wind_sensitivity: float,
    light_mol: float,
    light_source: str = "daylight",
    closed: bool = False,
) -> float:
    """Return how fast a day dries a pot, 1 at 21 °C, 50 %, room air, 2 mol and a plastic pot [-].

    Args:
        vpd_kpa: Mean vapour pressure deficit. [kPa]
        wind_m_s: Air movement at the pot, 0.05 to 1. [m/s]
        wind_sensitivity: Share of the wind's effect that reaches this container, 0 to 1. [-]
        light_mol: Daily light at the plant. [mol m⁻² d⁻¹]
        light_source: 'daylight' or 'lamp'.
        closed: The plant stands in a closed bag, where nothing dries.

    Source: our choice, because an energy balance of a wet pot that cools itself gives 1.1 + 1.4·u per kPa
    (models D1 to D3).
    """
    if closed:
        return 0.0
    wind = WIND_STILL_POT + wind_sensitivity * WIND_RISE * (wind_m_s - ROOM_AIR_M_S)  # models D1
    light = LAMP_MM_PER_MOL if light_source == LAMP else LIGHT_MM_PER_MOL  # models D2
    return (wind * vpd_kpa + light * light_mol) / REFERENCE_MM  # models D3


def demand_series(
    daily: DailyClimate,
    wind_by_air: Mapping[str, float],
    wind_sensitivity: float,
    light_factor: float = 1.0,
    light_source: str | None = None,
    closed: bool = False,
) -> list[float]:
    """Return the relative demand of each day of a year at a place for one container [-].

    Args:
        daily: The year at the place.
        wind_by_air: Air movement by class of air. [m/s]
        wind_sensitivity: That of the container, 0 to 1. [-]
        light_factor: Share of the light that aids leave, 1 without. [-]
        light_source: 'daylight' or 'lamp' for all days; that of the place where it is left out.
        closed: The plant stands in a closed bag, where nothing dries.

    Raises:
        KeyError: a class of air has no wind.

    Source: our choice, because it is the balance of `relative_demand` day by day (models D3).
    """
    sources = daily.light_source if light_source is None else [light_source] * len(daily)
    rows = zip(daily.vpd_kpa, daily.air, daily.light_mol, sources, strict=True)
    return [
        relative_demand(vpd, wind_by_air[air], wind_sensitivity, light * light_factor, source, closed)
        for vpd, air, light, source in rows
    ]


def reference_interval(points: Sequence[tuple[float, float]], size_cm: float) -> float:
    """Return the days between wettings under reference conditions for a size of pot [d].

    Between the sizes listed the line is straight in log-log; its end segments go on beyond them. A row of
    size 0 holds for every size.

    Args:
        points: Size of pot [cm] and days [d], in any order.
        size_cm: Top diameter, above 0 unless a row of size 0 decides. [cm]

    Raises:
        Refused: there are no rows, or the size is not above 0 where it is needed.

    Source: our choice, because published intervals grow with a power of the size (models I1).
    """
    if not points:
        raise Refused("no reference interval is listed for this medium and container")
    rows = sorted(points)
    if rows[0][0] == 0 or len(rows) == 1:
        return rows[0][1]
    if not size_cm > 0:
        raise Refused(f"pot size {size_cm:g} cm must be above 0")
    upper = min(max(bisect_right(rows, (size_cm, -inf)), 1), len(rows) - 1)
    (size_a, days_a), (size_b, days_b) = rows[upper - 1], rows[upper]
    share = log(size_cm / size_a) / log(size_b / size_a)
    return exp(log(days_a) + share * log(days_b / days_a))


def raw_interval(reference_days: float, demand: float, *factors: float) -> float:
    """Return the days between wettings before floor and ceiling; without demand they never end [d].

    Args:
        reference_days: Days under reference conditions. [d]
        demand: Relative demand, 0 or more. [-]
        factors: Those of stage, profile, states, aids and the plant itself. [-]

    Source: our choice, because each factor is a column of a table (models I1).
    """
    if demand <= 0:
        return inf
    days = reference_days / demand
    for factor in factors:
        days *= factor
    return days


class Held(NamedTuple):
    """Whole days between wettings, and which bound held them, if one did."""

    days: int
    held: Literal["floor", "ceiling"] | None


def held_interval(raw: float, min_days: float, max_days: float, stretch: float = 1.0) -> Held:
    """Return the whole days between wettings inside the medium's bounds, never below 1.

    Args:
        raw: Interval before the bounds. [d]
        min_days: Floor of the medium. [d]
        max_days: Ceiling of the medium. [d]
        stretch: Factor on the ceiling during a rest. [-]

    Source: our choice, because no medium is trusted beyond what growers report of it (models I2).
    """
    ceiling = max_days * stretch
    held: Literal["floor", "ceiling"] | None = "floor" if raw < min_days else None
    if raw > ceiling:
        held = "ceiling"
    return Held(max(1, half_up(max(min_days, min(ceiling, raw)))), held)


def next_due(last: int, segments: Sequence[tuple[int, float]], horizon: int | None = None) -> int | None:
    """Return the day of the next wetting, the elapsed share kept wherever the interval changes.

    Args:
        last: Day of the last wetting, as an ordinal. [d]
        segments: First day and interval in force from it on, by day; the first holds before it, too. [d]
        horizon: Last day of interest; a later wetting is answered by None. [d]

    Raises:
        Refused: there are no segments or an interval is not above 0.

    Source: our choice, because drying goes on at the new pace from where it stands (models I5).
    """
    if not segments or not all(days > 0 for _, days in segments):
        raise Refused("an interval of more than 0 days is needed from some day on")
    return due_among(last, segments, max(0, bisect_right(segments, (last, inf)) - 1), horizon)


def due_among(last: int, segments: Sequence[tuple[int, float]], at: int, horizon: int | None) -> int | None:
    """Return what `next_due` does for segments known to be sound, of which the one at a place is in force [d].

    Source: our choice, because drying goes on at the new pace from where it stands (models I5).
    """
    share, day = 0.0, last
    while True:
        days = segments[at][1]
        change = segments[at + 1][0] if at + 1 < len(segments) else None
        after = share if change is None else share + (change - day) / days
        if change is None or after >= 1 - EPSILON:
            due = day + half_up((1 - share) * days) if isfinite(days) else None
            return None if due is None or (horizon is not None and due > horizon) else due
        share, day, at = after, change, at + 1
        if horizon is not None and day > horizon:
            return None
