"""The web application of one collection and the server that runs it; pages lie in modules of their own."""

from __future__ import annotations

from typing import TYPE_CHECKING

import uvicorn
from starlette.applications import Starlette
from starlette.routing import Route

from carecal.web.calendars import calendar_answer, healthz

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from starlette.types import ASGIApp

    from carecal.app.door import Collection
    from carecal.app.now import Now

__all__ = ["application", "run"]


def clock_of(home: Collection) -> Now:
    """Return the present moment in the collection's zone."""
    return home.now()


def application(
    folder: Path, *, clock: Callable[[Collection], Now] = clock_of, pages: Sequence[Route] = ()
) -> Starlette:
    """Return the application that answers the calendars of a folder's collection, and what else is given.

    Args:
        folder: The collection's folder.
        clock: Gives the moment of a request; tests give their own.
        pages: Routes of pages.
    """
    routes = [
        Route("/healthz", healthz),
        Route("/calendar/{token}.ics", calendar_answer(folder, clock)),
        *pages,
    ]
    return Starlette(routes=routes)


def run(app: ASGIApp, host: str, port: int, *, proxies: Sequence[str] = ()) -> None:
    """Serve an application until it is told to stop; addresses hold secrets, so none is logged."""
    uvicorn.run(
        app,
        host=host,
        port=port,
        access_log=False,
        server_header=False,
        log_level="warning",
        proxy_headers=bool(proxies),
        forwarded_allow_ips=list(proxies) or None,
    )
