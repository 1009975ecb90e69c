"""Buds: from which length of spike on they are counted as there, and what of a place makes them drop (bud_hazards)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.wording.weak import hazard_text

if TYPE_CHECKING:
    from carecal.catalog.tables import Catalog
    from carecal.collection.plants import PlantState
    from carecal.planning.plan_context import PlanContext

__all__ = ["bud_asks", "bud_factor", "bud_hazards", "has_buds", "has_spike_rules", "is_turning_barred"]

AHEAD_DAYS = 14  # our choice, because heat of the coming two weeks can still be moved away from [d]
FIRST_TIE = "first-tie"
IN_MOTION = frozenset({"breezy", "windy"})  # air_classes.toml: an open window, a fan on the shelf, wind


def has_spike_rules(state: PlantState, catalog: Catalog) -> bool:
    """Return whether its kind has numbers for its spike; outlines of kinds have none and get no step of it."""
    profile = catalog.profiles.get(state.profile)
    return profile is not None and profile.spike_cut_leaves is not None


def has_buds(state: PlantState, catalog: Catalog) -> bool:
    """Return whether its spike was told as long enough for buds: from the length of the first tie (spike_steps.toml).

    Source: our choice, because buds are seen on a spike of about that length and nobody is asked for each bud.
    """
    long_enough = (state.spike_mm or 0) >= catalog.spike_steps[FIRST_TIE].from_mm
    return state.flowering == "in-spike" and long_enough and has_spike_rules(state, catalog)


def is_turning_barred(state: PlantState, catalog: Catalog) -> bool:
    """Return whether its spike was told as so long that it is not turned any more (spike_steps.toml bars_turning)."""
    least = min((row.from_mm for row in catalog.spike_steps.values() if row.bars_turning), default=None)
    is_growing = state.flowering == "in-spike" and has_spike_rules(state, catalog)
    return is_growing and least is not None and (state.spike_mm or 0) >= least


def bud_factor(state: PlantState, catalog: Catalog) -> float:
    """Return by what the days between wettings are multiplied while buds swell (bud_hazards.toml dry). [-]."""
    return (catalog.bud_hazards["dry"].interval_factor or 1.0) if has_buds(state, catalog) else 1.0


def bud_hazards(state: PlantState, day: int, context: PlanContext) -> list[str]:
    """Return what of the plant's place makes buds drop on the coming days, with its numbers; none without buds.

    Source: bud_hazards.toml heat and draught.
    """
    air = context.air(state.place, day)
    if air is None or not has_buds(state, context.catalog):
        return []
    rows, name = context.catalog.bud_hazards, context.facts.places[state.place or ""].spec_at(day).name
    days = range(day, min(day + AHEAD_DAYS, air.last + 1))
    hottest = max(air.at("day_c", on) for on in days)
    found = []
    if hottest > (rows["heat"].over_c or 0.0):
        found.append(hazard_text(f"days of {hottest:.0f} °C at {name}", rows["heat"].says))
    if air.air_on(day) in IN_MOTION:
        found.append(hazard_text(f"{air.air_on(day)} air at {name}", rows["draught"].says))
    return found


def bud_asks(state: PlantState, day: int, context: PlanContext) -> str:
    """Return what a look at a plant in bud minds: fruit, and water no colder than its room allows; '' without buds.

    Source: bud_hazards.toml fruit and cold-water.
    """
    air = context.air(state.place, day)
    if air is None or not has_buds(state, context.catalog):
        return ""
    rows = context.catalog.bud_hazards
    least = air.at("day_c", day) - (rows["cold-water"].colder_c or 0.0)
    return f"in bud: no ripe fruit within {rows['fruit'].within_m:g} m, water of {least:.0f} °C and more"
