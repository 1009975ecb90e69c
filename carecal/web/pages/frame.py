"""How a page is asked for: who may, what was sent, and the one place that turns errors into answers."""

from __future__ import annotations

import logging
from collections.abc import Callable
from typing import TYPE_CHECKING
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route

from carecal.app.command_context import believed, clock_doubt
from carecal.app.door import Collection
from carecal.app.people.owner import has_password, session_lives
from carecal.errors import AlreadyDone, CarecalError, ConfirmationNeeded, Refused, UnknownName
from carecal.web.visit import PRIVATE, Visit, plain_text

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request

    from carecal.web.site import Site

__all__ = ["FORM_BYTES", "MOST_FIELDS", "Handler", "owner_route", "session_of"]

Handler = Callable[[Visit], Response]
FORM_BYTES = 100_000  # our choice, because the longest form without a picture has some 5,000 signs
MOST_FIELDS = 600
NO_PASSWORD = "no password is set yet; the address that carecal serve printed sets it\n"  # noqa: S105 - a sentence

log = logging.getLogger("carecal.web")


def owner_route(
    site: Site, path: str, show: Handler, act: Handler | None = None, *, limit: int = FORM_BYTES
) -> Route:
    """Return the route of a page that only the owner sees.

    Args:
        site: The server.
        path: Its address.
        show: Answers GET; it writes nothing.
        act: Answers the page's forms; None: it has none.
        limit: Most bytes that may be sent. [B]
    """

    async def endpoint(request: Request) -> Response:
        if request.method in {"GET", "HEAD"}:
            return await run_in_threadpool(_answer, site, request, None, show)
        async with request.form(max_files=1, max_fields=MOST_FIELDS) as form:
            return await run_in_threadpool(_answer, site, request, form, act or show)

    methods = ["GET", "POST"] if act is not None else ["GET"]
    return Route(path, endpoint, methods=methods, max_body_size=limit)


def session_of(site: Site, collection: Collection, request: Request) -> str | None:
    """Return the living session of a request; None: nobody is signed in."""
    cookie = request.cookies.get(site.cookie(request))
    session = site.session_in(collection, cookie) if cookie else None
    if session is None or not session_lives(collection, site.clock(collection), session):
        return None
    return session


def _answer(site: Site, request: Request, form: FormData | None, handler: Handler) -> Response:
    try:
        with Collection.open(site.folder) as collection:
            if not has_password(collection):
                return PlainTextResponse(NO_PASSWORD, 403, headers=PRIVATE)
            session = session_of(site, collection, request)
            if session is None:
                return _to_login(request)
            if form is not None and not _has_token(site, collection, session, form):
                return PlainTextResponse(
                    "this form is too old or not ours; reload its page\n", 403, headers=PRIVATE
                )
            real = site.clock(collection)
            visit = Visit(
                site,
                collection,
                real,
                believed(collection, real),
                request,
                form,
                session=session,
                doubt=clock_doubt(collection, real),
            )
            return _guarded(visit, handler)
    except CarecalError as error:
        log.error("a page could not be answered: %s", error)  # noqa: TRY400 - one line tells all of it
        return PlainTextResponse(f"{plain_text(str(error))}\n", 503, headers=PRIVATE)


def _guarded(visit: Visit, handler: Handler) -> Response:
    """Answer, and turn what was refused into a page that says so."""
    path = visit.request.url.path
    try:
        return handler(visit)
    except ConfirmationNeeded as needed:
        if visit.wants_json:
            return visit.json(409, state="question", text=needed.question)
        return visit.page(
            "confirm.html",
            409,
            question=plain_text(needed.question),
            sent=visit.sent(),
            is_trial=visit.is_trial,
        )
    except AlreadyDone as done:
        if visit.wants_json:
            return visit.json(state="already", text=str(done))
        return visit.say(plain_text(str(done)), path)
    except Refused as refusal:
        status = 404 if isinstance(refusal, UnknownName) and visit.form is None else 422
        if visit.wants_json:
            return visit.json(status, state="refused", text=str(refusal))
        return visit.page(
            "problem.html",
            status,
            problem=plain_text(str(refusal)),
            is_form=visit.form is not None,
            sent=visit.sent(),
        )


def _to_login(request: Request) -> Response:
    if "application/json" in request.headers.get("accept", ""):
        return Response('{"state": "login"}', 401, headers=PRIVATE, media_type="application/json")
    wanted = request.url.path if request.method in {"GET", "HEAD"} else "/"
    return RedirectResponse(f"/login?next={quote(wanted, safe='/')}", 303, headers=PRIVATE)


def _has_token(site: Site, collection: Collection, session: str, form: FormData) -> bool:
    sent = form.get("form_token")
    return isinstance(sent, str) and site.has_signed(collection, session, sent)
