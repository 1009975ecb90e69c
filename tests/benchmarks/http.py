"""Calendars over HTTP against the bare toolkit: a conditional GET against an empty answer, a full one against a file.

Requests go straight into the application, so that no socket and no client is timed; the tick ends in the bytes of the
collection's whole calendar, as the next look of a subscriber gets them.

Run by hand: python -m tests.benchmarks.http [PLANTS]
"""

from __future__ import annotations

import asyncio
import os
import tempfile
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from carecal.app import Collection
from carecal.app.publish import named_calendars
from carecal.app.publish.calendars import options_of
from carecal.web.server import application
from tests.benchmarks.many import make_collection, moment, tick
from tests.benchmarks.measure import Result, alternate, number_argument, show

if TYPE_CHECKING:
    from collections.abc import Coroutine, Iterator

    from starlette.types import ASGIApp

T = TypeVar("T")
PLANTS = 2_000
FEW = 24
REQUESTS = 200
TURNS = 5
AIM = 3.0


def measure(
    plants: int = PLANTS, few: int = FEW, requests: int = REQUESTS, turns: int = TURNS
) -> list[Result]:
    """Return conditional and full GET against the toolkit, and a tick to new bytes at two sizes."""
    with tempfile.TemporaryDirectory() as folder:
        homes = Path(folder) / "few", Path(folder) / "many"
        paths = [_published(home, number) for home, number in zip(homes, (few, plants), strict=True)]
        return [*_gets(homes[0], paths[0], requests, turns), *_ticks(homes, paths, (few, plants), turns)]


def _published(home: Path, plants: int) -> str:
    with make_collection(home, plants) as collection:
        path = named_calendars.add_calendar(
            collection, moment(), "phone", options_of(collection, moment(), name="phone")
        )
    assert _ask(application(home, clock=lambda _: moment()), path)[0] == 200
    return path


def _gets(home: Path, path: str, requests: int, turns: int) -> list[Result]:
    ours = application(home, clock=lambda _: moment())
    _, headers, body = _ask(ours, path)
    _let_stand(home)
    (home / "static").mkdir()
    (home / "static" / "calendar.ics").write_bytes(body)
    bare = Starlette(
        routes=[Route("/empty", _empty), Mount("/static", StaticFiles(directory=home / "static"))]
    )
    known = {"if-none-match": headers["etag"]}
    statuses = {_ask(ours, path, known)[0], _ask(bare, "/empty")[0]}
    conditional, empty = alternate(
        turns, partial(_many, ours, path, known, requests), partial(_many, bare, "/empty", {}, requests)
    )
    full, file = alternate(
        turns,
        partial(_many, ours, path, {}, requests),
        partial(_many, bare, "/static/calendar.ics", {}, requests),
    )
    counts = (("requests", requests), ("not modified", int(statuses == {304})), ("bytes", len(body)))
    return [
        Result("conditional GET of a calendar", "the toolkit's empty 304", conditional, empty, AIM, counts),
        Result("full GET of a calendar", "the toolkit's static file", full, file, None, counts),
    ]


def _let_stand(home: Path) -> None:
    """Let the files look as if nothing was written for an hour, as they mostly are when a phone asks."""
    for file in home.glob("collection.db*"):
        then = file.stat().st_mtime - 3600
        os.utime(file, (then, then))


def _empty(_: Request) -> Response:
    return Response(status_code=304)


def _ticks(
    homes: tuple[Path, Path], paths: list[str], sizes: tuple[int, int], turns: int
) -> Iterator[Result]:
    """Yield ticks of one plant over and over, which move its day alone, and of another one each time."""
    few, many = (_Followed(*each) for each in zip(homes, paths, sizes, strict=True))
    for name, works in (
        ("a tick to new bytes, whole calendar", (many, few)),
        ("the same, each moving the year of a plant", (many.of_another, few.of_another)),
    ):
        measured, against = alternate(turns, *works)
        counts = (("plants", sizes[1]), ("turns", turns))
        yield Result(name, f"the same of {sizes[0]} plants", measured, against, AIM, counts)


class _Followed:
    """A server whose calendar somebody follows; it has made it once, as one that has run for a while."""

    def __init__(self, home: Path, path: str, plants: int) -> None:
        self._home, self._path, self._plants, self._minute = home, path, plants, 0
        self._app = application(home, clock=lambda _: moment(minute=self._minute))
        for _ in range(2):
            self()  # the first one plans all, and whoever asks may be answered before that is done

    def __call__(self) -> None:
        """Tick the first plant and get the calendar's new bytes."""
        self._tick(1)

    def of_another(self) -> None:
        """Tick a plant that was not ticked before, as long as there is one."""
        self._tick(self._minute % self._plants + 1)

    def _tick(self, plant: int) -> None:
        self._minute += 1
        with Collection.open(self._home) as collection:
            tick(collection, self._minute, f"p{plant:05d}")
        status, _, _ = _ask(self._app, self._path)
        assert status == 200


def _many(app: ASGIApp, path: str, headers: dict[str, str], requests: int) -> None:
    async def all_of_them() -> None:
        for _ in range(requests):
            await _call(app, path, headers)

    _run(all_of_them())


def _ask(app: ASGIApp, path: str, headers: dict[str, str] | None = None) -> tuple[int, dict[str, str], bytes]:
    return _run(_call(app, path, headers or {}))


def _run(work: Coroutine[Any, Any, T]) -> T:
    """Run a coroutine in a thread of its own, since the caller's may have a loop already."""
    with ThreadPoolExecutor(1) as one:
        return one.submit(asyncio.run, work).result()


async def _call(app: ASGIApp, path: str, headers: dict[str, str]) -> tuple[int, dict[str, str], bytes]:
    """Return status, headers and body of one GET sent straight into an application."""
    sent: list[Any] = []
    lines = [(b"host", b"127.0.0.1"), *((name.encode(), value.encode()) for name, value in headers.items())]
    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": "GET",
        "scheme": "http",
        "path": path,
        "raw_path": path.encode(),
        "query_string": b"",
        "root_path": "",
        "headers": lines,
        "client": ("127.0.0.1", 1),
        "server": ("127.0.0.1", 80),
    }

    asked = [{"type": "http.request", "body": b"", "more_body": False}]

    async def receive() -> dict[str, Any]:
        if not asked:
            await asyncio.Event().wait()  # nobody hangs up
        return asked.pop()

    async def send(message: Any) -> None:
        sent.append(message)

    await app(scope, receive, send)
    start = sent[0]
    body = b"".join(message.get("body", b"") for message in sent[1:])
    return start["status"], {name.decode(): value.decode() for name, value in start["headers"]}, body


def main() -> None:
    """Measure and print."""
    show(measure(number_argument(PLANTS)))


if __name__ == "__main__":
    main()
