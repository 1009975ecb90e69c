"""The addresses of the grower's pages, but for the round's own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.app.files.photos import MOST_BYTES
from carecal.web.pages.add import act_add, show_add
from carecal.web.pages.ahead import act_ahead, show_ahead, show_bench
from carecal.web.pages.away import FILE_BYTES, act_away, show_away
from carecal.web.pages.calendars import act_calendars, show_calendars
from carecal.web.pages.frame import FORM_BYTES, owner_route
from carecal.web.pages.labels import show_labels, show_sheet
from carecal.web.pages.log import act_log, show_log
from carecal.web.pages.pauses import act_pause, show_pause
from carecal.web.pages.places import MOST_READINGS, act_places, show_places
from carecal.web.pages.plant_acts import act_plant
from carecal.web.pages.plants import show_part, show_plant
from carecal.web.pages.plants_list import show_plants
from carecal.web.pages.settings import act_settings, show_settings
from carecal.web.pages.year import show_year
from carecal.web.photos import show_photo
from carecal.web.story_file import show_story_file

if TYPE_CHECKING:
    from starlette.routing import Route

    from carecal.web.site import Site

__all__ = ["page_routes"]


def page_routes(site: Site) -> list[Route]:
    """Return the routes of every page of the owner beside the round."""
    return [
        owner_route(site, "/plants", show_plants),
        owner_route(site, "/plants/{plant}", show_plant, act_plant, limit=MOST_BYTES + FORM_BYTES),
        owner_route(site, "/plants/{plant}/story.html", show_story_file),
        owner_route(site, "/plants/{plant}/{part}", show_part, act_plant, limit=MOST_BYTES + FORM_BYTES),
        owner_route(site, "/photos/{name}", show_photo),
        owner_route(site, "/add", show_add, act_add),
        owner_route(site, "/away", show_away, act_away, limit=FILE_BYTES + FORM_BYTES),
        owner_route(site, "/pause", show_pause, act_pause),
        owner_route(site, "/labels", show_labels),
        owner_route(site, "/labels/{file}", show_sheet),
        owner_route(site, "/places", show_places, act_places, limit=MOST_READINGS + FORM_BYTES),
        owner_route(site, "/ahead", show_ahead, act_ahead),
        owner_route(site, "/ahead/bench", show_bench),
        owner_route(site, "/log", show_log, act_log),
        owner_route(site, "/year", show_year),
        owner_route(site, "/calendars", show_calendars, act_calendars),
        owner_route(site, "/settings", show_settings, act_settings),
    ]
