"""Calendars over HTTP: whoever holds an address gets its bytes, and nothing where nothing changed."""

from __future__ import annotations

import logging
import time
from asyncio import shield, wait_for, wrap_future
from contextlib import suppress
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
from carecal.web.making import Making, make_here

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from starlette.requests import Request

    from carecal.app.now import Dated, Now
    from carecal.calendars.subscriptions import NamedCalendar, Published, Validators
    from carecal.web.making import Make

__all__ = ["Calendars", "healthz"]

log = logging.getLogger("carecal.web")
LONGEST_WAIT = 30.0
"""How long a request waits for a calendar to be made. [s] Source: our choice, because programs wait a minute."""
AGAIN_SECONDS = 1.0
"""How often it is looked whether a busy calendar is current. [s] Source: our choice."""
STALE = "private, max-age=0, stale-while-revalidate=60"
"""What is answered with is made anew just now. Source: RFC 5861 section 3; the time is our choice."""
LATER = "the calendar cannot be made just now; what you have stays valid\n"
PRIVATE = {"X-Robots-Tag": "noindex", "Referrer-Policy": "no-referrer", "X-Content-Type-Options": "nosniff"}


def healthz(_: Request) -> Response:
    """Say that the server answers, and nothing else."""
    return PlainTextResponse("ok\n")


class Calendars:
    """The handler of `/calendar/TOKEN.ics` for a collection's folder.

    A request that holds the bytes already is answered without opening the collection while nothing was written.
    Unknown addresses are 404 and revoked ones 410 before any plan. Whoever has to look does so in a thread, with a
    connection of its own; nobody plans there. A calendar that is not current is made once for all who ask, and they
    wait for it; of one that is asked for every second or so (`kept.py`) they get what there is, and it is made
    beside that.

    Args:
        folder: The collection's folder.
        clock: Gives the moment of a request.
        make: Makes a calendar that is not current; None: in a thread of this program.
    """

    def __init__(self, folder: Path, clock: Callable[[Dated], Now], make: Make | None = None) -> None:
        self._folder, self._clock = folder, clock
        self._kept = KeptCalendars(folder, clock)
        self._making = Making(folder, make or make_here(folder), self._kept.renew)
        self._begun: dict[int, float] = {}

    async def __call__(self, request: Request) -> Response:
        """Answer one request for a calendar."""
        token = str(request.path_params["token"])
        busy = self._kept.busy(token)
        if busy is not None:
            return await self._at_once(request, *busy)
        found = self._kept.find(token)
        if found is not None and _holds(request, found[0].validators):
            return self._note_fetch(request, *found, _not_modified(request, found[0].validators))
        looked = await run_in_threadpool(self._look, request)
        if isinstance(looked, Response):
            return looked
        turn = wrap_future(self._making.begin(*looked))
        with suppress(TimeoutError):
            await wait_for(shield(turn), LONGEST_WAIT)
        return await run_in_threadpool(self._last, request)

    async def _at_once(self, request: Request, standing: Standing, now: Now) -> Response:
        """Answer with what there is, and have it looked at beside that."""
        calendar, moment = standing.calendar, time.monotonic()
        if moment - self._begun.get(calendar.id, -AGAIN_SECONDS) >= AGAIN_SECONDS:
            self._begun[calendar.id] = moment
            self._making.begin(calendar, now)
        if _holds(request, standing.validators):
            response = _not_modified(request, standing.validators)
            response.headers["Cache-Control"] = STALE
            return self._note_fetch(request, standing, now, response)
        whole = self._kept.bytes_of(standing)
        if whole is None:
            return await run_in_threadpool(self._last, request)
        response = _whole(request, whole)
        response.headers["Cache-Control"] = STALE
        return self._note_fetch(request, standing, now, response)

    def _note_fetch(self, request: Request, standing: Standing, now: Now, response: Response) -> Response:
        """Have a fetch remembered after its answer, unless one like it was a moment before."""
        if not self._kept.has_noted(standing.calendar, now.clock, _program(request)):
            response.background = BackgroundTask(self._note, request, standing.calendar, now)
        return response

    def _note(self, request: Request, known: NamedCalendar, now: Now) -> None:
        try:
            with Collection.open(self._folder) as collection:
                _note(request, collection, known, now)
        except CarecalError as error:
            log.warning("the fetch of %s was not noted: %s", known.name, error)

    def _last(self, request: Request) -> Response:
        """Answer one request with what there is, current or not."""
        found = self._look(request, is_last=True)
        return found if isinstance(found, Response) else _refused(503, LATER)

    def _look(self, request: Request, *, is_last: bool = False) -> Response | tuple[NamedCalendar, Now]:
        """Answer one request out of the collection, or return what has to be made first.

        Args:
            request: The request.
            is_last: Whether bytes that are not current are answered.
        """
        token, before = str(request.path_params["token"]), self._kept.touched()
        try:
            with Collection.open(self._folder) as collection:
                known = named_calendars.find_calendar(collection, token)
                if known is None:
                    return _refused(404, "no calendar has this address\n")
                if not known.is_live:
                    return _refused(410, "this calendar was revoked; remove the subscription\n")
                now = self._clock(collection)
                validators = calendars.current(collection, known, now)
                if validators is None and not is_last:
                    return known, now
                response, lasting = _bytes_of(request, collection, known, validators)
                if not self._kept.has_noted(known, now.clock, _program(request)):
                    _note(request, collection, known, now)
                zone = zone_of(collection.journal.connection)
        except CarecalError as error:
            log.error("a calendar could not be answered: %s", error)  # noqa: TRY400 - one line tells all of it
            return _refused(503, LATER)
        if lasting is not None:
            self._kept.keep(token, Standing(known, lasting, now.day, now.is_given), zone, before)
        return response


def _holds(request: Request, validators: Validators) -> bool:
    return is_unchanged(request, validators.etag, validators.modified)


def _not_modified(request: Request, validators: Validators) -> Response:
    gzipped = wants_gzip(request.headers.get("accept-encoding", ""))
    return not_modified(PRIVATE | validator_headers(validators.etag, validators.modified, gzipped=gzipped))


def _bytes_of(
    request: Request, collection: Collection, known: NamedCalendar, current: Validators | None
) -> tuple[Response, Validators | None]:
    """Return the answer out of the collection, and what it is known by; None where it has to be made anew.

    Args:
        request: The request.
        collection: The collection.
        known: The calendar.
        current: Its validators where its bytes are current; else they are answered as what is to be had just now.
    """
    if current is not None and _holds(request, current):
        return _not_modified(request, current), current
    found = calendars.kept_bytes(collection, known)
    if found is None:
        return _refused(503, LATER), None
    validators = found.validators
    response = _not_modified(request, validators) if _holds(request, validators) else _whole(request, found)
    if current is None:
        response.headers["Cache-Control"] = STALE
    return response, current


def _whole(request: Request, found: Published) -> Response:
    """Return the answer with all bytes, in the coding that was asked for."""
    gzipped = wants_gzip(request.headers.get("accept-encoding", ""))
    headers = PRIVATE | validator_headers(found.validators.etag, found.validators.modified, gzipped=gzipped)
    headers["Content-Disposition"] = 'inline; filename="carecal.ics"'
    if gzipped:
        headers["Content-Encoding"] = "gzip"
    body = found.gzip if gzipped else found.body
    return Response(body, 200, headers, media_type="text/calendar; charset=utf-8")


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
