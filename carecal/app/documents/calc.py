"""The arithmetic behind the plan, asked for one number at a time; it needs no collection."""

from __future__ import annotations

from datetime import date, timedelta
from math import isfinite
from typing import TYPE_CHECKING

from carecal.app.actions.pots import check_pair
from carecal.app.command_context import named
from carecal.collection.plant_states import PlantState
from carecal.errors import Refused, option
from carecal.horticulture import air as physics
from carecal.horticulture.daylight import day_length, daylight_fao
from carecal.horticulture.drydown import held_interval, raw_interval, relative_demand
from carecal.horticulture.growth import bloom_forecast
from carecal.horticulture.nutrition import (
    feed_ec,
    grams_for_ppm,
    ounces_for_ppm,
    oxide_analysis,
    ppm_from_grams,
)
from carecal.horticulture.rounding import significant
from carecal.planning.forecasts.kinds import bloom_limits
from carecal.planning.rhythm.terms import lacks, terms_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from carecal.catalog.tables import Catalog

__all__ = ["air", "bloom", "daylight", "interval", "mix"]

TEMP_C = (-30.0, 55.0)  # what a reading may be at all, as entries have it [°C]
LIGHT_MOL = (0.0, 70.0)  # [mol m⁻² d⁻¹]
LITRES_PER_GALLON = 3.785411784  # of the United States
EC_PER_100_PPM = 0.44  # UDEL: 0.41 to 0.46 for 20-20-20 [mS/cm]
HUNDRED_GALLONS = 100.0


def air(
    catalog: Catalog, temp_c: float, rh_pct: float, *, elevation_m: float = 0.0, air_class: str = "room"
) -> dict[str, object]:
    """Return what air of a temperature and humidity is, and how far it cools the wet medium of each container.

    Args:
        catalog: Profiles and tables.
        temp_c: Air temperature. [°C]
        rh_pct: Relative humidity. [%]
        elevation_m: Height above the sea. [m]
        air_class: Movement of the air.

    Raises:
        UnknownName: The class of air is not known.
        Refused: A value is out of range.
    """
    named("air", air_class, catalog.air_classes)
    _within("temperature", temp_c, *TEMP_C, "°C")
    _within("humidity", rh_pct, 1.0, 100.0, "%")
    wet = physics.wet_bulb(temp_c, rh_pct, physics.pressure(elevation_m))
    return {
        "svp_kpa": significant(physics.saturation_vapour_pressure(temp_c)),
        "vpd_kpa": significant(physics.vapour_pressure_deficit(temp_c, rh_pct)),
        "dew_point_c": significant(physics.dew_point(temp_c, rh_pct)),
        "wet_bulb_c": significant(wet),
        "pots": {
            name: significant(physics.medium_temperature(temp_c, wet, row.cooling[air_class]))
            for name, row in catalog.containers.items()
        },
    }


def daylight(latitude: float, on: date) -> dict[str, float]:
    """Return the hours of daylight on a date, geometric and from sunrise to sunset. [h]

    Raises:
        Refused: The latitude lies outside -90 to 90.
    """
    return {
        "geometric_hours": significant(daylight_fao(latitude, on.timetuple().tm_yday)),
        "sunrise_sunset_hours": significant(day_length(latitude, on)),
    }


def mix(
    analysis: Sequence[float],
    *,
    ppm_n: float | None = None,
    grams_per_litre: float | None = None,
    litres: float | None = None,
    water_ec: float = 0.0,
    ec_per_100_ppm: float = EC_PER_100_PPM,
    elemental: bool = False,
) -> dict[str, float | None]:
    """Return what a fertiliser gives in water, from the nitrogen wanted or the weight taken.

    Args:
        analysis: N, P₂O₅ and K₂O of the label. [%]
        ppm_n: Nitrogen wanted. [mg/L]
        grams_per_litre: Weight taken. [g/L]
        litres: Water; None: only the strengths. [L]
        water_ec: Conductivity of the water. [mS/cm]
        ec_per_100_ppm: What 100 mg/L of N add. [mS/cm]
        elemental: Whether the label prints P and K as elements, not as oxides.

    Raises:
        Refused: Not exactly one of nitrogen and weight was given, or a value is out of range.
    """
    if (ppm_n is None) == (grams_per_litre is None):
        raise Refused(f"give either {option('ppm-n')} or {option('grams-per-litre')}, one of them")
    if elemental:
        analysis = oxide_analysis(analysis)
    if grams_per_litre is None:
        _within("nitrogen", ppm_n or 0.0, 0.0, 5000.0, "mg/L")
        grams_per_litre = grams_for_ppm(analysis, ppm_n or 0.0)
    _within("weight", grams_per_litre, 0.0, 200.0, "g/L")
    if litres is not None:
        _within("water", litres, 0.01, 100000.0, "L")
    found = ppm_from_grams(analysis, grams_per_litre)
    ounces = ounces_for_ppm(analysis[0], found.n, HUNDRED_GALLONS) if analysis[0] > 0 else None
    return {
        "n_ppm": significant(found.n),
        "p_ppm": significant(found.p),
        "k_ppm": significant(found.k),
        "grams_per_litre": significant(grams_per_litre),
        "grams": significant(grams_per_litre * litres) if litres is not None else None,
        "oz_per_100_gal": significant(ounces) if ounces is not None else None,
        "ec_ms_cm": significant(feed_ec(water_ec, found.n, ec_per_100_ppm)),
    }


def bloom(catalog: Catalog, start: date, temp_c: float) -> dict[str, str | None]:
    """Return when a spike of Phalaenopsis opens its first flower at a steady mean temperature, as a band.

    Args:
        catalog: Profiles and tables.
        start: The day of the spike, day 0.
        temp_c: Mean temperature. [°C]

    Raises:
        Refused: The temperature is out of range.
    """
    _within("temperature", temp_c, *TEMP_C, "°C")
    limits = bloom_limits(catalog.profiles["phalaenopsis"])
    if limits is None:  # the check of the tables asks for them
        raise KeyError("bloom limits of phalaenopsis")
    found = bloom_forecast(limits, lambda _: temp_c)
    return {
        name: (start + timedelta(days=days)).isoformat() if days is not None else None
        for name, days in (("earliest", found.earliest), ("likely", found.likely), ("latest", found.latest))
    }


def interval(
    catalog: Catalog,
    medium: str,
    container: str,
    size_cm: float | None,
    *,
    day_c: float,
    night_c: float,
    rh_pct: float,
    air_class: str,
    light_mol: float,
    lamp: bool = False,
    stage: str = "established",
    profile: str = "phalaenopsis",
    factor: float = 1.0,
    settling: bool = False,
) -> dict[str, float]:
    """Return the days between wettings of a plant in steady conditions, and what they are made of.

    Args:
        catalog: Profiles and tables.
        medium: What it stands in.
        container: Its pot.
        size_cm: Top diameter. [cm]
        day_c: Day temperature. [°C]
        night_c: Night temperature. [°C]
        rh_pct: Mean relative humidity. [%]
        air_class: Movement of the air.
        light_mol: Daily light at the plant. [mol m⁻² d⁻¹]
        lamp: Whether the light is a lamp's.
        stage: Its stage.
        profile: The culture it follows.
        factor: Its own pace, ¼ to 4. [-]
        settling: Whether it was potted less than six weeks ago.

    Raises:
        UnknownName: A name is not known.
        Refused: A pair does not exist, or a value is out of range.
    """
    check_pair(catalog, medium, container)
    named("air", air_class, catalog.air_classes)
    named("stage", stage, catalog.stages)
    named("profile", profile, catalog.profiles)
    _check_conditions(day_c, night_c, rh_pct, light_mol, factor)
    state = _state(catalog, medium, container, size_cm, stage, profile)
    terms = terms_of(state, catalog, settling=settling, wait_until_empty=False, spec_day=0)
    demand = relative_demand(
        physics.vapour_pressure_deficit_of_day(day_c, night_c, rh_pct),
        catalog.air_classes[air_class].speed_m_s,
        catalog.containers[terms.container].wind_sensitivity,
        light_mol,
        "lamp" if lamp else "daylight",
        closed=state.is_wrapped,
    )
    raw = raw_interval(terms.product, demand, factor)
    if not isfinite(raw):
        raise Refused(f"in such air nothing dries in a {container}; there is no interval, look at it instead")
    held = held_interval(raw, terms.min_days, terms.max_days)
    return {
        "demand": significant(demand),
        "reference_days": significant(terms.reference_days),
        "raw_days": significant(raw),
        "days": held.days,
        "days_early": int(terms.window_before * terms.scale * held.days),
        "days_late": int(terms.window_after * terms.scale * held.days),
    }


def _state(
    catalog: Catalog, medium: str, container: str, size_cm: float | None, stage: str, profile: str
) -> PlantState:
    """Return a plant that is as described; its reservoir, if any, is in use from rooting-in on."""
    grown = stage in {"rooting-in", "established"}
    reservoir = ("filled" if grown else "empty") if catalog.containers[container].has_reservoir else None
    state = PlantState(
        day=0,
        entry=0,
        written="",
        profile=profile,
        medium=medium,
        container=container,
        size_cm=size_cm,
        place="-",
        hand_stage=stage,
        reservoir=reservoir,
    )
    missing = lacks(state, catalog)
    if missing:
        raise Refused(
            f"the {', '.join(missing)} is needed for {medium} in {container}; give {option('size')} in cm"
        )
    return state


def _check_conditions(day_c: float, night_c: float, rh_pct: float, light_mol: float, factor: float) -> None:
    _within("day temperature", day_c, *TEMP_C, "°C")
    _within("night temperature", night_c, *TEMP_C, "°C")
    _within("humidity", rh_pct, 1.0, 100.0, "%")
    _within("light", light_mol, *LIGHT_MOL, "mol a day")
    _within("factor", factor, 0.25, 4.0, "")


def _within(what: str, value: float, low: float, high: float, unit: str) -> None:
    """Refuse a value outside what is sensible, not a number included."""
    if not low <= value <= high:
        shown = f"{unit and ' '}{unit}"
        raise Refused(f"{what} {value:g}{shown} is out of range; allowed are {low:g} to {high:g}{shown}")
