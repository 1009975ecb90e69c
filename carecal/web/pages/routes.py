"""The addresses of the grower's pages, but for the round's own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.app.files.photos import MOST_BYTES
from carecal.web.pages.ahead import act_ahead, show_ahead
from carecal.web.pages.away import FILE_BYTES
from carecal.web.pages.calendars import act_calendars, show_calendars
from carecal.web.pages.frame import FORM_BYTES, owner_route
from carecal.web.pages.log import act_log, show_log, show_year
from carecal.web.pages.places import MOST_READINGS, act_places, show_places
from carecal.web.pages.plant_acts import act_plant
from carecal.web.pages.plants import show_plant, show_plants
from carecal.web.pages.settings import act_settings, show_settings
from carecal.web.photos import show_photo

if TYPE_CHECKING:
    from starlette.routing import Route

    from carecal.web.site import Site

__all__ = ["page_routes"]


def page_routes(site: Site) -> list[Route]:
    """Return the routes of every page of the owner beside the round."""
    return [
        owner_route(site, "/plants", show_plants),
        owner_route(site, "/plants/{plant}", show_plant, act_plant, limit=MOST_BYTES + FORM_BYTES),
        owner_route(site, "/photos/{name}", show_photo),
        owner_route(site, "/places", show_places, act_places, limit=MOST_READINGS + FORM_BYTES),
        owner_route(site, "/ahead", show_ahead, act_ahead),
        owner_route(site, "/log", show_log, act_log),
        owner_route(site, "/year", show_year),
        owner_route(site, "/calendars", show_calendars, act_calendars),
        owner_route(site, "/settings", show_settings, act_settings, limit=FILE_BYTES + FORM_BYTES),
    ]
