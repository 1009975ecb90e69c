"""The year: who came, lives, was lost and why, its care days, and what the plants taught."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.app.documents import pictures
from carecal.app.documents.year import survival_lines, year_of
from carecal.web.pictures.days import year_picture

if TYPE_CHECKING:
    from starlette.responses import Response

    from carecal.web.visit import Visit

__all__ = ["show_year"]

FIRST_YEAR, LAST_YEAR = 1900, 2200


def show_year(visit: Visit) -> Response:
    """Show a year, this one unless `?of=` names another."""
    asked = visit.request.query_params.get("of", "")
    year = int(asked) if asked.isdecimal() and len(asked) == 4 else visit.now.day.year
    year = min(max(year, FIRST_YEAR), LAST_YEAR)
    days = pictures.care_days(visit.collection, visit.now, year)
    busiest = sorted((d for d in days if d.planned), key=lambda d: (-d.planned, d.on))[:3]
    told = year_of(visit.collection, visit.now, year) if year <= visit.now.day.year else None
    return visit.page(
        "year.html",
        picture=year_picture(days, visit.now.day),
        year=year,
        busiest=busiest,
        found=told,
        done_days=sum(1 for day in days if day.done),
        survival=list(survival_lines(told)) if told else [],
    )
