"""How a page is asked for: who may, what was sent, and the one place that turns errors into answers."""

from __future__ import annotations

import json
import logging
import re
from collections.abc import Callable
from dataclasses import replace
from hashlib import sha256
from typing import TYPE_CHECKING
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route

from carecal.app.command_context import believed, clock_doubt
from carecal.app.door import Collection
from carecal.app.people.owner import has_password, session_lives
from carecal.errors import AlreadyDone, CarecalError, ConfirmationNeeded, Refused, UnknownName
from carecal.web.refill import Again, refilled
from carecal.web.visit import PRIVATE, Visit, plain_text

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request

    from carecal.web.site import Site

__all__ = ["FORM_BYTES", "MOST_FIELDS", "Handler", "owner_route", "session_of", "welcome"]

Handler = Callable[[Visit], Response]
FORM_BYTES = 100_000  # our choice, because the longest form without a picture has some 5,000 signs
MOST_FIELDS = 600
MOST_KEPT = 40_000  # signs of a form that waits behind the way in
SEE_OTHER = 303
UNKEPT = frozenset({"form_token", "sure", "dry", "password"})
NOT_TYPED = frozenset({"do", "key", "task", "entry"})
BEGINS = (("the picture", "photo"), ("the file", "file"), ("the conductivity", "ec"), ("the analysis", "n"))
"""How refusals of some fields begin that do not name them."""

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
            return await run_in_threadpool(_answer, site, request, None, show, show)
        async with request.form(max_files=1, max_fields=MOST_FIELDS) as form:
            return await run_in_threadpool(_answer, site, request, form, act or show, show)

    methods = ["GET", "POST"] if act is not None else ["GET"]
    return Route(path, endpoint, methods=methods, max_body_size=limit)


def session_of(site: Site, collection: Collection, request: Request) -> str | None:
    """Return the living session of a request; None: nobody is signed in."""
    cookie = request.cookies.get(site.cookie(request))
    session = site.session_in(collection, cookie) if cookie else None
    if session is None or not session_lives(collection, site.clock(collection), session):
        return None
    return session


def _answer(site: Site, request: Request, form: FormData | None, handler: Handler, show: Handler) -> Response:
    try:
        with Collection.open(site.folder) as collection:
            if not has_password(collection):
                return welcome(site)
            session = session_of(site, collection, request)
            if session is None:
                return _to_login(site, request, form)
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
            return _once(visit, handler, show)
    except CarecalError as error:
        log.error("a page could not be answered: %s", error)  # noqa: TRY400 - one line tells all of it
        return PlainTextResponse(f"{plain_text(str(error))}\n", 503, headers=PRIVATE)


def welcome(site: Site) -> Response:
    """Return the page that stands before a password is set: where the address to begin is found."""
    return HTMLResponse(site.env.get_template("welcome.html").render(), 403, headers=PRIVATE)


def _once(visit: Visit, handler: Handler, show: Handler) -> Response:
    """Answer a form once: the same one of the same page sent again says that it is done already."""
    path = visit.request.url.path
    if visit.form is None or visit.wants_json or path == "/":
        return _guarded(visit, handler, show)
    mark = sha256(repr((path, visit.form.get("form_token"), sorted(visit.sent()))).encode()).hexdigest()
    if visit.site.was_sent(mark):
        return visit.say("That was written down already; nothing was written twice", path)
    answer = _guarded(visit, handler, show)
    if answer.status_code == SEE_OTHER:
        visit.site.remember_sent(mark)
    return answer


def _guarded(visit: Visit, handler: Handler, show: Handler) -> Response:
    """Answer, and turn what was refused into a page that says so: the form comes back as it was sent."""
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
        problem = plain_text(str(refusal))
        if visit.form is not None:
            sent = tuple(visit.sent())
            found = _with_form(visit, show, Again(path, sent, problem, fault_of(sent, str(refusal))))
            if found is not None:
                return found
        return visit.page(
            "problem.html", status, problem=problem, is_form=visit.form is not None, sent=visit.sent()
        )


def _with_form(visit: Visit, show: Handler, again: Again) -> Response | None:
    """Return the page of a form with the form as it was sent; None where it does not stand on that page."""
    try:
        page = show(replace(visit, form=None, again=again))
    except Refused:
        return None
    body = refilled(bytes(page.body).decode(), again) if page.media_type == "text/html" else None
    return HTMLResponse(body, 422, headers=PRIVATE) if body is not None else None


def fault_of(sent: tuple[tuple[str, str], ...], refusal: str) -> str:
    """Return the name of the field that a refusal speaks of: by the value it quotes, else by its name; '' if none."""
    known = [(name, value) for name, value in sent if name not in NOT_TYPED]
    for name, value in known:
        if f"'{value}'" in refusal or re.search(rf"(?<![\w.]){re.escape(value)}(?![\w.])", refusal):
            return name
    begins = next((name for words, name in BEGINS if refusal.startswith(words)), "")
    return begins or next((n for n, _ in known if refusal.startswith(n.replace("_", " "))), "")


def _to_login(site: Site, request: Request, form: FormData | None) -> Response:
    """Lead to the way in and back; what was typed into a form goes along and waits behind it."""
    if "application/json" in request.headers.get("accept", ""):
        return Response('{"state": "login"}', 401, headers=PRIVATE, media_type="application/json")
    path = request.url.path
    if form is None:
        query = f"?{request.url.query}" if request.url.query else ""
        return RedirectResponse(f"/login?next={quote(path + query, safe='/')}", 303, headers=PRIVATE)
    kept = json.dumps(
        [path, [[n, v] for n, v in form.multi_items() if isinstance(v, str) and n not in UNKEPT]]
    )
    page = site.env.get_template("login.html").render(
        problem="", wanted=path, kept=kept if path != "/" and len(kept) <= MOST_KEPT else ""
    )
    return HTMLResponse(page, 401, headers=PRIVATE)


def _has_token(site: Site, collection: Collection, session: str, form: FormData) -> bool:
    sent = form.get("form_token")
    return isinstance(sent, str) and site.has_signed(collection, session, sent)
