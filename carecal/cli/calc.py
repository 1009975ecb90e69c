"""`calc`: the arithmetic behind the plan; it needs no collection, and uses its own tables where there is one."""

from __future__ import annotations

from datetime import date
from typing import Any

import click

from carecal.app.documents import calc as app
from carecal.catalog.load import load_catalog
from carecal.catalog.tables import Catalog
from carecal.cli.context import Session, pass_session
from carecal.cli.lazy import SuggestingGroup
from carecal.cli.show import columns, grams, temperature
from carecal.cli.types import ANALYSIS, DAY, NUMBER, SIZE
from carecal.collection.database import FILE_NAME

__all__ = ["calc"]

LITRES_PER_GALLON = app.LITRES_PER_GALLON


@click.group(cls=SuggestingGroup, short_help="Work out air, daylight, intervals, mixes and bloom.")
def calc() -> None:
    """Work out air, daylight, intervals, mixes and bloom."""


def _catalog(session: Session) -> Catalog:
    if (session.folder / FILE_NAME).is_file():
        return session.open(readonly=True).catalog
    return load_catalog(None)


@calc.command("air", short_help="Vapour pressure, dew point, wet bulb.")
@click.option("--temp", "temp_c", type=NUMBER, required=True, help="Air temperature. [°C]")
@click.option("--rh", "rh_pct", type=NUMBER, required=True, help="Relative humidity. [%]")
@click.option(
    "--elevation",
    "elevation_m",
    type=NUMBER,
    default=0.0,
    show_default=True,
    help="Height above the sea. [m]",
)
@click.option(
    "--air", "air_class", default="room", show_default=True, help="still, room, gentle, breezy or windy."
)
@pass_session
def air(session: Session, temp_c: float, rh_pct: float, elevation_m: float, air_class: str) -> None:
    """Vapour pressure, dew point, wet bulb, and how far air cools the wet medium of each container."""
    found: dict[str, Any] = app.air(
        _catalog(session), temp_c, rh_pct, elevation_m=elevation_m, air_class=air_class
    )
    rows: list[tuple[str, str]] = [
        ("saturation", f"{found['svp_kpa']:.4g} kPa"),
        ("deficit (VPD)", f"{found['vpd_kpa']:.4g} kPa"),
        ("dew point", temperature(found["dew_point_c"], session.units)),
        ("wet bulb", temperature(found["wet_bulb_c"], session.units)),
        *((f"medium in {name}", temperature(value, session.units)) for name, value in found["pots"].items()),
    ]
    session.emit(found, columns(rows))


@calc.command("daylight")
@click.option("--latitude", type=NUMBER, required=True, help="Degrees north; south is negative.")
@click.option("--on", type=DAY, help="The date; else today.")
@pass_session
def daylight(session: Session, latitude: float, on: date | None) -> None:
    """Hours of daylight on a date."""
    found = app.daylight(latitude, on or session.now().day)
    session.emit(
        found,
        columns(
            [
                ("geometric", f"{found['geometric_hours']:.2f} h"),
                ("sunrise to sunset", f"{found['sunrise_sunset_hours']:.2f} h"),
            ]
        ),
    )


@calc.command("mix", short_help="What a fertiliser gives in water.")
@click.option("--analysis", type=ANALYSIS, required=True, help="N-P-K of the label, as 20-20-20. [%]")
@click.option("--elemental", is_flag=True, help="The label prints P and K as elements, not as P₂O₅ and K₂O.")
@click.option("--ppm-n", type=NUMBER, help="Nitrogen wanted. [mg/L]")
@click.option("--grams-per-litre", type=NUMBER, help="Fertiliser taken. [g/L]")
@click.option("--litres", type=NUMBER, help="Water. [L]")
@click.option("--gallons", type=NUMBER, help="Water. [US gal]")
@click.option(
    "--water-ec", type=NUMBER, default=0.0, show_default=True, help="Conductivity of the water. [mS/cm]"
)
@click.option(
    "--ec-per-100-ppm",
    type=NUMBER,
    default=app.EC_PER_100_PPM,
    show_default=True,
    help="What 100 mg/L of N add. [mS/cm]",
)
@pass_session
def mix(
    session: Session,
    analysis: tuple[float, float, float],
    ppm_n: float | None,
    grams_per_litre: float | None,
    litres: float | None,
    gallons: float | None,
    water_ec: float,
    ec_per_100_ppm: float,
    *,
    elemental: bool,
) -> None:
    """What a fertiliser gives in water; the label decides over all of it."""
    if litres is not None and gallons is not None:
        raise click.UsageError("--litres and --gallons exclude each other")
    if (ppm_n is None) == (grams_per_litre is None):
        raise click.UsageError("give either --ppm-n or --grams-per-litre, one of them")
    if gallons is not None:
        litres = gallons * LITRES_PER_GALLON
    found = app.mix(
        analysis,
        ppm_n=ppm_n,
        grams_per_litre=grams_per_litre,
        litres=litres,
        water_ec=water_ec,
        ec_per_100_ppm=ec_per_100_ppm,
        elemental=elemental,
    )
    rows = [
        ("nitrogen", f"{found['n_ppm']:.4g} mg/L"),
        ("phosphorus", f"{found['p_ppm']:.4g} mg/L"),
        ("potassium", f"{found['k_ppm']:.4g} mg/L"),
        ("fertiliser", f"{found['grams_per_litre']:.4g} g/L"),
    ]
    if found["grams"] is not None:
        rows.append(("in the can", grams(found["grams"], session.units)))
    if found["oz_per_100_gal"] is not None:
        rows.append(("as ounces", f"{found['oz_per_100_gal']:.4g} oz in 100 gal"))
    rows.append(("conductivity", f"{found['ec_ms_cm']:.3g} mS/cm, an estimate"))
    session.emit(found, columns(rows))


@calc.command("bloom")
@click.option("--from", "start", type=DAY, required=True, help="Day on which the spike was seen.")
@click.option("--temp", "temp_c", type=NUMBER, required=True, help="Mean temperature. [°C]")
@pass_session
def bloom(session: Session, start: date, temp_c: float) -> None:
    """When a spike opens its first flower, as a band; for Phalaenopsis."""
    found = app.bloom(_catalog(session), start, temp_c)
    rows = [(name, value or "not at this temperature") for name, value in found.items()]
    session.emit(found, columns(rows))


@calc.command("interval", short_help="Days between wettings in steady conditions.")
@click.option("--medium", required=True, help="What it stands in.")
@click.option("--container", required=True, help="Its pot.")
@click.option("--size", "size_cm", type=SIZE, help="Top diameter of the pot. [cm]")
@click.option("--day", "day_c", type=NUMBER, required=True, help="Day temperature. [°C]")
@click.option("--night", "night_c", type=NUMBER, required=True, help="Night temperature. [°C]")
@click.option("--rh", "rh_pct", type=NUMBER, required=True, help="Mean relative humidity. [%]")
@click.option("--air", "air_class", required=True, help="still, room, gentle, breezy or windy.")
@click.option("--light", "light_mol", type=NUMBER, required=True, help="Daily light at the plant. [mol/m²]")
@click.option("--lamp", is_flag=True, help="The light is a lamp's.")
@click.option("--stage", default="established", show_default=True, help="Its stage.")
@click.option("--profile", default="phalaenopsis", show_default=True, help="The culture it follows.")
@click.option("--factor", type=NUMBER, default=1.0, show_default=True, help="Its own pace.")
@click.option("--settling", is_flag=True, help="Potted less than six weeks ago.")
@pass_session
def interval(session: Session, medium: str, container: str, size_cm: float | None, **conditions: Any) -> None:
    """Days between wettings in steady conditions, and what they are made of."""
    found = app.interval(_catalog(session), medium, container, size_cm, **conditions)
    rows = [
        ("demand", f"{found['demand']:.3g} of the reference"),
        ("reference", f"{found['reference_days']:.3g} days"),
        ("by the numbers", f"{found['raw_days']:.3g} days"),
        ("every", f"{found['days']:g} days"),
        ("may slip", f"{found['days_early']:g} early, {found['days_late']:g} late"),
    ]
    session.emit(found, columns(rows))
