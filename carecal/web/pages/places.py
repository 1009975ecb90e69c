"""The places: who stands there, the year's warmth, what does not suit; readings, rain and changes as forms."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from carecal.app.actions import pots as actions_pots
from carecal.app.documents import pictures, places
from carecal.app.sensors import addresses as sensors
from carecal.app.setup import forecasts
from carecal.app.setup import places as setup_places
from carecal.app.setup.plants import plants_of
from carecal.app.setup.shade import shade as shade_entry
from carecal.errors import Refused
from carecal.web.pages.calendars import address_of
from carecal.web.pages.faces import plant_names
from carecal.web.pictures.climate import air_and_light, climate_picture

if TYPE_CHECKING:
    from markupsafe import Markup
    from starlette.responses import Response

    from carecal.web.visit import Visit

__all__ = ["act_places", "kinds_of", "place_values", "show_places"]

MOST_READINGS = 8_000_000  # a logger's file of years [B]


def _unfit(visit: Visit, place: str) -> list[tuple[list[str], str]]:
    """Return what of a place does not suit, each with the names of the plants there that it does not suit."""
    found: dict[str, list[str]] = {}
    for line in visit.timeline.living():
        if line.latest.place == place:
            for text in places.misfits(visit.collection, visit.now, line.id, line.latest):
                found.setdefault(text, []).append(line.name or line.id)
    return [(names, text) for text, names in found.items()]


def show_places(visit: Visit, fresh: str = "", place: str = "") -> Response:
    """Show every place; `?place=` opens one with its picture, so that the list stays quick.

    Args:
        visit: The request.
        fresh: The address of a sensor that was just made, shown this once.
        place: The place to open; '' for the one that is asked for.
    """
    rows = places.places_of(visit.collection, visit.now)
    wanted = place or visit.asked("place") or (rows[0]["place"] if rows else "")
    shown = places.place_of(visit.collection, visit.now, wanted) if wanted else None
    return visit.page(
        "pages_places.html",
        rows=rows,
        shown=shown,
        remarks=_unfit(visit, wanted),
        picture=_picture(visit, wanted) if wanted else None,
        names=plant_names(visit),
        more=air_and_light(shown, visit.now.day.year, _bears(visit, shown))
        if shown and shown["months"]
        else [],
        is_outdoors=shown is not None and visit.collection.catalog.place_kinds[shown["kind"]].outdoors,
        kinds=kinds_of(visit),
        aspects=setup_places.ASPECTS,
        fresh=fresh,
    )


def _bears(visit: Visit, shown: dict[str, Any]) -> dict[str, float]:
    """Return the least humidity and light that the plants of a place ask for, the most demanding of them."""
    profiles, standing = visit.collection.catalog.profiles, set(shown["plants"])
    kinds = {row["profile"] for row in plants_of(visit.collection, visit.now) if row["id"] in standing}
    known = [profiles[kind] for kind in kinds if kind in profiles]
    if not known:
        return {}
    return {
        "rh_pct": max(profile.rh_low for profile in known),
        "light_mol_m2_d": max(profile.light_mol_low or 0.0 for profile in known),
    }


def kinds_of(visit: Visit) -> list[tuple[str, str]]:
    """Return the kinds of place with what each is."""
    return [
        (row.kind, f"{row.kind.replace('-', ' ')}: {row.describes}")
        for row in visit.collection.catalog.place_kinds.values()
    ]


def _picture(visit: Visit, place: str) -> Markup | None:
    year = pictures.climate_year(visit.collection, visit.now, place)
    return climate_picture(year, visit.units) if year is not None else None


def place_values(visit: Visit) -> dict[str, Any]:
    """Return what a form says of a place: pairs of day and night, lamp, aspect."""
    return {
        "name": visit.text("name"),
        "aspect": visit.text("aspect"),
        "winter": _pair(visit, "winter"),
        "summer": _pair(visit, "summer"),
        "lamp_ppfd": visit.number("lamp"),
        "lamp_hours": visit.number("hours"),
    }


def _pair(visit: Visit, season: str) -> tuple[float, float] | None:
    day, night = visit.number(f"{season}_day"), visit.number(f"{season}_night")
    if (day is None) != (night is None):
        raise Refused(f"{season} needs both, the day's and the night's temperature")
    return (day, night) if day is not None and night is not None else None


def act_places(visit: Visit) -> Response:
    """Take a form of the places' page."""
    did, place = visit.need("do"), visit.need("place")
    to = f"/places?place={place}"
    if did == "change":
        entry = setup_places.change_place(
            *visit.here,
            place,
            kind=visit.text("kind"),
            on=visit.day("on"),
            **place_values(visit),
        )
        return visit.written(visit.write(entry), f"{place}: changed", to)
    if did == "rain":
        entries = setup_places.rain(*visit.here, place, on=visit.day("on"))
        return visit.written(visit.write(*entries), f"Rain at {place} written down", to)
    if did == "clear":
        other = visit.need("to")
        entries = actions_pots.move_all(*visit.here, place, other, on=visit.day("on"))
        ids = [entry.plant for entry in entries if hasattr(entry, "plant")]
        remarks = places.moved_remarks(*visit.here, ids, other)
        return visit.written(visit.write(*entries), f"All of {place} moved to {other}", to, remarks)
    if did == "forecast":
        told = forecasts.forecast(
            *visit.here,
            place,
            night_c=visit.number("night"),
            day_c=visit.number("high"),
            on=visit.day("on"),
        )
        return visit.written(visit.write(told), f"Forecast for {place} written down", to)
    if did == "shade":
        shaded = shade_entry(*visit.here, place, to=visit.need("to"), on=visit.day("on"))
        return visit.written(visit.write(shaded), f"Shade at {place}: {shaded.to}", to)
    if did == "readings":
        return _readings(visit, place, to)
    if did == "sensor":
        path = sensors.add_sensor(*visit.here, place)
        return show_places(visit, address_of(visit, path), place)
    if did == "sensor-end":
        sensors.revoke_sensor(*visit.here, place)
        return visit.say(f"The sensor at {place} is not heard any more; what it said stays", to)
    allowed = "change, rain, clear, forecast, shade, readings, sensor, sensor-end"
    raise Refused(f"form '{did[:80]}' is not known; allowed are {allowed}")


def _readings(visit: Visit, place: str, to: str) -> Response:
    data = visit.upload("file")
    if data is None:
        raise Refused("no file was sent; choose the logger's file")
    if len(data) > MOST_READINGS:
        raise Refused(
            f"the file has {len(data) / 1e6:.0f} MB; allowed are up to {MOST_READINGS / 1e6:.0f} MB"
        )
    with tempfile.TemporaryDirectory(prefix="carecal-") as folder:
        file = Path(folder) / "readings.csv"
        file.write_bytes(data)
        entry, columns = setup_places.readings(*visit.here, place, file)
    return visit.written(visit.write(entry), f"Readings of {place} read", to, columns)
