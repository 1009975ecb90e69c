"""The list of plants and the page of one: what decides its care, its pictures, its log, and every form about it."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any, get_args

from carecal.app.actions.care import CARES
from carecal.app.actions.spans import PAUSED_CARES
from carecal.app.documents import looking, looking_back, pictures_plants, places, why
from carecal.app.setup import plants as setup_plants
from carecal.collection.entry_base import AidName, Flowering, StageName
from carecal.errors import Refused
from carecal.planning.views import view_of
from carecal.web.pages.log import lines_of
from carecal.web.pictures.plants import dry_down_picture, growth_pictures
from carecal.web.pictures.pots import pots_picture
from carecal.wording.tasks import plant_mark

if TYPE_CHECKING:
    from markupsafe import Markup
    from starlette.responses import Response

    from carecal.web.visit import Visit

__all__ = ["show_plant", "show_plants"]

MOST_LOGGED = 12  # entries on the page; the log has all
TROUBLES = ("rot", "virus")


def show_plants(visit: Visit) -> Response:
    """Show every plant with its pot, place, stage and marks."""
    everyone = visit.request.query_params.get("left") == "1"
    rows = setup_plants.plants_of(visit.collection, visit.now, everyone=everyone)
    marks = _marks(visit)
    places_ = sorted({row["place"] or "" for row in rows if row["left"] is None})
    groups = [
        (place, [r for r in rows if r["left"] is None and (r["place"] or "") == place]) for place in places_
    ]
    gone = [row for row in rows if row["left"] is not None]
    return visit.page("pages_plants.html", groups=groups, gone=gone, marks=marks, everyone=everyone)


def _marks(visit: Visit) -> dict[str, str]:
    """Return the mark of each living plant: set apart, on pest-watch, EMPTY ON PURPOSE."""
    planner = visit.collection.planner(visit.now.day)
    ids = {number: line.id for number, line in planner.timeline.plants.items()}
    living = [
        plant_planner
        for plant_planner in planner.plant_planners.values()
        if plant_planner.line.retired is None
    ]
    return {plant_planner.line.id: plant_mark(view_of(plant_planner, ids)) for plant_planner in living}


def show_plant(visit: Visit) -> Response:
    """Show one plant; one that has left shows what is known and its log."""
    plant = str(visit.request.path_params["plant"])
    known = setup_plants.plant_of(visit.collection, visit.now, plant)
    values: dict[str, Any] = {
        "plant": plant,
        "known": known,
        "log": _log(visit, plant),
        "photos": _photos(visit, plant),
    }
    if known["left"] is not None:
        led = (
            looking.hindsight_document(visit.collection, visit.now.day, plant)["departures"]
            if known["left_because"] == "lost"
            else []
        )
        return visit.page(
            "pages_plant_left.html", **values, growth=_growth(visit, plant, known["name"]), hindsight=led
        )
    document = why.why(visit.collection, visit.now.day, plant)
    dried = pictures_plants.dry_down(visit.collection, visit.now, plant)
    return visit.page(
        "pages_plant.html",
        **values,
        why=document,
        drying=dry_down_picture(dried, known["name"]) if dried else None,
        growth=_growth(visit, plant, known["name"]),
        forecasts=_forecasts(visit, plant),
        compared=_compared(visit, plant),
        task=visit.request.query_params.get("task", ""),
        **_choices(visit, plant),
    )


def _growth(visit: Visit, plant: str, name: str) -> tuple[Markup, ...]:
    found = pictures_plants.growth(visit.collection, visit.now, plant)
    return growth_pictures(found, name) if found is not None else ()


def _forecasts(visit: Visit, plant: str) -> list[str]:
    return [row["text"] for row in looking.forecasts_document(visit.collection, visit.now.day, plant)]


def _compared(visit: Visit, plant: str) -> tuple[Markup | None, str]:
    """Return the picture of compared pots, or why there is none; ('', None) where nobody asked."""
    asked = visit.request.query_params
    if asked.get("compare") != "1":
        return None, ""
    media, containers = ([v for v in asked.getlist(name) if v] for name in ("medium", "container"))
    try:
        found = looking.compared_pots(
            visit.collection, visit.now.day, plant, media, containers, asked.get("place") or None
        )
    except Refused as refusal:
        return None, str(refusal)
    return pots_picture(found), ""


def _log(visit: Visit, plant: str) -> list[dict[str, Any]]:
    entries = looking_back.log_of(visit.collection, visit.now, plant=plant)
    return lines_of(entries[-MOST_LOGGED:])


def _photos(visit: Visit, plant: str) -> list[tuple[date, str]]:
    """Return day and name of each picture that lies in the folder, the oldest first."""
    number = visit.collection.number_of(plant)
    line = visit.collection.timeline(visit.now.day, plants={number}).plants.get(number)
    folder = visit.collection.folder / "photos"
    shown = sorted(line.photos) if line is not None else []
    return [(date.fromordinal(day), name) for day, name in shown if (folder / name).is_file()]


def _choices(visit: Visit, plant: str) -> dict[str, Any]:
    """Return what the forms offer to choose from."""
    catalog = visit.collection.catalog
    others = [row["id"] for row in setup_plants.plants_of(visit.collection, visit.now) if row["id"] != plant]
    return {
        "cares": CARES,
        "paused_cares": PAUSED_CARES,
        "media": list(catalog.media),
        "containers": list(catalog.containers),
        "places": [row["place"] for row in places.places_of(visit.collection, visit.now)],
        "others": others,
        "stages": get_args(StageName),
        "flowerings": get_args(Flowering),
        "aid_names": get_args(AidName),
        "gate_names": [name for name, row in catalog.feeding_gates.items() if row.overridable],
        "pests": [*catalog.pests, *(t for t in TROUBLES if t not in catalog.pests)],
        "has_reservoir": [name for name, row in catalog.containers.items() if row.has_reservoir],
    }
