"""The web application of one collection and the server that runs it; pages lie in modules of their own."""

from __future__ import annotations

import logging
import sys
from contextlib import suppress
from typing import TYPE_CHECKING

import uvicorn
from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.routing import Route

from carecal.web.account.mount import account_routes
from carecal.web.calendars import Calendars, healthz
from carecal.web.guard import Guard, names_of
from carecal.web.limits import Limits, Sparse, limited
from carecal.web.login import login_routes
from carecal.web.making import Apart
from carecal.web.notify import NotifyingServer
from carecal.web.pages.frame import owner_route
from carecal.web.pages.round import act_round, show_round
from carecal.web.pages.routes import page_routes
from carecal.web.pages.sitter import sitter_route
from carecal.web.sensors import sensor_route
from carecal.web.site import Site
from carecal.web.static import manifest, static, worker

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from argon2 import PasswordHasher
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.types import ASGIApp, Receive, Scope, Send

    from carecal.app.now import Dated, Now

__all__ = ["application", "run"]

BACKLOG = 128  # connections that wait to be taken
SWITCH_SECONDS = 0.0005
"""How long a thread that works out what a tap changes keeps others from answering. [s] Source: our choice, a tenth of
the interpreter's, because an answer that needs no plan takes about a millisecond."""


STOP_SECONDS = 20  # for answers that are on their way when it is told to stop; our choice
NOT_STARTED = 3  # exit code
LEAST_BYTES = 800  # below this compression gains nothing; our choice


class Compressed(GZipMiddleware):
    """Compresses answers, but for calendars, which compress themselves by their own rules, and pictures."""

    def __init__(self, app: ASGIApp) -> None:
        super().__init__(app, minimum_size=LEAST_BYTES, compresslevel=6)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request."""
        if scope["type"] == "http" and str(scope["path"]).startswith(("/calendar/", "/photos/")):
            await self.app(scope, receive, send)
            return
        await super().__call__(scope, receive, send)


def clock_of(collection: Dated) -> Now:
    """Return the present moment in the collection's zone."""
    return collection.now()


def application(
    folder: Path,
    *,
    clock: Callable[[Dated], Now] = clock_of,
    host: str = "127.0.0.1",
    public_url: str = "",
    crypt: PasswordHasher | None = None,
    is_apart: bool = False,
) -> Starlette:
    """Return the application of a folder's collection: its calendars, the owner's pages, the sitters' sheets.

    Args:
        folder: The collection's folder.
        clock: Gives the moment of a request; tests give their own.
        host: What the server listens on; its name, and those of this machine, are answered.
        public_url: The address under which others reach it; its name is answered too.
        crypt: Hasher of passwords; None: the library's own costs.
        is_apart: Whether calendars are made by a program beside this one, so that they slow no other answer.
    """
    calendars = Calendars(folder, clock, Apart(folder) if is_apart else None)

    async def answered(request: Request) -> Response:
        """Answer one request for a calendar."""
        return await calendars(request)

    site = Site(folder, clock, public_url) if crypt is None else Site(folder, clock, public_url, crypt)
    routes = [
        Route("/healthz", healthz),
        Route("/calendar/{token}.ics", answered, methods=["GET"]),  # as addresses were
        Route("/calendar/{token}/{house}.ics", answered, methods=["GET"]),
        Route("/static/{name}", static),
        Route("/sw.js", worker),
        Route("/manifest.webmanifest", manifest),
        *account_routes(site),
        sitter_route(site),
        sensor_route(site),
        *login_routes(site),
        owner_route(site, "/", show_round, act_round),
        *page_routes(site),
    ]
    return Starlette(routes=routes, middleware=[
        Middleware(Guard, names=names_of(host, public_url)), Middleware(Compressed),
    ])  # fmt: skip


def run(app: ASGIApp, host: str, port: int, *, proxies: Sequence[str] = ()) -> None:
    """Serve an application until it is told to stop; addresses hold secrets, so none is logged."""
    sys.setswitchinterval(SWITCH_SECONDS)
    for name in ("uvicorn.error", "carecal.web"):
        logging.getLogger(name).addFilter(Sparse())
    config = uvicorn.Config(
        app,
        http=limited(Limits(), proxies),
        backlog=BACKLOG,
        host=host,
        port=port,
        access_log=False,
        server_header=False,
        log_level="warning",
        ws="none",
        proxy_headers=bool(proxies),
        forwarded_allow_ips=list(proxies) or None,
        timeout_graceful_shutdown=STOP_SECONDS,
    )
    server = NotifyingServer(config)
    with suppress(KeyboardInterrupt):
        server.run()
    if not server.started:
        sys.exit(NOT_STARTED)
