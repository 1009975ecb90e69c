"""Calendars over HTTP: whoever holds an address gets its bytes, and nothing where nothing changed."""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING

from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool
from starlette.responses import PlainTextResponse, Response

from carecal.app.door import Collection
from carecal.app.publish import calendars, named_calendars
from carecal.app.store import zone_of
from carecal.errors import CarecalError
from carecal.web.conditional import is_unchanged, not_modified, validator_headers, wants_gzip
from carecal.web.kept import KeptCalendars, Standing

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable
    from pathlib import Path

    from starlette.requests import Request

    from carecal.app.now import Dated, Now
    from carecal.calendars.subscriptions import NamedCalendar, Validators

__all__ = ["calendar_answer", "healthz"]

log = logging.getLogger("carecal.web")
PRIVATE = {"X-Robots-Tag": "noindex", "Referrer-Policy": "no-referrer", "X-Content-Type-Options": "nosniff"}


def healthz(_: Request) -> Response:
    """Say that the server answers, and nothing else."""
    return PlainTextResponse("ok\n")


def calendar_answer(folder: Path, clock: Callable[[Dated], Now]) -> Callable[[Request], Awaitable[Response]]:
    """Return the handler of `/calendar/TOKEN.ics` for a collection's folder.

    A request that holds the bytes already is answered without opening the collection while nothing was written.
    Unknown addresses are 404 and revoked ones 410 before any plan. Whoever has to look does so in a thread, with a
    connection of its own.
    """
    kept = KeptCalendars(folder, clock)

    def look(request: Request) -> Response:
        """Answer one request out of the collection."""
        token, before = str(request.path_params["token"]), kept.touched()
        try:
            with Collection.open(folder) as collection:
                known = named_calendars.find_calendar(collection, token)
                if known is None:
                    return _refused(404, "no calendar has this address\n")
                if not known.is_live:
                    return _refused(410, "this calendar was revoked; remove the subscription\n")
                now = clock(collection)
                response, validators = _bytes_of(request, collection, known, now)
                if not kept.has_noted(known, now.clock, _program(request)):
                    _note(request, collection, known, now)
                zone = zone_of(collection.journal.connection)
        except CarecalError as error:
            log.error("a calendar could not be answered: %s", error)  # noqa: TRY400 - one line tells all of it
            return _refused(503, "the calendar cannot be made just now; what you have stays valid\n")
        if validators is not None:
            kept.keep(token, Standing(known, validators, now.day, now.is_given), zone, before)
        return response

    def note(request: Request, known: NamedCalendar, now: Now) -> None:
        """Remember a fetch after its answer."""
        try:
            with Collection.open(folder) as collection:
                _note(request, collection, known, now)
        except CarecalError as error:
            log.warning("the fetch of %s was not noted: %s", known.name, error)

    async def answer(request: Request) -> Response:
        """Answer one request for a calendar."""
        found = kept.find(str(request.path_params["token"]))
        if found is None:
            return await run_in_threadpool(look, request)
        standing, now = found
        validators = standing.validators
        if not is_unchanged(request, validators.etag, validators.modified):
            return await run_in_threadpool(look, request)
        response = _not_modified(request, validators)
        if not kept.has_noted(standing.calendar, now.clock, _program(request)):
            response.background = BackgroundTask(note, request, standing.calendar, now)
        return response

    return answer


def _not_modified(request: Request, validators: Validators) -> Response:
    gzipped = wants_gzip(request.headers.get("accept-encoding", ""))
    return not_modified(PRIVATE | validator_headers(validators.etag, validators.modified, gzipped=gzipped))


def _bytes_of(
    request: Request, collection: Collection, known: NamedCalendar, now: Now
) -> tuple[Response, Validators | None]:
    """Return the answer out of the collection, and what it is known by; None where it has to be made anew."""
    validators = calendars.current(collection, known, now)
    if validators is not None and is_unchanged(request, validators.etag, validators.modified):
        return _not_modified(request, validators), validators
    found = calendars.published(collection, known, now)
    if found.note:
        log.error("calendar %s stands as it was: %s", known.name, found.note)
    validators, lasting = found.validators, None if found.note else found.validators
    if is_unchanged(request, validators.etag, validators.modified):
        return _not_modified(request, validators), lasting
    gzipped = wants_gzip(request.headers.get("accept-encoding", ""))
    headers = PRIVATE | validator_headers(validators.etag, validators.modified, gzipped=gzipped)
    headers["Content-Disposition"] = 'inline; filename="carecal.ics"'
    if gzipped:
        headers["Content-Encoding"] = "gzip"
    body = found.gzip if gzipped else found.body
    return Response(body, 200, headers, media_type="text/calendar; charset=utf-8"), lasting


def _program(request: Request) -> str:
    return request.headers.get("user-agent", "")


def _note(request: Request, collection: Collection, known: NamedCalendar, now: Now) -> None:
    """Remember the fetch; a collection that cannot be written is answered all the same."""
    try:
        named_calendars.record_fetch(collection, known, now.clock, _program(request))
    except CarecalError as error:
        log.warning("the fetch of %s was not noted: %s", known.name, error)


def _refused(status: int, text: str) -> Response:
    return PlainTextResponse(text, status, headers=PRIVATE)
