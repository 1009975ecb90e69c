"""Settings: weekdays, ticking, units, the address; absences, pauses, supplies, sides; new plants and places."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, get_args

from carecal.app.actions import spans as actions_spans
from carecal.app.actions.spans import PAUSED_CARES
from carecal.app.documents import places, spans
from carecal.app.people import sitters
from carecal.app.setup import places as setup_places
from carecal.app.setup import plants as setup_plants
from carecal.app.setup import settings as setup
from carecal.collection.entry_base import AidName, Flowering, StageName
from carecal.errors import Refused
from carecal.planning.spans import WEEKDAYS
from carecal.web.pages.away import AWAY_ACTS
from carecal.web.pages.places import kinds_of, place_values
from carecal.web.pages.plant_acts import paused

if TYPE_CHECKING:
    from collections.abc import Callable

    from starlette.responses import Response

    from carecal.web.visit import Visit

__all__ = ["act_settings", "show_settings"]

_NO_ID = re.compile(r"[^a-z0-9]+")
NEW_TEXTS = ("profile", "medium", "container", "place", "stage", "flowering", "on_mother", "note")
NEW_COUNTS = ("roots", "tips", "leaves")
NEW_DAYS = ("came", "potted", "watered")


def show_settings(visit: Visit) -> Response:
    """Show every setting with its form."""
    collection, now, catalog = visit.collection, visit.now, visit.collection.catalog
    return visit.page(
        "pages_settings.html",
        settings=setup.settings_of(collection, now),
        weekdays=WEEKDAYS,
        absences=[(a["entry"], spans.absence_text(a)) for a in spans.absences(collection, now.day)],
        pauses=[(p, spans.pause_text(p)) for p in spans.pauses(collection, now.day)],
        paused_cares=PAUSED_CARES,
        sides=setup.sides_of(collection, now),
        sitters=sitters.sitters_of(collection, now),
        kinds=kinds_of(visit),
        aspects=setup_places.ASPECTS,
        plants=[row["id"] for row in setup_plants.plants_of(collection, now)],
        profiles=sorted(catalog.profiles),
        places=[row["place"] for row in places.places_of(collection, now)],
        media=list(catalog.media),
        containers=list(catalog.containers),
        stages=get_args(StageName),
        flowerings=get_args(Flowering),
        aid_names=get_args(AidName),
    )


def act_settings(visit: Visit) -> Response:
    """Take one of the page's forms."""
    did = visit.need("do")
    if did not in ACTS:
        raise Refused(f"form '{did[:80]}' is not known")
    return ACTS[did](visit)


def _setting(visit: Visit) -> Response:
    key = visit.need("key")
    value = ",".join(visit.texts("value")) or "none"
    return visit.written(visit.write(setup.setting(visit.real, key, value)), f"{key}: {value}", "/settings")


def _pause(visit: Visit) -> Response:
    entries = paused(visit, visit.texts("plant"), visit.text("place"))
    return visit.written(
        visit.write(*entries), f"{visit.need('care').capitalize()} paused", "/settings#pauses"
    )


def _resume(visit: Visit) -> Response:
    care = visit.need("care")
    entries = actions_spans.resume(
        visit.collection,
        visit.real,
        care,
        visit.texts("plant"),
        place=visit.text("place"),
        on=visit.day("on"),
        for_good=visit.flag("for_good"),
    )
    return visit.written(visit.write(*entries), f"{care.capitalize()} goes on", "/settings#pauses")


def _plant(visit: Visit) -> Response:
    name = visit.need("name")
    plant = visit.text("id") or _NO_ID.sub("-", name.casefold()).strip("-")[:40]
    if not plant:
        raise Refused(f"no id can be made from '{name}'; give one of small letters and digits")
    values: dict[str, Any] = {key: visit.text(key) for key in NEW_TEXTS}
    values |= {key: visit.count(key) for key in NEW_COUNTS} | {key: visit.day(key) for key in NEW_DAYS}
    values |= {"size_cm": visit.number("size"), "longest_mm": visit.number("longest")}
    values |= {"aids": tuple(visit.texts("aid"))} if visit.texts("aid") else {}
    entry = setup_plants.add_plant(visit.collection, visit.real, plant, name=name, **values)
    remarks = setup_plants.newcomer_remarks(visit.collection, visit.real, entry)
    to = "/settings#plant" if visit.is_trial else f"/plants/{plant}"
    return visit.written(visit.write(entry), f"{name} joins the collection", to, remarks)


def _place(visit: Visit) -> Response:
    place = visit.need("place")
    entry = setup_places.add_place(
        visit.collection, visit.real, place, visit.need("kind"), **place_values(visit)
    )
    to = "/settings#place" if visit.is_trial else f"/places?place={place}"
    return visit.written(visit.write(entry), f"Place {place} added", to)


def _fertiliser(visit: Visit) -> Response:
    shares = [visit.number(key) for key in ("n", "p", "k")]
    known = [share for share in shares if share is not None]
    if len(known) < len(shares):
        raise Refused("the analysis needs all three numbers of the label: N, P and K")
    entry = setup.fertiliser(visit.real, visit.need("name"), known, label_rate_g_per_l=visit.number("rate"))
    return visit.written(visit.write(entry), "Fertiliser written down", "/settings#supplies")


def _water(visit: Visit) -> Response:
    ec = visit.number("ec")
    if ec is None:
        raise Refused("the conductivity is missing; give it in mS/cm")
    return visit.written(
        visit.write(setup.water(visit.real, visit.need("name"), ec)),
        "Water written down",
        "/settings#supplies",
    )


def _side(visit: Visit) -> Response:
    entry = setup.side(visit.collection, visit.real, visit.need("key"), visit.need("side"))
    return visit.written(visit.write(entry), "Side taken", "/settings#sides")


ACTS: dict[str, Callable[[Visit], Response]] = {
    "setting": _setting, **AWAY_ACTS, "pause": _pause, "resume": _resume, "plant": _plant,
    "place": _place, "fertiliser": _fertiliser, "water": _water, "side": _side,
}  # fmt: skip
