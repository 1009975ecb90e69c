"""Calendars over HTTP: whoever holds an address gets its bytes, and nothing where nothing changed."""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING

from starlette.responses import PlainTextResponse, Response

from carecal.app.door import Collection
from carecal.app.publish import calendars
from carecal.errors import CarecalError
from carecal.web.conditional import is_unchanged, not_modified, validator_headers, wants_gzip

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from starlette.requests import Request

    from carecal.app.now import Now
    from carecal.calendars.subscriptions import NamedCalendar

__all__ = ["calendar_answer", "healthz"]

log = logging.getLogger("carecal.web")
PRIVATE = {"X-Robots-Tag": "noindex", "Referrer-Policy": "no-referrer", "X-Content-Type-Options": "nosniff"}


def healthz(_: Request) -> Response:
    """Say that the server answers, and nothing else."""
    return PlainTextResponse("ok\n")


def calendar_answer(folder: Path, clock: Callable[[Collection], Now]) -> Callable[[Request], Response]:
    """Return the handler of `/calendar/TOKEN.ics` for a collection's folder.

    Unknown addresses are 404 and revoked ones 410 before any plan; a request that holds the bytes already is
    answered by 304 from one indexed row. The handler is plain, so each call has a connection of its own.
    """

    def answer(request: Request) -> Response:
        """Answer one request for a calendar."""
        token = str(request.path_params["token"])
        try:
            with Collection.open(folder) as collection:
                known = calendars.find_calendar(collection, token)
                if known is None:
                    return _refused(404, "no calendar has this address\n")
                if not known.is_live:
                    return _refused(410, "this calendar was revoked; remove the subscription\n")
                return _bytes_of(request, collection, known, clock(collection))
        except CarecalError as error:
            log.error("a calendar could not be answered: %s", error)  # noqa: TRY400 - one line tells all of it
            return _refused(503, "the calendar cannot be made just now; what you have stays valid\n")

    return answer


def _bytes_of(request: Request, collection: Collection, known: NamedCalendar, now: Now) -> Response:
    gzipped = wants_gzip(request.headers.get("accept-encoding", ""))
    validators = calendars.current(collection, known, now)
    if validators is not None and is_unchanged(request, validators.etag, validators.modified):
        _note(request, collection, known, now)
        return not_modified(
            PRIVATE | validator_headers(validators.etag, validators.modified, gzipped=gzipped)
        )
    kept = calendars.published(collection, known, now)
    if kept.note:
        log.error("calendar %s stands as it was: %s", known.name, kept.note)
    _note(request, collection, known, now)
    headers = PRIVATE | validator_headers(kept.validators.etag, kept.validators.modified, gzipped=gzipped)
    if is_unchanged(request, kept.validators.etag, kept.validators.modified):
        return not_modified(headers)
    headers["Content-Disposition"] = 'inline; filename="carecal.ics"'
    if gzipped:
        headers["Content-Encoding"] = "gzip"
    return Response(
        kept.gzip if gzipped else kept.body, 200, headers, media_type="text/calendar; charset=utf-8"
    )


def _note(request: Request, collection: Collection, known: NamedCalendar, now: Now) -> None:
    """Remember the fetch; a collection that cannot be written is answered all the same."""
    try:
        calendars.fetched(collection, known, now.clock, request.headers.get("user-agent", ""))
    except CarecalError as error:
        log.warning("the fetch of %s was not noted: %s", known.name, error)


def _refused(status: int, text: str) -> Response:
    return PlainTextResponse(text, status, headers=PRIVATE)
