"""The owner's way in over HTTP: the one-time address, the password with delayed guesses, the way out."""

from __future__ import annotations

import json
import logging
from collections.abc import Callable
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route

from carecal.app.door import Collection
from carecal.app.people.owner import (
    SESSION_DAYS,
    begin_session,
    end_session,
    has_password,
    is_one_time,
    password_fits,
    set_password,
)
from carecal.errors import CarecalError, Refused
from carecal.web.pages.frame import FORM_BYTES, MOST_FIELDS, session_of, welcome
from carecal.web.refill import Again
from carecal.web.visit import PRIVATE, plain_text

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request

    from carecal.app.now import Now
    from carecal.web.site import Site

__all__ = ["login_routes"]

LOGIN_BYTES = FORM_BYTES  # a form that was sent too late comes along
DAY_S = 86400

log = logging.getLogger("carecal.web")
Handler = Callable[["Site", "Collection", "Now", "Request", "FormData | None"], Response]


def login_routes(site: Site) -> list[Route]:
    """Return the routes of signing in and out and of setting the password."""
    return [
        _route(site, "/set-password/{token}", _one_time),
        _route(site, "/login", _login),
        _route(site, "/logout", _logout, methods=["POST"]),
    ]


def _route(site: Site, path: str, handler: Handler, methods: list[str] | None = None) -> Route:
    async def endpoint(request: Request) -> Response:
        if request.method in {"GET", "HEAD"}:
            return await run_in_threadpool(_answer_visit, site, handler, request, None)
        async with request.form(max_files=1, max_fields=MOST_FIELDS) as form:
            return await run_in_threadpool(_answer_visit, site, handler, request, form)

    return Route(path, endpoint, methods=methods or ["GET", "POST"], max_body_size=LOGIN_BYTES)


def _answer_visit(site: Site, handler: Handler, request: Request, form: FormData | None) -> Response:
    try:
        with Collection.open(site.folder) as collection:
            return handler(site, collection, site.clock(collection), request, form)
    except CarecalError as error:
        log.error("signing in could not be answered: %s", error)  # noqa: TRY400 - one line tells all of it
        return PlainTextResponse(f"{plain_text(str(error))}\n", 503, headers=PRIVATE)


def _one_time(
    site: Site, collection: Collection, now: Now, request: Request, form: FormData | None
) -> Response:
    """Show the form that sets the password, or set it: the address holds for 15 minutes and once."""
    token = str(request.path_params["token"])
    if not is_one_time(collection, now, token):
        return _page(site, "gone.html", 404)
    if form is None:
        return _page(site, "password.html", problem="")
    password = _field(form, "password")
    if password != _field(form, "again"):
        return _page(site, "password.html", 422, problem="The two differ; type the same password twice.")
    try:
        with site.one_login:
            set_password(collection, now, token, password, site.crypt)
    except Refused as refusal:
        return _page(site, "password.html", 422, problem=plain_text(str(refusal)))
    return _signed_in(site, collection, now, request, "/")


def _login(site: Site, collection: Collection, now: Now, request: Request, form: FormData | None) -> Response:
    """Show the form that asks for the password, or take it; wrong guesses wait longer and longer."""
    if not has_password(collection):
        return welcome(site)
    if form is None:
        if session_of(site, collection, request) is not None:
            return RedirectResponse("/", 303, headers=PRIVATE)
        return _page(
            site, "login.html", problem="", kept="", wanted=_own_path(request.query_params.get("next", "/"))
        )
    wanted, kept = _own_path(_field(form, "next")), _field(form, "kept")
    address = request.client.host if request.client is not None else ""
    with site.one_login:  # one at a time, so that guesses sent at once wait like those sent one by one
        wait = site.guesses.wait_seconds(address, now.clock)
        fits = wait == 0 and password_fits(collection, _field(form, "password"), site.crypt)
        if wait == 0 and not fits:
            site.guesses.wrong(address, now.clock)
    if wait > 0:
        problem = f"Too many wrong guesses; wait {wait} seconds."
        answer = _page(site, "login.html", 429, problem=problem, wanted=wanted, kept=kept)
        answer.headers["Retry-After"] = str(wait)
        return answer
    if not fits:
        return _page(site, "login.html", 403, problem="That is not the password.", wanted=wanted, kept=kept)
    site.guesses.right(address)
    again = _again(kept)
    return _signed_in(site, collection, now, request, again.path if again is not None else wanted, again)


def _again(kept: str) -> Again | None:
    """Return the form that waited behind the way in; None where there is none of ours."""
    try:
        path, fields = json.loads(kept or "null") or ("", [])
        found = Again(_own_path(str(path)), tuple((str(name), str(value)) for name, value in fields))
    except (ValueError, TypeError):
        return None
    return found if found.sent and found.path != "/" else None


def _logout(site: Site, collection: Collection, _: Now, request: Request, form: FormData | None) -> Response:
    session = session_of(site, collection, request)
    token = _field(form, "form_token") if form is not None else ""
    if session is not None and site.has_signed(collection, session, token):
        end_session(collection, session)
    answer = RedirectResponse("/login", 303, headers=PRIVATE)
    answer.delete_cookie(site.cookie(request), secure=site.is_secure(request), httponly=True, samesite="lax")
    return answer


def _signed_in(
    site: Site, collection: Collection, now: Now, request: Request, to: str, again: Again | None = None
) -> Response:
    answer = RedirectResponse(quote(to, safe="/?&=%:"), 303, headers=PRIVATE)
    session = begin_session(collection, now)
    if again is not None:
        site.tell(
            session,
            title="You are signed in again",
            again=again,
            entry=None,
            lines=["What you typed stands in its form, not written yet; send it once more."],
        )
    answer.set_cookie(
        site.cookie(request),
        site.signed(collection, session),
        max_age=SESSION_DAYS * DAY_S,
        httponly=True,
        samesite="lax",
        secure=site.is_secure(request),
    )
    return answer


def _own_path(path: str) -> str:
    """Return a path of ours; anything that could lead elsewhere becomes the round."""
    is_plain = (
        path.startswith("/")
        and not path.startswith(("//", "/\\"))
        and path.isprintable()
        and "\\" not in path
    )
    return path if is_plain else "/"


def _field(form: FormData, name: str) -> str:
    value = form.get(name)
    return value if isinstance(value, str) else ""


def _page(site: Site, template: str, status: int = 200, **values: Any) -> HTMLResponse:
    return HTMLResponse(site.env.get_template(template).render(**values), status, headers=PRIVATE)
