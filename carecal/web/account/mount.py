"""Where accounts are answered: under /dav, and the well-known address; Radicale is loaded when an account exists."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse, RedirectResponse
from starlette.routing import Mount, Route

from carecal.app.door import Collection
from carecal.app.people.accounts import has_accounts
from carecal.errors import CarecalError

if TYPE_CHECKING:
    from datetime import datetime

    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import BaseRoute
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

    from carecal.web.site import Site

__all__ = ["account_routes"]

WORKERS = 8  # requests of programs that are answered at once; our choice, because a phone asks some at a time
METHODS = ["GET", "HEAD", "OPTIONS", "PROPFIND", "REPORT"]
UNAUTHORIZED = 401
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
        address = scope["client"][0] if scope.get("client") else ""
        is_guess = "authorization" in Headers(scope=scope)
        clock = await run_in_threadpool(self._clock)
        wait = self._site.guesses.wait_seconds(address, clock) if is_guess else 0
        if wait > 0:
            refusal = PlainTextResponse(f"too many wrong guesses; wait {wait} seconds\n", 429)
            refusal.headers["Retry-After"] = str(wait)
            await refusal(scope, receive, send)
            return

        async def counted(message: Message) -> None:
            if message["type"] == "http.response.start" and is_guess:
                if message["status"] == UNAUTHORIZED:
                    self._site.guesses.wrong(address, clock)
                else:
                    self._site.guesses.right(address)
            await send(message)

        await app(scope, receive, counted)

    def _clock(self) -> datetime:
        with Collection.open(self._site.folder) as collection:
            return self._site.clock(collection).clock

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
