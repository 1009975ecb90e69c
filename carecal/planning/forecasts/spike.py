"""When a spike is to be expected on a plant that shows none, by the side taken on what brings it (models G3)."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from carecal.horticulture.growth import is_inductive, spike_forecast
from carecal.planning.forecasts.growth import Forecast
from carecal.planning.forecasts.kinds import spike_days
from carecal.planning.places.suits import least_spike_mol
from carecal.planning.rhythm.terms import profile_of
from carecal.planning.sick.crown import is_crownless
from carecal.planning.sick.rot import open_rot
from carecal.planning.spans import FOREVER
from carecal.planning.steps.case import held_since, months_after
from carecal.wording.dates import day_month

if TYPE_CHECKING:
    from carecal.catalog.tables import Profile
    from carecal.planning.places.climates import PlaceAir
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["spike_of"]

LIGHT_DAYS = 30  # our choice, because a spike is begun in a month of cool days [d]
HOT_HOURS = 12.0  # hours of a day whose own temperature lies above the limit: half of it (our choice) [h]
COLD_NIGHT_C = 16.0  # trade-facts P8b: nights of 13-16 °C
COLD_DAYS_LOW, COLD_DAYS_HIGH = 21, 28  # trade-facts P8b: for 3-4 weeks [d]
AFTER_COLD_LOW, AFTER_COLD_HIGH = 4, 6  # trade-facts P8b: visible 4-6 months later [months]


def spike_of(plant_planner: PlantPlanner) -> Forecast | None:
    """Return when a spike is to be expected; None for a plant that is not fit, or a kind without a rule.

    By cool days of 26 °C or less, or, where the grower takes the other side of spike-trigger, by weeks of cold nights.

    Source: BLANCHARD2006 and NEWTON2009; the other side: common practice (no source).
    """
    day = plant_planner.context.as_of
    state = plant_planner.line.state_at(day)
    profile = profile_of(state, plant_planner.context.catalog)
    air = plant_planner.context.air(state.place, day)
    fit = state.stage == "established" and state.flowering == "none" and state.mother is None
    fit = fit and open_rot(state, day, plant_planner.context.catalog) is None and not is_crownless(state)
    if not fit or air is None or profile.spike_day_max_c is None:
        return None
    since = held_since(plant_planner.line, day, lambda s: s.stage == "established" and s.flowering == "none")
    first = max(since or day, air.origin)
    leaves = profile.bloom_leaves
    if state.shoot is not None and leaves is not None and _leaves_since(plant_planner, state.shoot) < leaves:
        text = f"no spike is expected: the shoot from its base grows {leaves:g} leaves first; count them"
        return Forecast("spike", text, None, None, None, is_own=False)
    least = least_spike_mol(
        profile, plant_planner.context.side("light-yardstick", state, plant_planner.line.number)
    )
    if least is not None and not any(_bright_days(air, first, least)):
        text = f"no spike is expected: its place gets less than {least:.3g} mol of light a day"
        return Forecast("spike", text, None, None, None, is_own=False)
    if plant_planner.context.side("spike-trigger", state, plant_planner.line.number) == "a":
        return _by_cold_nights(air, first, day)
    return _by_cool_days(air, first, day, profile, least)


def _leaves_since(plant_planner: PlantPlanner, since: int) -> float:
    """Return how many leaves were last counted since a day; 0 where nobody did."""
    day = plant_planner.context.as_of
    found = [v for on, what, v in plant_planner.line.measured if what == "leaves" and since <= on <= day]
    return found[-1] if found else 0


def _bright_days(air: PlaceAir, first: int, least_mol: float) -> list[bool]:
    """Return of each day from the first on whether the month up to it was on the mean as light as a spike asks for.

    Source: PAMAB-LIGHT: the light while it is cool counts; no spike in low light.
    """
    light, origin = air.values("light_mol"), first - air.origin
    found = []
    for at in range(origin, len(light)):
        month = light[max(0, at - LIGHT_DAYS + 1) : at + 1]
        found.append(sum(month) >= least_mol * len(month))
    return found


def _by_cool_days(
    air: PlaceAir, first: int, day: int, profile: Profile, least: float | None
) -> Forecast | None:
    limit, hot, most, weeks = (
        profile.spike_day_max_c or 0.0,
        profile.hot_c,
        profile.hot_hours,
        spike_days(profile),
    )
    if weeks is None or most is None:
        return None
    bright = _bright_days(air, first, least) if least is not None else [True] * (air.last + 1 - first)
    helps = []
    for on, is_bright in zip(range(first, air.last + 1), bright, strict=False):
        warmth = air.at("day_c", on)
        hours = HOT_HOURS if hot is not None and warmth > hot else 0.0
        helps.append(is_bright and is_inductive(warmth, hours, limit, most))
    run = _run(helps, day - first)
    if run is None:
        text = f"no spike is expected: days stay above {limit:g} °C"
        return Forecast("spike", text, None, None, None, is_own=False)
    days = spike_forecast(weeks, helps[run:])
    early, likely, late = (first + run + found - 1 if found is not None else None for found in days)
    lit = f" and {least:g} mol of light or more" if least is not None else ""
    why = f"by days of {limit:g} °C or less{lit} from {_told(first + run)}"
    if likely is not None and likely < day:
        return Forecast("spike", f"a spike may come at any time: {why}", early, likely, late, is_own=False)
    if early is None or likely is None:
        return Forecast(
            "spike", f"no spike is expected yet: {why} are too few", None, None, None, is_own=False
        )
    ends = f", {_told(late)} at the latest" if late is not None else ""
    text = f"a spike may be expected {_told(early)} to {_told(likely)}{ends}: {why}"
    return Forecast("spike", text, early, likely, late, is_own=False)


def _by_cold_nights(air: PlaceAir, first: int, day: int) -> Forecast:
    cold = [air.at("night_c", on) <= COLD_NIGHT_C for on in range(first, air.last + 1)]
    start, length = None, 0
    for at, holds in enumerate(cold):
        length = length + 1 if holds else 0
        ends = months_after(first + at, AFTER_COLD_HIGH) if length == COLD_DAYS_LOW else -FOREVER
        if ends >= day:
            start = first + at - length + 1
            break
    if start is None:
        text = f"no spike is expected: no {COLD_DAYS_LOW} nights of {COLD_NIGHT_C:g} °C or less in a row"
        return Forecast("spike", text, None, None, None, is_own=False)
    early = months_after(start + COLD_DAYS_LOW, AFTER_COLD_LOW)
    late = months_after(start + COLD_DAYS_HIGH, AFTER_COLD_HIGH)
    why = f"by nights of {COLD_NIGHT_C:g} °C or less from {_told(start)}"
    text = f"a spike may be expected {_told(early)} to {_told(late)}: {why}"
    return Forecast("spike", text, early, (early + late) // 2, late, is_own=False)


def _run(helps: list[bool], at: int) -> int | None:
    """Return where the run of helpful days begins that holds a day, or the next one; None: there is none."""
    if not helps[at]:
        return next((later for later in range(at, len(helps)) if helps[later]), None)
    while at > 0 and helps[at - 1]:
        at -= 1
    return at


def _told(day: int) -> str:
    return day_month(date.fromordinal(day))
