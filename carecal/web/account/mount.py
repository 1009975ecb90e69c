"""Where accounts are answered: under /dav, and the well-known address; Radicale is loaded when an account exists."""

from __future__ import annotations

import base64
import binascii
import threading
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse, RedirectResponse
from starlette.routing import Mount, Route

from carecal.app.door import Collection
from carecal.app.people.accounts import account_for, has_accounts
from carecal.errors import CarecalError

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import BaseRoute
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

    from carecal.web.site import Site

__all__ = ["MOST_BYTES", "account_routes"]

WORKERS = 8  # requests of programs that are answered at once; our choice, because a phone asks some at a time
METHODS = ["GET", "HEAD", "OPTIONS", "PROPFIND", "REPORT"]
MOST_BYTES = 100_000  # of what a program sends; our choice, because a to-do has some 2,000
LOGIN = b"authorization"
DROPPED = (b"x-script-name", b"x-remote-user", b"remote-user", b"x-remote-addr", b"x-forwarded-")
"""What Radicale would believe of a proxy; here the server itself believes those that were named."""
HONEST = {b"dav": b"1, 3, calendar-access", b"allow": b"GET, HEAD, OPTIONS, PROPFIND, PUT, REPORT"}
"""No locks, no address books, no calendars to be made. Source: RFC 4918 10.1 and 18, RFC 4791 5.1."""
HERE = "/dav/"


def account_routes(site: Site) -> list[BaseRoute]:
    """Return the routes of calendar accounts."""

    async def well_known(_: Request) -> Response:
        """Lead a program that knows the name of the house alone to its accounts (RFC 6764 5)."""
        return RedirectResponse(HERE, 301)

    return [
        Route("/.well-known/caldav", well_known, methods=METHODS),
        Mount(HERE.rstrip("/"), app=Accounts(site)),
    ]


class Accounts:
    """Answers calendar programs; wrong passwords wait as at the page's way in."""

    def __init__(self, site: Site) -> None:
        self._site = site
        self._lock = threading.Lock()
        self._app: ASGIApp | None = None

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        app = await run_in_threadpool(self._speaker)
        if isinstance(app, str):
            await PlainTextResponse(app, 404)(scope, receive, send)
            return
        headers = Headers(scope=scope)
        if int(headers.get("content-length", 0)) > MOST_BYTES:
            await PlainTextResponse("this is more than any task takes\n", 413)(scope, receive, send)
            return
        login = _login(headers.get("authorization", ""))
        wait = await run_in_threadpool(self._wait, scope["client"][0] if scope.get("client") else "", login)
        if wait > 0:
            refusal = PlainTextResponse(f"too many wrong guesses; wait {wait} seconds\n", 429)
            refusal.headers["Retry-After"] = str(wait)
            await refusal(scope, receive, send)
            return
        kept = [
            (name, value)
            for name, value in scope["headers"]
            if not name.startswith(DROPPED) and (name != LOGIN or login is not None)
        ]

        async def honest(message: Message) -> None:
            """Say what is answered here, which is less than Radicale says of itself."""
            if message["type"] == "http.response.start":
                told = [(name, HONEST.get(name.lower(), value)) for name, value in message["headers"]]
                message = {**message, "headers": told}
            await send(message)

        await app({**scope, "headers": kept}, receive, honest)

    def _wait(self, address: str, login: tuple[str, str] | None) -> int:
        """Return how long whoever asks has to wait, having counted the guess. [s]"""
        if login is None:
            return 0
        with Collection.open(self._site.folder) as collection:
            clock, guesses = self._site.clock(collection).clock, self._site.guesses
            with (
                self._site.one_login
            ):  # one at a time, so that guesses sent at once wait like those sent one by one
                wait = guesses.wait_seconds(address, clock)
                if wait == 0 and account_for(collection, *login) is not None:
                    guesses.right(address)
                elif wait == 0:
                    guesses.wrong(address, clock)
        return wait

    def _speaker(self) -> ASGIApp | str:
        """Return the application, made when it is first needed; or why there is none."""
        with self._lock:
            if self._app is not None:
                return self._app
            try:
                with Collection.open(self._site.folder) as collection:
                    if not has_accounts(collection):
                        return "no calendar account here; add one: carecal calendar add NAME --account\n"
            except CarecalError as error:
                return f"{error}\n"
            try:
                from a2wsgi import WSGIMiddleware  # noqa: PLC0415 - an extra, loaded where an account exists

                from carecal.web.account.speaker import speaker  # noqa: PLC0415 - likewise
            except ImportError:
                return "accounts need the extra 'account'; install it: pip install 'carecal[account]'\n"
            made = WSGIMiddleware(speaker(self._site.folder, self._site.clock), workers=WORKERS)
            self._app = made  # type: ignore[assignment]  # a2wsgi has its own types of ASGI
            return made  # type: ignore[return-value]  # likewise


def _login(header: str) -> tuple[str, str] | None:
    """Return name and password of basic authentication (RFC 7617); None where there is none that can be read."""
    scheme, _, encoded = header.partition(" ")
    try:
        name, colon, password = base64.b64decode(encoded.strip(), validate=True).decode().partition(":")
    except (binascii.Error, ValueError):
        return None
    return (name, password) if scheme.lower() == "basic" and colon else None
