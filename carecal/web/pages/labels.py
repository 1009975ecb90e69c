"""Labels for pots: chosen on a page, printed from it, or taken as SVG or PDF."""

from __future__ import annotations

from typing import TYPE_CHECKING

from markupsafe import Markup
from starlette.responses import Response

from carecal.app.documents.labels import SHEETS, free_sheet, labels_of, placed
from carecal.app.files.label_sheets import pdf_of, svg_of
from carecal.app.setup import plants as setup_plants
from carecal.errors import Refused, UnknownName
from carecal.web.pages.calendars import address_of
from carecal.web.visit import PRIVATE

if TYPE_CHECKING:
    from carecal.app.documents.labels import Place, Sheet
    from carecal.web.visit import Visit

__all__ = ["show_labels", "show_sheet"]


def show_labels(visit: Visit) -> Response:
    """Show the form and, where plants were chosen, their sheets."""
    asked = visit.request.query_params
    chosen = asked.getlist("plant")
    problem, sheets, size = "", [], asked.get("sheet", "a4")
    try:
        if chosen:
            sheets = [Markup(svg) for svg in svg_of(*_placed(visit))]  # noqa: S704 - our own, escaped
    except Refused as refusal:
        problem = str(refusal)
    return visit.page(
        "labels.html",
        plants=setup_plants.plants_of(visit.collection, visit.now),
        chosen=set(chosen),
        sheets=sheets,
        sizes=[(key, sheet.name) for key, sheet in SHEETS.items()],
        size=size,
        problem=problem,
        wide=asked.get("wide", ""),
        high=asked.get("high", ""),
        skip=asked.get("skip", ""),
        query=visit.request.url.query,
    )


def show_sheet(visit: Visit) -> Response:
    """Answer with the sheets as a file.

    Raises:
        UnknownName: It is none of the files there are.
    """
    name = str(visit.request.path_params["file"])
    if name not in {"labels.pdf", "labels.svg"}:
        raise UnknownName("file", name[:40])
    places, sheet = _placed(visit)
    body: bytes | str = pdf_of(places, sheet) if name.endswith("pdf") else svg_of(places, sheet)[0]
    headers = {**PRIVATE, "Content-Disposition": f'attachment; filename="{name}"'}
    return Response(
        body, headers=headers, media_type="application/pdf" if name.endswith("pdf") else "image/svg+xml"
    )


def _placed(visit: Visit) -> tuple[list[Place], Sheet]:
    asked = visit.request.query_params
    labels = labels_of(visit.collection, visit.now, asked.getlist("plant"), address_of(visit, ""))
    key, skip = asked.get("sheet", "a4"), asked.get("skip", "")
    if key == "free":
        sheet = free_sheet(_mm(asked.get("wide", "")), _mm(asked.get("high", "")), asked.get("paper", "a4"))
    elif key in SHEETS:
        sheet = SHEETS[key]
    else:
        raise UnknownName("sheet", key[:40], tuple(SHEETS))
    return placed(labels, sheet, int(skip) if skip.isdecimal() and len(skip) < 4 else 0), sheet


def _mm(text: str) -> float:
    try:
        return float(text.replace(",", "."))
    except ValueError as error:
        raise Refused(f"'{text[:20]}' is no length; give width and height of a label in mm") from error
