"""Add: a new plant, a new place; only a name is needed, an id is made of it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, get_args
from unicodedata import combining, normalize

from carecal.app.documents import places
from carecal.app.setup import places as setup_places
from carecal.app.setup import plants as setup_plants
from carecal.collection.entry_base import AidName, Flowering, StageName
from carecal.errors import Refused
from carecal.web.pages.places import kinds_of, place_values

if TYPE_CHECKING:
    from starlette.responses import Response

    from carecal.web.visit import Visit

__all__ = ["act_add", "id_of", "show_add"]

_NO_ID = re.compile(r"[^a-z0-9]+")
_DROPPED = re.compile("['\u2019`]")
_SPELT = str.maketrans({"ß": "ss", "ø": "o", "đ": "d", "ł": "l", "æ": "ae", "œ": "oe", "þ": "th", "ð": "d"})
LONGEST_ID = 40
NEW_TEXTS = ("profile", "medium", "container", "place", "stage", "flowering", "on_mother", "note")
NEW_COUNTS = ("roots", "tips", "leaves")
NEW_DAYS = ("came", "potted", "watered")


def show_add(visit: Visit) -> Response:
    """Show the form of a new plant, and of a new place."""
    collection, now, catalog = visit.collection, visit.now, visit.collection.catalog
    rows = setup_plants.plants_of(collection, now)
    return visit.page(
        "add.html",
        kinds=kinds_of(visit),
        aspects=setup_places.ASPECTS,
        profiles=sorted(catalog.profiles),
        plants=[(row["id"], row["name"]) for row in rows],
        media=list(catalog.media),
        containers=list(catalog.containers),
        places=[(row["place"], row["name"]) for row in places.places_of(collection, now)],
        stages=get_args(StageName),
        flowerings=get_args(Flowering),
        aid_names=get_args(AidName),
        what=visit.asked("what"),
    )


def act_add(visit: Visit) -> Response:
    """Take one of the page's forms."""
    did = visit.need("do")
    if did == "plant":
        return _plant(visit)
    if did == "place":
        return _place(visit)
    raise Refused(f"form '{did[:80]}' is not known; allowed are plant, place")


def id_of(name: str) -> str:
    """Return the id that is made of a name, as 'zoe-unals' of 'Zoë Ünal\u2019s'; '' where no letter of it is Latin."""
    bare = _DROPPED.sub("", name.casefold()).translate(_SPELT)
    bare = "".join(sign for sign in normalize("NFKD", bare) if not combining(sign))
    return _NO_ID.sub("-", bare).strip("-")[:LONGEST_ID].strip("-")


def _free_id(name: str, taken: set[str], what: str) -> str:
    """Return an id of a name that nobody has yet: 'tide', else 'tide-2'."""
    found = id_of(name) or what
    return next(
        i for n in range(1, len(taken) + 2) if (i := found if n == 1 else f"{found}-{n}") not in taken
    )


def _plant(visit: Visit) -> Response:
    name = visit.need("name")
    known = set(visit.collection.journal.ids()) | set(visit.collection.journal.added_ids().values())
    plant = visit.text("id") or _free_id(name, known, "plant")
    values: dict[str, Any] = {key: visit.text(key) for key in NEW_TEXTS}
    values |= {key: visit.count(key) for key in NEW_COUNTS} | {key: visit.day(key) for key in NEW_DAYS}
    values |= {"size_cm": visit.number("size"), "longest_mm": visit.number("longest")}
    values |= {"aids": tuple(visit.texts("aid"))} if visit.texts("aid") else {}
    entry = setup_plants.add_plant(*visit.here, plant, name=name, **values)
    remarks = setup_plants.newcomer_remarks(*visit.here, entry)
    to = "/add" if visit.is_trial else f"/plants/{plant}"
    return visit.written(visit.write(entry), f"{name} joins the collection", to, remarks)


def _place(visit: Visit) -> Response:
    known = {row["place"] for row in places.places_of(visit.collection, visit.now)}
    place = visit.text("place") or _free_id(visit.need("name"), known, "place")
    entry = setup_places.add_place(*visit.here, place, visit.need("kind"), **place_values(visit))
    to = "/add" if visit.is_trial else f"/places?place={place}"
    return visit.written(visit.write(entry), f"Place {place} added", to)
