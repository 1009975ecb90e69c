"""Numbers for whoever watches a server, in the text format of Prometheus (0.0.4): no names, no addresses, no secrets.

Off unless `serve --metrics` asks for it, and then for askers of this machine and of private networks alone.
"""

from __future__ import annotations

import ipaddress
import threading
import time
from collections import Counter
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool
from starlette.responses import PlainTextResponse
from starlette.routing import Route

from carecal import __version__
from carecal.app.door import Collection
from carecal.app.publish.named_calendars import calendars_of, note_of
from carecal.app.sensors.addresses import sensors_of, silent_since
from carecal.errors import CarecalError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

    from carecal.web.site import Site

__all__ = ["Counted", "Counts", "metrics_route"]

CONTENT_TYPE = "text/plain; version=0.0.4; charset=utf-8"
PARTS = {
    "calendar": "calendar",
    "sensor": "sensor",
    "sitter": "sitter",
    "dav": "account",
    ".well-known": "account",
    "static": "static",
    "healthz": "watch",
    "metrics": "watch",
}
"""What an address belongs to, by its first part; all else is the page."""


class Counts:
    """How many answers were given, by part of the server and kind of status, and how long they took.

    Args:
        clock: Seconds that only grow; tests give their own.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self.clock = clock
        self.began = clock()
        self._lock = threading.Lock()
        self._answers: Counter[tuple[str, str]] = Counter()
        self._seconds: Counter[str] = Counter()

    def add(self, path: str, status: int, seconds: float) -> None:
        """Count an answer."""
        part = PARTS.get(path.strip("/").partition("/")[0], "page")
        with self._lock:
            self._answers[part, f"{status // 100}xx"] += 1
            self._seconds[part] += seconds  # type: ignore[assignment]  # a counter of fractions

    def lines(self) -> Iterator[str]:
        """Yield what was counted."""
        with self._lock:
            answers, seconds = dict(self._answers), dict(self._seconds)
        yield from _head("carecal_answers_total", "counter", "Answers given, by part and kind of status.")
        for (part, status), count in sorted(answers.items()):
            yield f'carecal_answers_total{{part="{part}",status="{status}"}} {count}'
        yield from _head("carecal_answer_seconds", "summary", "Time that answers took.")
        for part, total in sorted(seconds.items()):
            number = sum(count for (of, _), count in answers.items() if of == part)
            yield f'carecal_answer_seconds_sum{{part="{part}"}} {total:.6f}'
            yield f'carecal_answer_seconds_count{{part="{part}"}} {number}'
        yield from _head("carecal_up_seconds", "gauge", "Time since the server began.")
        yield f"carecal_up_seconds {self.clock() - self.began:.0f}"


class Counted:
    """Counts every answer that passes, whatever gave it.

    Args:
        app: The application behind it.
        counts: Where they are counted.
    """

    def __init__(self, app: ASGIApp, counts: Counts) -> None:
        self._app, self._counts = app, counts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request and count it."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        began, status = self._counts.clock(), 500

        async def noted(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
            await send(message)

        try:
            await self._app(scope, receive, noted)
        finally:
            self._counts.add(scope["path"], status, self._counts.clock() - began)


def metrics_route(site: Site, counts: Counts) -> Route:
    """Return the route of the numbers."""

    async def endpoint(request: Request) -> Response:
        """Answer with the numbers, to askers nearby."""
        if not _is_near(request.client.host if request.client is not None else ""):
            return PlainTextResponse("not found\n", 404)
        text = await run_in_threadpool(_text, site, counts)
        return PlainTextResponse(text, media_type=CONTENT_TYPE, headers={"Cache-Control": "no-store"})

    return Route("/metrics", endpoint, methods=["GET"])


def _is_near(host: str) -> bool:
    try:
        number = ipaddress.ip_address(host.partition("%")[0])
    except ValueError:
        return False
    mapped = getattr(number, "ipv4_mapped", None) or number
    return bool(mapped.is_private or mapped.is_loopback)


def _text(site: Site, counts: Counts) -> str:
    lines = [*_head("carecal_info", "gauge", "The program."), f'carecal_info{{version="{__version__}"}} 1']
    lines += counts.lines()
    try:
        with Collection.open(site.folder, readonly=True) as collection:
            lines += _of_collection(site, collection)
    except CarecalError:
        lines += [*_READABLE, "carecal_collection_readable 0"]
    return "\n".join(lines) + "\n"


def _of_collection(site: Site, collection: Collection) -> Iterator[str]:
    yield from (*_READABLE, "carecal_collection_readable 1")
    calendars = calendars_of(collection)
    stale = sum(bool(note_of(collection, calendar)) for calendar in calendars)
    for name, what, number in (
        ("plants", "Plants, those that left included.", len(collection.journal.ids())),
        ("entries", "Entries of the journal.", collection.journal.head()),
        ("collection_bytes", "Size of the collection's file.", _size(collection)),
        ("calendars", "Calendars that have an address.", len(calendars)),
        ("calendars_stale", "Calendars that could not be made anew.", stale),
        ("sensors", "Sensors that have an address.", len(sensors_of(collection))),
        (
            "sensors_silent",
            "Sensors silent for a day.",
            len(silent_since(collection, site.clock(collection).day)),
        ),
    ):
        yield from _head(f"carecal_{name}", "gauge", what)
        yield f"carecal_{name} {number}"


def _size(collection: Collection) -> int:
    return sum(path.stat().st_size for path in collection.folder.glob("collection.db*"))


def _head(name: str, kind: str, what: str) -> tuple[str, str]:
    return f"# HELP {name} {what}", f"# TYPE {name} {kind}"


_READABLE = _head("carecal_collection_readable", "gauge", "Whether the collection can be read.")
