"""The rooms of one plant: now, say, why, past, and a small page for each form about it."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any, get_args

from carecal.app.actions.care import CARES
from carecal.app.actions.spans import PAUSED_CARES
from carecal.app.documents import looking, pictures_plants, places, why
from carecal.app.documents.story import story_of
from carecal.app.setup import plants as setup_plants
from carecal.collection.entry_base import AidName, Flowering, StageName
from carecal.errors import Refused, UnknownName
from carecal.web.pages.faces import Face, face_of, faces_of, place_names
from carecal.web.pictures.plants import dry_down_picture, growth_pictures
from carecal.web.pictures.pots import pots_picture, safe_words
from carecal.web.pictures.story import story_picture

if TYPE_CHECKING:
    from markupsafe import Markup
    from starlette.responses import Response

    from carecal.web.visit import Visit

__all__ = ["FORMS", "show_part", "show_plant"]

TROUBLES = ("rot", "virus")
MOST_PAIRS = 6  # of the compared pots that are offered to be taken; the table has all
FORMS = {
    "done": "Care was done",
    "leave": "Looked at and left",
    "pot": "Repotted",
    "move": "Moved",
    "pause": "Pause a care",
    "aid": "Cloth, collar, wrap, stake, shade",
    "reservoir": "Reservoir",
    "quarantine": "Set apart",
    "gate": "Hold feeding open",
    "bloom": "Spike and bloom",
    "treat": "Done against a pest or rot",
    "tried": "What is tried",
    "part": "Part it from its mother",
    "missed": "A wetting did not happen",
    "weigh": "Weigh the pot",
    "feed-ppm": "Feed it at another strength",
    "rename": "Rename",
    "retire": "It left",
}
"""Forms with a page of their own, in the order they are listed."""


def show_plant(visit: Visit) -> Response:
    """Show how a plant stands now, what comes next, and what is likely to be said of it."""
    values = _plant(visit)
    if values["known"]["left"] is not None:
        return _past(visit, values)
    plant = values["plant"]
    document = why.why(visit.collection, visit.now.day, plant)
    return visit.page(
        "plant_now.html",
        **values,
        why=document,
        room="now",
        forms=_forms(values, document),
        next=document["next"][0] if document["next"] else None,
        cares=CARES,
    )


def _asks(visit: Visit, values: dict[str, Any]) -> str:
    """Return what the look asks for that is being answered; '' for any other word."""
    task = visit.asked("task")
    coming = why.why(visit.collection, visit.now.day, values["plant"])["next"] if task else []
    return next((str(row["asks"]) for row in coming if row["task"] == task), "")


def show_part(visit: Visit) -> Response:
    """Show another room of a plant, or the page of one form.

    Raises:
        UnknownName: There is no such room.
    """
    part = str(visit.request.path_params["part"])
    values = _plant(visit)
    if part == "story":
        return _past(visit, values)
    if values["known"]["left"] is not None:
        return visit.go(f"/plants/{values['plant']}")
    if part == "say":
        return visit.page(
            "plant_say.html",
            **values,
            room="say",
            task=visit.asked("task"),
            asks=_asks(visit, values),
            forms=_forms(values, None),
            **_choices(visit, values["plant"]),
        )
    if part == "why":
        return _why(visit, values)
    if part not in FORMS:
        raise UnknownName("page", part[:40])
    found = _compared(visit, values["plant"]) if part == "pot" else ((), None, "")
    return visit.page(
        "plant_form.html",
        **values,
        room="say",
        part=part,
        title=FORMS[part],
        asked=visit.asked,
        why=why.why(visit.collection, visit.now.day, values["plant"]),
        pairs=found[0],
        picture=found[1],
        problem=found[2],
        **_choices(visit, values["plant"]),
    )


def _plant(visit: Visit) -> dict[str, Any]:
    """Return what every room shows of its plant: what is known, its face, and the others beside it."""
    plant = str(visit.request.path_params["plant"])
    known = setup_plants.plant_of(visit.collection, visit.now, plant)
    line = visit.timeline.plants[known["number"]]
    names = place_names(visit)
    here = names.get(known["place"] or "", "Its place")
    if known["does_not_suit"]:
        known["does_not_suit"] = [
            f"{here} does not suit it: {text}"
            for text in places.misfits(visit.collection, visit.now, plant, line.latest)
        ]
    return {
        "plant": plant,
        "known": known,
        "face": face_of(visit, line),
        "places": names,
        "photos": _photos(visit, line.photos),
        "beside": _beside(visit),
    }


def _beside(visit: Visit) -> list[tuple[str, str, Face]]:
    """Return the plants that stand in the list beside a plant where there is room."""
    faces = faces_of(visit)
    rows = setup_plants.plants_of(visit.collection, visit.now)
    return [
        (row["id"], row["name"], faces[row["id"]]) for row in sorted(rows, key=lambda r: r["name"].casefold())
    ]


def _forms(values: dict[str, Any], document: dict[str, Any] | None) -> list[tuple[str, str]]:
    """Return the forms that can be meant for a plant, the likely ones first."""
    known, likely = values["known"], []
    if known["mother"] is None:
        likely.append("pot")
    likely.append("move")
    if document is not None and known["flowering"] != "none":
        likely.append("bloom")
    if document is not None and "pest-watch" in document["states"]:
        likely.insert(0, "treat")
    hidden = {"done"} if document is not None else set()  # it stands above the others there
    if document is not None and any(gate["unfed"] for gate in document["gates"]):
        hidden |= {"gate"}
    hidden |= {"part"} if known["mother"] is None else {"pot", "reservoir"}
    hidden |= {"reservoir"} if known["reservoir"] is None else set()
    rest = [name for name in FORMS if name not in likely]
    return [(name, FORMS[name]) for name in (*likely, *rest) if name not in hidden]


def _why(visit: Visit, values: dict[str, Any]) -> Response:
    plant, name = values["plant"], values["known"]["name"]
    document = why.why(visit.collection, visit.now.day, plant)
    dried = pictures_plants.dry_down(visit.collection, visit.now, plant)
    forecasts = [row["text"] for row in looking.forecasts_document(visit.collection, visit.now.day, plant)]
    return visit.page(
        "plant_why.html",
        **values,
        why=document,
        room="why",
        drying=dry_down_picture(dried, name) if dried else None,
        forecasts=forecasts,
    )


def _past(visit: Visit, values: dict[str, Any]) -> Response:
    plant, name = values["plant"], values["known"]["name"]
    story = story_of(visit.collection, visit.now, plant)
    led = (
        looking.hindsight_document(visit.collection, visit.now.day, plant)["departures"]
        if values["known"]["left_because"] == "lost"
        else []
    )
    found = pictures_plants.growth(visit.collection, visit.now, plant)
    growth: tuple[Markup, ...] = growth_pictures(found, name) if found is not None else ()
    two = (visit.asked("then"), visit.asked("now"))
    return visit.page(
        "plant_past.html",
        **values,
        room="past",
        story=story,
        picture=story_picture(story),
        growth=growth,
        hindsight=led,
        two=_two(values["photos"], two),
    )


def _two(photos: list[tuple[date, str]], asked: tuple[str, str]) -> list[tuple[date, str]]:
    """Return the two pictures that stand side by side: those asked for, else the first and the last."""
    if len(photos) < 2:
        return list(photos)
    known = {name: (day, name) for day, name in photos}
    return [known.get(asked[0], photos[0]), known.get(asked[1], photos[-1])]


def _compared(visit: Visit, plant: str) -> tuple[list[dict[str, Any]], Markup | None, str]:
    """Return the pots that fit best with their picture, or why there are none; nothing where nobody asked."""
    asked = visit.request.query_params
    if asked.get("compare") != "1":
        return [], None, ""
    media, containers = ([v for v in asked.getlist(name) if v] for name in ("medium", "container"))
    try:
        found = looking.compared_pots(
            visit.collection, visit.now.day, plant, media, containers, asked.get("place") or None
        )
    except Refused as refusal:
        return [], None, str(refusal)
    pairs = [{**pair, "safe_words": safe_words(pair)} for pair in found["pairs"][:MOST_PAIRS]]
    return pairs, pots_picture(found), ""


def _photos(visit: Visit, photos: list[tuple[int, str]]) -> list[tuple[date, str]]:
    """Return day and name of each picture that lies in the folder, the oldest first."""
    folder = visit.collection.folder / "photos"
    return [(date.fromordinal(day), name) for day, name in sorted(photos) if (folder / name).is_file()]


def _choices(visit: Visit, plant: str) -> dict[str, Any]:
    """Return what the forms offer to choose from."""
    catalog = visit.collection.catalog
    rows = setup_plants.plants_of(visit.collection, visit.now)
    return {
        "cares": CARES,
        "paused_cares": PAUSED_CARES,
        "media": list(catalog.media),
        "containers": list(catalog.containers),
        "place_ids": [(row["place"], row["name"]) for row in places.places_of(visit.collection, visit.now)],
        "others": [(row["id"], row["name"]) for row in rows if row["id"] != plant],
        "rests": any(catalog.profiles[row["profile"]].rest_from_month for row in rows if row["id"] == plant),
        "tries": [(row.name, row.does) for row in sorted(catalog.tries.values(), key=lambda row: row.order)],
        "treatments": [(row.treatment, row.describes) for row in catalog.treatments.values()],
        "stages": get_args(StageName),
        "flowerings": get_args(Flowering),
        "aid_names": get_args(AidName),
        "gate_names": [name for name, row in catalog.feeding_gates.items() if row.overridable],
        "pests": [*catalog.pests, *(t for t in TROUBLES if t not in catalog.pests)],
        "has_reservoir": [name for name, row in catalog.containers.items() if row.has_reservoir],
    }
