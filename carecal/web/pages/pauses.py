"""Pauses of a care for the whole collection or a place, and the way on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.app.actions import spans as actions_spans
from carecal.app.actions.spans import PAUSED_CARES
from carecal.app.documents import places, spans
from carecal.errors import Refused
from carecal.web.pages.faces import place_names, plant_names
from carecal.web.pages.plant_acts import paused

if TYPE_CHECKING:
    from starlette.responses import Response

    from carecal.web.visit import Visit

__all__ = ["act_pause", "show_pause"]


def show_pause(visit: Visit) -> Response:
    """Show what is paused, with the form that pauses something."""
    collection, now = visit.collection, visit.now
    names = {**plant_names(visit), **place_names(visit)}
    return visit.page(
        "pause.html",
        pauses=[(p, spans.pause_words(p, names)) for p in spans.pauses(collection, now.day)],
        paused_cares=PAUSED_CARES,
        places=[(r["place"], r["name"]) for r in places.places_of(collection, now)],
    )


def act_pause(visit: Visit) -> Response:
    """Pause a care, or let it go on."""
    did = visit.need("do")
    if did == "pause":
        return _pause(visit)
    if did == "resume":
        return _resume(visit)
    raise Refused(f"form '{did[:80]}' is not known; allowed are pause, resume")


def _pause(visit: Visit) -> Response:
    entries = paused(visit, visit.texts("plant"), visit.text("place"))
    return visit.written(visit.write(*entries), f"{visit.need('care').capitalize()} paused", "/pause")


def _resume(visit: Visit) -> Response:
    care = visit.need("care")
    entries = actions_spans.resume(
        *visit.here,
        care,
        visit.texts("plant"),
        place=visit.text("place"),
        on=visit.day("on"),
        for_good=visit.flag("for_good"),
    )
    return visit.written(visit.write(*entries), f"{care.capitalize()} goes on", "/pause")
