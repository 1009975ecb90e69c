"""The sitter's sheet over HTTP: whoever holds its address sees those days and may tick, until the last day."""

from __future__ import annotations

import logging
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from starlette.concurrency import run_in_threadpool
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from carecal.app.command_context import believed, clock_doubt
from carecal.app.documents.day import day_round
from carecal.app.door import Collection
from carecal.app.people.sitter_sheet import sitter_sheet
from carecal.app.people.sitters import find_sitter
from carecal.errors import AlreadyDone, CarecalError, Refused
from carecal.web.pages.faces import faces_of
from carecal.web.pages.frame import FORM_BYTES, MOST_FIELDS
from carecal.web.pages.round import rows_of
from carecal.web.pages.ticks import tick
from carecal.web.visit import PRIVATE, Visit, plain_text
from carecal.wording.tasks import EMPTY_ON_PURPOSE

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request

    from carecal.app.people.sitters import Sitter
    from carecal.web.pages.faces import Face
    from carecal.web.site import Site

__all__ = ["sitter_route"]

log = logging.getLogger("carecal.web")


def sitter_route(site: Site) -> Route:
    """Return the route of the sheets. The address is secret, so a form needs no other token."""

    async def endpoint(request: Request) -> Response:
        if request.method in {"GET", "HEAD"}:
            return await run_in_threadpool(_answer, site, request, None)
        async with request.form(max_files=1, max_fields=MOST_FIELDS) as form:
            return await run_in_threadpool(_answer, site, request, form)

    return Route("/sitter/{token}", endpoint, methods=["GET", "POST"], max_body_size=FORM_BYTES)


def _answer(site: Site, request: Request, form: FormData | None) -> Response:
    try:
        with Collection.open(site.folder) as collection:
            sitter = find_sitter(collection, str(request.path_params["token"]))
            real = site.clock(collection)
            if sitter is None:
                return PlainTextResponse("no sheet has this address\n", 404, headers=PRIVATE)
            if sitter.is_over(real.day):
                return PlainTextResponse(
                    "these days are over, and the sheet with them\n", 410, headers=PRIVATE
                )
            now = believed(collection, real)
            visit = Visit(
                site,
                collection,
                real,
                now,
                request,
                form,
                by=sitter.name,
                doubt=clock_doubt(collection, real),
            )
            return _show(visit, sitter) if form is None else _act(visit, sitter)
    except CarecalError as error:
        log.error("a sitter's sheet could not be answered: %s", error)  # noqa: TRY400 - one line tells all of it
        return PlainTextResponse(f"{plain_text(str(error))}\n", 503, headers=PRIVATE)


def _show(visit: Visit, sitter: Sitter, status: int = 200, problem: str = "") -> Response:
    if visit.wants_json:
        return visit.json(head=visit.collection.journal.head(), day=visit.now.day.isoformat())
    sheet = sitter_sheet(visit.collection, visit.now, sitter)
    faces = faces_of(visit)
    days = [_day(day, sheet["answers"], visit.now.day.isoformat(), faces) for day in sheet["days"]]
    return visit.page(
        "sitter.html",
        status,
        sheet=sheet,
        days=days,
        to=visit.request.url.path,
        problem=problem,
        empty_on_purpose=EMPTY_ON_PURPOSE,
        zone=visit.zone,
        head=visit.collection.journal.head(),
    )


def _day(day: dict[str, Any], answers: dict[str, Any], today: str, faces: dict[str, Face]) -> dict[str, Any]:
    rows = rows_of(
        [*day.get("carried", ()), *day["tasks"]], answers if day["on"] == today else {}, faces, day["on"]
    )
    return {**day, "rows": rows, "is_today": day["on"] == today}


def _act(visit: Visit, sitter: Sitter) -> Response:
    """Take a tick, in the sitter's name."""
    try:
        did = visit.need("do")
        if did != "undo":
            _check_mine(visit, sitter)
        return tick(visit, did, visit.request.url.path)
    except AlreadyDone as done:
        if visit.wants_json:
            return visit.json(state="already", text=str(done))
        return _show(visit, sitter, 409, plain_text(str(done)))
    except Refused as refusal:
        if visit.wants_json:
            return visit.json(422, state="refused", text=str(refusal))
        return _show(visit, sitter, 422, plain_text(str(refusal)))


def _check_mine(visit: Visit, sitter: Sitter) -> None:
    """Refuse a day that is not the sitter's, and a task that did not stand in that day's list.

    Raises:
        Refused: It is not the sitter's to answer.
    """
    day = visit.day("on") or visit.real.day
    if not sitter.start <= day <= visit.real.day:
        raise Refused(
            f"{day} is not one of your days; they are {sitter.start} to {sitter.until}, up to today"
        )
    document, _ = day_round(visit.collection, replace(visit.real, day=day))
    mine = {task for row in document["carried"] for task in row["tasks"]}
    mine |= {
        row["task"]
        for found in document["rounds"]
        if found["on"] == day.isoformat()
        for row in found["tasks"]
    }
    for task in visit.texts("task"):
        if task not in mine:
            raise Refused(f"task '{task[:80]}' is not in the list of {day}")
